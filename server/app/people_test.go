package app

import (
	"context"
	"testing"
	"time"
)

// drawer keeps accounts and sessions in memory.
type drawer struct {
	accounts map[string]Account
	logins   map[string]Login
	feeds    map[Role]Feed
}

func (d *drawer) Account(_ context.Context, id string) (Account, error) {
	if a, ok := d.accounts[id]; ok {
		return a, nil
	}
	return Account{}, ErrNoAccount
}

func (d *drawer) AccountNamed(_ context.Context, name string) (Account, error) {
	for _, a := range d.accounts {
		if a.Name == name {
			return a, nil
		}
	}
	return Account{}, ErrNoAccount
}

func (d *drawer) AccountList(context.Context) ([]Account, error) {
	var out []Account
	for _, a := range d.accounts {
		out = append(out, a)
	}
	return out, nil
}

func (d *drawer) SaveAccount(_ context.Context, a Account) error { d.accounts[a.ID] = a; return nil }

func (d *drawer) Login(_ context.Context, hash string) (Login, error) {
	if l, ok := d.logins[hash]; ok {
		return l, nil
	}
	return Login{}, ErrNoAccount
}

func (d *drawer) Feed(_ context.Context, hash string) (Feed, error) {
	for _, f := range d.feeds {
		if f.TokenHash == hash {
			return f, nil
		}
	}
	return Feed{}, ErrNoAccount
}
func (d *drawer) FeedOf(_ context.Context, role Role) (Feed, error) {
	if f, there := d.feeds[role]; there {
		return f, nil
	}
	return Feed{}, ErrNoAccount
}
func (d *drawer) SaveFeed(_ context.Context, f Feed) error {
	d.feeds[f.Role] = f
	return nil
}
func (d *drawer) DropFeed(_ context.Context, role Role) error { delete(d.feeds, role); return nil }

func (d *drawer) SaveLogin(_ context.Context, l Login) error { d.logins[l.TokenHash] = l; return nil }

func (d *drawer) DropLogin(_ context.Context, hash string) error { delete(d.logins, hash); return nil }

func (d *drawer) DropLoginsOf(_ context.Context, person string) error {
	for h, l := range d.logins {
		if l.Person == person {
			delete(d.logins, h)
		}
	}
	return nil
}

const secret = "grass grows slowly"

// office is people with one administrator and one officer, and a clock to move.
func office(t *testing.T) (*People, *time.Time, Actor) {
	t.Helper()
	now := time.Date(2026, time.May, 4, 8, 0, 0, 0, time.UTC)
	p := &People{Accounts: &drawer{map[string]Account{}, map[string]Login{}, map[Role]Feed{}}, Now: func() time.Time { return now }}
	me := Actor{Person: "root", Role: Administrator}
	for _, a := range []Account{{ID: "a1", Name: "ada", Display: "Ada", Role: Administrator}, {ID: "o1", Name: "olu", Display: "Olu", Role: Officer}} {
		if _, err := p.Add(context.Background(), me, a, secret); err != nil {
			t.Fatal(err)
		}
	}
	return p, &now, me
}

func TestSignIn(t *testing.T) {
	tests := []struct {
		name, who, password string
		want                Code // "" = signed in
	}{
		{"right", "olu", secret, ""},
		{"wrong password", "olu", "grass grows quickly", SignedOut},
		{"unknown name", "nobody", secret, SignedOut},
		{"empty", "", "", SignedOut},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, now, _ := office(t)
			token, l, a, err := p.SignIn(context.Background(), tt.who, tt.password, "127.0.0.1")
			if tt.want != "" {
				if CodeOf(err) != tt.want {
					t.Fatalf("got %v", err)
				}
				return
			}
			if err != nil || a.ID != "o1" || l.CSRF == "" || l.TokenHash == token {
				t.Fatal(a, l, err)
			}
			if who, _, err := p.Who(context.Background(), token); err != nil || who.ID != "o1" {
				t.Fatal(who, err)
			}
			*now = now.Add(25 * time.Hour)
			if _, _, err := p.Who(context.Background(), token); CodeOf(err) != SignedOut {
				t.Fatalf("a day later: %v", err)
			}
		})
	}
}

func TestTooManyWrongPasswords(t *testing.T) {
	p, now, _ := office(t)
	ctx := context.Background()
	var err error
	for range 100 {
		if _, _, _, err = p.SignIn(ctx, "olu", "wrong", "10.0.0.9"); CodeOf(err) != SignedOut {
			break
		}
	}
	if CodeOf(err) == SignedOut || err == nil {
		t.Fatalf("a hundred tries were taken: %v", err)
	}
	*now = now.Add(time.Hour)
	if _, _, _, err := p.SignIn(ctx, "olu", secret, "10.0.0.9"); err != nil {
		t.Fatalf("an hour later: %v", err)
	}
}

func TestDisablingSignsOut(t *testing.T) {
	p, _, me := office(t)
	ctx := context.Background()
	token, _, _, err := p.SignIn(ctx, "olu", secret, "127.0.0.1")
	if err != nil {
		t.Fatal(err)
	}
	off := true
	if _, err := p.Alter(ctx, me, "o1", Change{Disabled: &off}); err != nil {
		t.Fatal(err)
	}
	if _, _, err := p.Who(ctx, token); CodeOf(err) != SignedOut {
		t.Fatalf("still signed in: %v", err)
	}
	if _, _, _, err := p.SignIn(ctx, "olu", secret, "127.0.0.1"); CodeOf(err) != SignedOut {
		t.Fatalf("signed in again: %v", err)
	}
}

func TestTheLastAdministratorStays(t *testing.T) {
	p, _, me := office(t)
	off, role := true, Officer
	for name, c := range map[string]Change{"disabled": {Disabled: &off}, "made an officer": {Role: &role}} {
		if _, err := p.Alter(context.Background(), me, "a1", c); CodeOf(err) != Invalid {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestAddingPeople(t *testing.T) {
	tests := []struct {
		name     string
		who      Role
		account  Account
		password string
		want     Code
	}{
		{"by an officer", Officer, Account{Name: "sam", Display: "Sam", Role: Gate}, secret, Forbidden},
		{"name taken", Administrator, Account{Name: "olu", Display: "Olu", Role: Gate}, secret, Conflict},
		{"no such role", Administrator, Account{Name: "sam", Display: "Sam", Role: "king"}, secret, Invalid},
		{"short password", Administrator, Account{Name: "sam", Display: "Sam", Role: Gate}, "short", Invalid},
		{"odd name", Administrator, Account{Name: "Sam Smith", Display: "Sam", Role: Gate}, secret, Invalid},
		{"shown as nothing", Administrator, Account{Name: "sam", Role: Gate}, secret, Invalid},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, _, _ := office(t)
			if _, err := p.Add(context.Background(), Actor{Role: tt.who}, tt.account, tt.password); CodeOf(err) != tt.want {
				t.Fatalf("got %v", err)
			}
		})
	}
}

func TestRights(t *testing.T) {
	tests := []struct {
		role     Role
		writes   bool
		packs    bool
		users    bool
		register string // one it may enter
		not      string // one it may not
	}{
		{Officer, true, true, false, "diary", ""},
		{Manager, true, true, false, "diary", ""},
		{Surveyor, true, false, false, "diary", ""},
		{Specialist, true, false, false, "inspections", ""},
		{Laboratory, true, false, false, "samples", "diary"},
		{Gate, true, false, false, "tickets", "samples"},
		{Landowner, false, false, false, "", "diary"},
		{Regulator, false, false, false, "", "diary"},
		{Administrator, false, false, true, "", "diary"},
	}
	if len(tests) != len(Roles()) {
		t.Fatalf("%d roles, %d tried", len(Roles()), len(tests))
	}
	for _, tt := range tests {
		t.Run(string(tt.role), func(t *testing.T) {
			// The gate and the laboratory read their own registers only.
			if tt.role.May(Read) != (tt.role != Gate && tt.role != Laboratory) || tt.role.May(WriteEntries) != tt.writes || tt.role.May(MakePacks) != tt.packs || tt.role.May(ManageUsers) != tt.users {
				t.Errorf("rights are %v", tt.role.Rights())
			}
			if tt.register != "" && !tt.role.MayEnter(tt.register) || tt.not != "" && tt.role.MayEnter(tt.not) {
				t.Error("registers are not as they should be")
			}
		})
	}
}
