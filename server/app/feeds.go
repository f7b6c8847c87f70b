package app

import (
	"context"
	"errors"
	"time"
)

// Feed is the secret link to the calendar of a role's duties.
type Feed struct {
	Role      Role
	TokenHash string
	Person    string // who made it
	Made      time.Time
}

// mayLink tells whether somebody may make and end the link of a role: their
// own, and a manager any.
func mayLink(who Actor, role Role) error {
	if err := who.Need(Read); err != nil {
		return err
	}
	if !role.Known() {
		return fault(Invalid, "there is no role %q", role)
	}
	if who.Role != role && who.Role != Manager {
		return fault(Forbidden, "only a manager makes the calendar link of another role")
	}
	return nil
}

// MakeFeed makes the link of a role and returns its token, which is shown once
// and kept only as a hash. The link before it, if there was one, ends.
func (p *People) MakeFeed(ctx context.Context, who Actor, role Role) (string, error) {
	if err := mayLink(who, role); err != nil {
		return "", err
	}
	token := randomText()
	f := Feed{Role: role, TokenHash: hashToken(token), Person: who.Person, Made: p.Now().UTC()}
	return token, internal("keeping the calendar link", p.Accounts.SaveFeed(ctx, f))
}

// DropFeed ends the link of a role.
func (p *People) DropFeed(ctx context.Context, who Actor, role Role) error {
	if err := mayLink(who, role); err != nil {
		return err
	}
	return internal("ending the calendar link", p.Accounts.DropFeed(ctx, role))
}

// FeedOf returns when the link of a role was made; nil when there is none.
func (p *People) FeedOf(ctx context.Context, role Role) (*time.Time, error) {
	f, err := p.Accounts.FeedOf(ctx, role)
	if errors.Is(err, ErrNoAccount) {
		return nil, nil
	}
	return &f.Made, internal("looking for the calendar link", err)
}

// Fed returns the role whose calendar a token opens.
func (p *People) Fed(ctx context.Context, token string) (Role, error) {
	f, err := p.Accounts.Feed(ctx, hashToken(token))
	if errors.Is(err, ErrNoAccount) {
		return "", fault(NotFound, "there is no such calendar; its link may have been replaced")
	}
	return f.Role, internal("looking for the calendar", err)
}
