package server

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/store"
)

// kept is one site's book in a store, as the use cases need it.
type kept struct {
	store *store.Store
	site  string
	now   func() time.Time
}

func (k *kept) Info(ctx context.Context) (app.SiteInfo, error) {
	s, err := k.store.Site(ctx, k.site)
	if err != nil {
		return app.SiteInfo{}, err
	}
	return app.SiteInfo{ID: s.ID, Created: s.Created, Epoch: s.Epoch, Seq: s.Seq, Head: s.Head}, nil
}

func (k *kept) Entries(ctx context.Context) ([]*book.Entry, error) { return k.store.All(ctx, k.site) }

func (k *kept) EntriesAfter(ctx context.Context, last *book.Entry) ([]*book.Entry, error) {
	return k.store.After(ctx, k.site, last)
}

func (k *kept) options() store.AppendOptions {
	return store.AppendOptions{Now: k.now, Rand: rand.Reader}
}

func (k *kept) Append(ctx context.Context, drafts []book.Draft, readings map[book.ID]app.Readings) (app.Appended, error) {
	o := k.options()
	o.Import = map[book.ID]*store.Staging{}
	for _, d := range drafts {
		channels := readings[d.ID]
		if len(channels) == 0 {
			continue
		}
		staged, err := k.stage(ctx, channels)
		if staged != nil {
			// What Append makes visible is no longer staged; the rest is given up.
			defer func() { _ = staged.Drop(ctx) }()
		}
		if err != nil {
			return app.Appended{}, err
		}
		o.Import[d.ID] = staged
	}
	r, err := k.store.Append(ctx, k.site, drafts, o)
	if err != nil {
		return app.Appended{}, inWords(err)
	}
	return app.Appended{Entries: r.Entries, Already: r.Already}, nil
}

func (k *kept) stage(ctx context.Context, channels app.Readings) (*store.Staging, error) {
	staged, err := k.store.Stage(ctx, k.site)
	if err != nil {
		return nil, err
	}
	for channel, blocks := range channels {
		if err := staged.Put(ctx, channel, blocks...); err != nil {
			return staged, fmt.Errorf("channel %s: %w", channel, err)
		}
	}
	return staged, nil
}

// inWords gives the store's refusals their code, for whoever asked.
func inWords(err error) error {
	var conflict *store.ConflictError
	var superseded *store.SupersededError
	var draft *store.DraftError
	switch {
	case errors.As(err, &conflict):
		return &app.Error{Code: app.Conflict, Words: conflict.Error(), Head: conflict.Entry, Cause: err}
	case errors.As(err, &superseded):
		return &app.Error{Code: app.Conflict, Words: superseded.Error(), Head: superseded.Head, Cause: err}
	case errors.As(err, &draft):
		return &app.Error{Code: app.Invalid, Words: draft.Error(), Cause: err}
	case errors.Is(err, store.ErrTooLarge):
		return &app.Error{Code: app.TooLarge, Words: "the file is larger than is taken here; make it smaller or split it", Cause: err}
	case errors.Is(err, store.ErrErased):
		return &app.Error{Code: app.Conflict, Words: err.Error(), Cause: err}
	case errors.Is(err, store.ErrNotFound), errors.Is(err, store.ErrNoFile):
		return &app.Error{Code: app.NotFound, Words: err.Error(), Cause: err}
	case errors.Is(err, store.ErrUnsound):
		return &app.Error{Code: app.Invalid, Words: err.Error(), Cause: err}
	}
	return err
}

func (k *kept) Erase(ctx context.Context, redaction book.Draft, seq int64, files bool) (*book.Entry, error) {
	done, err := k.store.Erase(ctx, k.site, redaction, seq, files, k.options())
	if err != nil {
		return nil, inWords(err)
	}
	return done.Entry, nil
}

func (k *kept) PutFile(ctx context.Context, r io.Reader, limit int64) (book.Hash, int64, error) {
	h, n, err := k.store.PutFile(ctx, r, limit)
	return h, n, inWords(err)
}

func (k *kept) OpenFile(ctx context.Context, h book.Hash) (io.ReadCloser, error) {
	f, err := k.store.OpenFile(ctx, h)
	if err != nil {
		return nil, inWords(err)
	}
	return f, nil
}

func (k *kept) Blocks(ctx context.Context, seq int64, channel string, from, to int64) ([]*series.Block, error) {
	return k.store.Blocks(ctx, k.site, seq, channel, from, to)
}

// accounts keeps who may sign in, in the same store.
type accounts struct{ store *store.Store }

func noAccount(err error) error {
	if errors.Is(err, store.ErrNotFound) {
		return app.ErrNoAccount
	}
	return err
}

func accountOf(a store.Account) app.Account {
	return app.Account{ID: a.ID, Name: a.Name, Display: a.Display, Role: app.Role(a.Role), Secret: a.Secret, Disabled: a.Disabled}
}

func (k accounts) Account(ctx context.Context, id string) (app.Account, error) {
	a, err := k.store.Account(ctx, id)
	return accountOf(a), noAccount(err)
}

func (k accounts) AccountNamed(ctx context.Context, name string) (app.Account, error) {
	a, err := k.store.AccountNamed(ctx, strings.ToLower(name))
	return accountOf(a), noAccount(err)
}

func (k accounts) AccountList(ctx context.Context) ([]app.Account, error) {
	all, err := k.store.Accounts(ctx)
	var out []app.Account
	for _, a := range all {
		out = append(out, accountOf(a))
	}
	return out, err
}

func (k accounts) SaveAccount(ctx context.Context, a app.Account) error {
	err := k.store.SaveAccount(ctx, store.Account{ID: a.ID, Name: a.Name, Display: a.Display, Role: string(a.Role), Secret: a.Secret, Disabled: a.Disabled})
	if errors.Is(err, store.ErrConflict) {
		return &app.Error{Code: app.Conflict, Words: "the sign-in name " + a.Name + " is taken", Cause: err}
	}
	return err
}

func (k accounts) Login(ctx context.Context, tokenHash string) (app.Login, error) {
	l, err := k.store.Login(ctx, tokenHash)
	return app.Login{TokenHash: l.TokenHash, Person: l.Person, CSRF: l.CSRF, Expires: l.Expires}, noAccount(err)
}

func (k accounts) SaveLogin(ctx context.Context, l app.Login) error {
	return k.store.SaveLogin(ctx, store.Login{TokenHash: l.TokenHash, Person: l.Person, CSRF: l.CSRF, Expires: l.Expires})
}

func (k accounts) DropLogin(ctx context.Context, tokenHash string) error {
	return k.store.DropLogin(ctx, tokenHash)
}

func (k accounts) DropLoginsOf(ctx context.Context, person string) error {
	return k.store.DropLoginsOf(ctx, person)
}

func feedOf(f store.Feed) app.Feed {
	return app.Feed{Role: app.Role(f.Role), TokenHash: f.TokenHash, Person: f.Person, Made: f.Made}
}

func (k accounts) Feed(ctx context.Context, tokenHash string) (app.Feed, error) {
	f, err := k.store.Feed(ctx, tokenHash)
	return feedOf(f), noAccount(err)
}

func (k accounts) FeedOf(ctx context.Context, role app.Role) (app.Feed, error) {
	f, err := k.store.FeedOf(ctx, string(role))
	return feedOf(f), noAccount(err)
}

func (k accounts) SaveFeed(ctx context.Context, f app.Feed) error {
	return k.store.SaveFeed(ctx, store.Feed{Role: string(f.Role), TokenHash: f.TokenHash, Person: f.Person, Made: f.Made})
}

func (k accounts) DropFeed(ctx context.Context, role app.Role) error {
	return k.store.DropFeed(ctx, string(role))
}

// loggers keeps the loggers of one site, in the same store.
type loggers struct {
	store *store.Store
	site  string
}

func (k loggers) Loggers(ctx context.Context) ([]app.KeptLogger, error) {
	all, err := k.store.Loggers(ctx, k.site)
	var out []app.KeptLogger
	for _, l := range all {
		out = append(out, app.KeptLogger(l))
	}
	return out, err
}

func (k loggers) SaveLogger(ctx context.Context, l app.KeptLogger) error {
	return inWords(k.store.SaveLogger(ctx, k.site, store.Logger(l)))
}

func (k loggers) EndLogger(ctx context.Context, id string, at time.Time) error {
	return k.store.EndLogger(ctx, id, at)
}

func (k loggers) Spool(ctx context.Context, logger string, received time.Time, rows string) (int64, error) {
	return k.store.Spool(ctx, logger, received, rows)
}

func (k loggers) Spooled(ctx context.Context) ([]app.Batch, error) {
	all, err := k.store.Spooled(ctx, k.site)
	var out []app.Batch
	for _, b := range all {
		out = append(out, app.Batch(b))
	}
	return out, err
}

func (k loggers) Unspool(ctx context.Context, logger string, n, m int64) error {
	return k.store.Unspool(ctx, logger, n, m)
}
