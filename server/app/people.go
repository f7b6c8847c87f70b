package app

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"sync"
	"time"

	"golang.org/x/crypto/argon2"
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

// Accounts keeps accounts and sessions.
type Accounts interface {
	Account(ctx context.Context, id string) (Account, error)
	AccountNamed(ctx context.Context, name string) (Account, error)
	AccountList(ctx context.Context) ([]Account, error)
	SaveAccount(ctx context.Context, a Account) error
	Login(ctx context.Context, tokenHash string) (Login, error)
	SaveLogin(ctx context.Context, l Login) error
	DropLogin(ctx context.Context, tokenHash string) error
	DropLoginsOf(ctx context.Context, person string) error
}

// People signs people in and out and keeps who may.
type People struct {
	Accounts Accounts
	Now      func() time.Time

	mu    sync.Mutex
	tries map[string][]time.Time // sign-in name and address → failures
}

// How long a session lasts, and how many wrong passwords are taken in which time.
const (
	loginFor    = 12 * time.Hour
	triesIn     = 15 * time.Minute
	triesMost   = 8
	LeastSecret = 12 // characters of a password
)

var accountName = regexp.MustCompile(`^[a-z0-9][a-z0-9._-]{1,39}$`)

// SignIn checks name and password and opens a session. From is the caller's
// address, for the rate limit.
func (p *People) SignIn(ctx context.Context, name, password, from string) (token string, l Login, a Account, err error) {
	key := name + "\x00" + from
	if p.tooMany(key) {
		return "", l, a, fault(Forbidden, "too many wrong passwords; wait %d minutes and try again", int(triesIn.Minutes()))
	}
	a, err = p.Accounts.AccountNamed(ctx, name)
	if err != nil && !errors.Is(err, ErrNoAccount) {
		return "", l, a, internal("signing in", err)
	}
	// An unknown name costs the same work as a known one.
	good := checkSecret(a.Secret, password)
	if err != nil || a.Disabled || !good {
		p.fail(key)
		return "", l, a, fault(SignedOut, "name or password is wrong, or the account is disabled")
	}
	token, l = randomText(), Login{Person: a.ID, CSRF: randomText(), Expires: p.Now().Add(loginFor)}
	l.TokenHash = hashToken(token)
	if err := p.Accounts.SaveLogin(ctx, l); err != nil {
		return "", l, a, internal("signing in", err)
	}
	return token, l, a, nil
}

// Who returns the account and session a token belongs to.
func (p *People) Who(ctx context.Context, token string) (Account, Login, error) {
	l, err := p.Accounts.Login(ctx, hashToken(token))
	if err != nil || !p.Now().Before(l.Expires) {
		return Account{}, l, fault(SignedOut, "sign in first")
	}
	a, err := p.Accounts.Account(ctx, l.Person)
	if err != nil || a.Disabled {
		return Account{}, l, fault(SignedOut, "the account is disabled; ask the administrator")
	}
	return a, l, nil
}

// SignOut ends a session.
func (p *People) SignOut(ctx context.Context, token string) error {
	return internal("signing out", p.Accounts.DropLogin(ctx, hashToken(token)))
}

// List returns every account, for the administrator.
func (p *People) List(ctx context.Context, who Actor) ([]Account, error) {
	if err := who.need(ManageUsers); err != nil {
		return nil, err
	}
	l, err := p.Accounts.AccountList(ctx)
	return l, internal("reading the accounts", err)
}

// Add makes an account. ID may be given to continue a person of the book; ""
// draws one.
func (p *People) Add(ctx context.Context, who Actor, a Account, password string) (Account, error) {
	if err := who.need(ManageUsers); err != nil {
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
	if err := who.need(ManageUsers); err != nil {
		return Account{}, err
	}
	a, err := p.Accounts.Account(ctx, id)
	if err != nil {
		return a, fault(NotFound, "there is no such account")
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

func (p *People) tooMany(key string) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	since := p.Now().Add(-triesIn)
	kept := p.tries[key][:0]
	for _, t := range p.tries[key] {
		if t.After(since) {
			kept = append(kept, t)
		}
	}
	if p.tries == nil {
		p.tries = map[string][]time.Time{}
	}
	p.tries[key] = kept
	return len(kept) >= triesMost
}

func (p *People) fail(key string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.tries[key] = append(p.tries[key], p.Now())
}

// argon2id parameters: OWASP Password Storage Cheat Sheet, second of its
// equal choices (19 MiB, 2 passes, 1 lane) [from memory].
const (
	argonPasses = 2
	argonKiB    = 19 * 1024
	argonLanes  = 1
	argonBytes  = 32
)

func makeSecret(password string) string {
	salt := make([]byte, 16)
	_, _ = rand.Read(salt) // never fails since Go 1.24
	key := argon2.IDKey([]byte(password), salt, argonPasses, argonKiB, argonLanes, argonBytes)
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=19$m=%d,t=%d,p=%d$%s$%s", argonKiB, argonPasses, argonLanes, b64.EncodeToString(salt), b64.EncodeToString(key))
}

func checkSecret(secret, password string) bool {
	var kib, passes uint32
	var lanes uint8
	parts := strings.Split(secret, "$")
	salt, key := []byte("no such account!"), []byte(nil)
	kib, passes, lanes = argonKiB, argonPasses, argonLanes
	if len(parts) == 6 {
		if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &kib, &passes, &lanes); err != nil {
			return false
		}
		salt, _ = base64.RawStdEncoding.DecodeString(parts[4])
		key, _ = base64.RawStdEncoding.DecodeString(parts[5])
	}
	got := argon2.IDKey([]byte(password), salt, passes, kib, lanes, argonBytes)
	return len(key) == argonBytes && subtle.ConstantTimeCompare(got, key) == 1
}

func randomText() string {
	b := make([]byte, 32)
	_, _ = rand.Read(b)
	return base64.RawURLEncoding.EncodeToString(b)
}

func randomID() string {
	b := make([]byte, 16)
	_, _ = rand.Read(b)
	return hex.EncodeToString(b)
}

func hashToken(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}
