package app

import (
	"context"
	"errors"
	"regexp"
	"strings"
	"sync"
	"time"
)

// Account is who may sign in. The id is the opaque person id that entries
// carry as "by".
type Account struct {
	ID       string
	Name     string // to sign in with
	Display  string // shown to others
	Role     Role
	Secret   string // argon2id, encoded; never leaves the server
	Disabled bool
}

// Login is an open session. Only the token's hash is kept.
type Login struct {
	TokenHash string
	Person    string
	CSRF      string
	Expires   time.Time
}

// ErrNoAccount is returned by Accounts for what it does not hold.
var ErrNoAccount = errors.New("no such account or session")

// Accounts keeps accounts, sessions and calendar links.
type Accounts interface {
	Account(ctx context.Context, id string) (Account, error)
	AccountNamed(ctx context.Context, name string) (Account, error)
	AccountList(ctx context.Context) ([]Account, error)
	SaveAccount(ctx context.Context, a Account) error
	Login(ctx context.Context, tokenHash string) (Login, error)
	SaveLogin(ctx context.Context, l Login) error
	DropLogin(ctx context.Context, tokenHash string) error
	DropLoginsOf(ctx context.Context, person string) error
	Feed(ctx context.Context, tokenHash string) (Feed, error)
	FeedOf(ctx context.Context, role Role) (Feed, error)
	SaveFeed(ctx context.Context, f Feed) error
	DropFeed(ctx context.Context, role Role) error
}

// People signs people in and out and keeps who may.
type People struct {
	Accounts Accounts
	Now      func() time.Time

	tries    tries
	checking chan struct{} // one for each password being checked
	once     sync.Once
	altering sync.Mutex // the last administrator is looked for and kept under it
}

// How long a session lasts, how short a password may be, and how many are
// checked at once: each check takes 19 MiB.
const (
	loginFor     = 12 * time.Hour
	LeastSecret  = 12 // characters
	mostChecking = 4
)

var accountName = regexp.MustCompile(`^[a-z0-9][a-z0-9._-]{1,39}$`)

// SignIn checks name and password and opens a session. From is the caller's
// address, for the rate limit.
func (p *People) SignIn(ctx context.Context, name, password, from string) (token string, l Login, a Account, err error) {
	name = strings.ToLower(strings.TrimSpace(name))
	if p.tries.tooMany(name, from, p.Now()) {
		return "", l, a, fault(Forbidden, "too many wrong passwords; wait %d minutes and try again", int(triesIn.Minutes()))
	}
	a, err = p.Accounts.AccountNamed(ctx, name)
	if err != nil && !errors.Is(err, ErrNoAccount) {
		return "", l, a, internal("signing in", err)
	}
	known := err == nil
	good, err := p.check(ctx, a.Secret, password)
	if err != nil {
		return "", l, a, internal("signing in", err)
	}
	if !known || a.Disabled || !good {
		p.tries.failed(name, from, p.Now())
		return "", l, Account{}, fault(SignedOut, "name or password is wrong, or the account is disabled")
	}
	token, l = randomText(), Login{Person: a.ID, CSRF: randomText(), Expires: p.Now().Add(loginFor)}
	l.TokenHash = hashToken(token)
	if err := p.Accounts.SaveLogin(ctx, l); err != nil {
		return "", l, a, internal("signing in", err)
	}
	return token, l, a, nil
}

// check compares a password with a secret, a few at a time. An unknown name,
// which has no secret, costs the same work as a known one.
func (p *People) check(ctx context.Context, secret, password string) (bool, error) {
	p.once.Do(func() { p.checking = make(chan struct{}, mostChecking) })
	select {
	case p.checking <- struct{}{}:
		defer func() { <-p.checking }()
		return checkSecret(secret, password), nil
	case <-ctx.Done():
		return false, ctx.Err()
	}
}

// Who returns the account and session a token belongs to.
func (p *People) Who(ctx context.Context, token string) (Account, Login, error) {
	signIn := fault(SignedOut, "sign in first")
	if token == "" {
		return Account{}, Login{}, signIn
	}
	l, err := p.Accounts.Login(ctx, hashToken(token))
	switch {
	case errors.Is(err, ErrNoAccount):
		return Account{}, Login{}, signIn
	case err != nil:
		return Account{}, Login{}, internal("looking who asks", err)
	case !p.Now().Before(l.Expires):
		_ = p.Accounts.DropLogin(ctx, l.TokenHash) // it is over either way
		return Account{}, Login{}, fault(SignedOut, "the session is over; sign in again")
	}
	a, err := p.Accounts.Account(ctx, l.Person)
	switch {
	case err != nil && !errors.Is(err, ErrNoAccount):
		return Account{}, Login{}, internal("looking who asks", err)
	case err != nil || a.Disabled:
		return Account{}, Login{}, fault(SignedOut, "the account is disabled; ask the administrator")
	}
	return a, l, nil
}

// SignOut ends a session.
func (p *People) SignOut(ctx context.Context, token string) error {
	return internal("signing out", p.Accounts.DropLogin(ctx, hashToken(token)))
}

// List returns every account, for the administrator.
func (p *People) List(ctx context.Context, who Actor) ([]Account, error) {
	if err := who.Need(ManageUsers); err != nil {
		return nil, err
	}
	l, err := p.Accounts.AccountList(ctx)
	return l, internal("reading the accounts", err)
}

// Add makes an account. ID may be given to continue a person of the book; ""
// draws one.
func (p *People) Add(ctx context.Context, who Actor, a Account, password string) (Account, error) {
	if err := who.Need(ManageUsers); err != nil {
		return a, err
	}
	switch {
	case !accountName.MatchString(a.Name):
		return a, fault(Invalid, "sign-in name %q: use 2 to 40 of a-z, 0-9, dot, dash, underscore", a.Name)
	case strings.TrimSpace(a.Display) == "":
		return a, fault(Invalid, "say how the person is shown to others")
	case !a.Role.Known():
		return a, fault(Invalid, "there is no role %q", a.Role)
	case len([]rune(password)) < LeastSecret:
		return a, fault(Invalid, "the password needs at least %d characters", LeastSecret)
	}
	if _, err := p.Accounts.AccountNamed(ctx, a.Name); err == nil {
		return a, fault(Conflict, "the sign-in name %q is taken", a.Name)
	}
	if a.ID == "" {
		a.ID = randomID()
	}
	a.Secret = makeSecret(password)
	return a, internal("saving the account", p.Accounts.SaveAccount(ctx, a))
}

// Ensure makes an account with a fixed id, or brings it back to what is given:
// for the demonstration, whose sign-ins are printed each time.
func (p *People) Ensure(ctx context.Context, a Account, password string) error {
	a.Secret = makeSecret(password)
	return internal("saving the account", p.Accounts.SaveAccount(ctx, a))
}

// Change is what may be changed of an account; nil leaves a thing as it is.
type Change struct {
	Disabled *bool
	Role     *Role
	Password *string
}

// Alter changes an account. The last administrator who may sign in stays one.
func (p *People) Alter(ctx context.Context, who Actor, id string, c Change) (Account, error) {
	if err := who.Need(ManageUsers); err != nil {
		return Account{}, err
	}
	p.altering.Lock()
	defer p.altering.Unlock()
	a, err := p.Accounts.Account(ctx, id)
	if errors.Is(err, ErrNoAccount) {
		return a, fault(NotFound, "there is no such account")
	}
	if err != nil {
		return a, internal("reading the account", err)
	}
	before := a
	if c.Disabled != nil {
		a.Disabled = *c.Disabled
	}
	if c.Role != nil {
		if !c.Role.Known() {
			return before, fault(Invalid, "there is no role %q", *c.Role)
		}
		a.Role = *c.Role
	}
	if c.Password != nil {
		if len([]rune(*c.Password)) < LeastSecret {
			return before, fault(Invalid, "the password needs at least %d characters", LeastSecret)
		}
		a.Secret = makeSecret(*c.Password)
	}
	if before.Role == Administrator && !before.Disabled && (a.Disabled || a.Role != Administrator) {
		if err := p.anotherAdministrator(ctx, id); err != nil {
			return before, err
		}
	}
	if err := p.Accounts.SaveAccount(ctx, a); err != nil {
		return before, internal("saving the account", err)
	}
	if a.Disabled || c.Password != nil {
		err = p.Accounts.DropLoginsOf(ctx, a.ID)
	}
	return a, internal("ending the person's sessions", err)
}

func (p *People) anotherAdministrator(ctx context.Context, than string) error {
	all, err := p.Accounts.AccountList(ctx)
	if err != nil {
		return internal("reading the accounts", err)
	}
	for _, a := range all {
		if a.ID != than && a.Role == Administrator && !a.Disabled {
			return nil
		}
	}
	return fault(Invalid, "this is the last administrator who may sign in; make another first")
}
