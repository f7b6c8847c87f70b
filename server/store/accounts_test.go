package store

import (
	"errors"
	"testing"
	"time"
)

func TestAccounts(t *testing.T) {
	s := withSite(t)
	wren := Account{ID: "p1", Name: "wren", Display: "Wren Ashdown", Role: "officer", Secret: "argon…", Disabled: true}
	sorrel := Account{ID: "p2", Name: "sorrel", Display: "Sorrel Pike", Role: "administrator", Secret: "argon…"}
	for _, a := range []Account{wren, sorrel} {
		if err := s.SaveAccount(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := s.Account(ctx, "p1"); err != nil || got != wren {
		t.Errorf("%+v, %v", got, err)
	}
	wren.Disabled, wren.Role, wren.Secret = false, "", "other" // zero values must arrive as well
	if err := s.SaveAccount(ctx, wren); err != nil {
		t.Fatal(err)
	}
	if got, err := s.AccountNamed(ctx, "wren"); err != nil || got != wren {
		t.Errorf("%+v, %v", got, err)
	}
	if err := s.SaveAccount(ctx, Account{ID: "p3", Name: "wren"}); !errors.Is(err, ErrConflict) {
		t.Errorf("a name twice: %v", err)
	}
	sorrel.Name = "wren"
	if err := s.SaveAccount(ctx, sorrel); !errors.Is(err, ErrConflict) {
		t.Errorf("renamed to a name that is taken: %v", err)
	}
	if all, err := s.Accounts(ctx); err != nil || len(all) != 2 || all[0].Name != "sorrel" || all[1] != wren {
		t.Errorf("%+v, %v", all, err)
	}
	for _, id := range []string{"p3", ""} {
		if _, err := s.Account(ctx, id); !errors.Is(err, ErrNotFound) {
			t.Errorf("account %q: %v", id, err)
		}
	}
}

func TestLogins(t *testing.T) {
	s := withSite(t)
	for _, id := range []string{"p1", "p2"} {
		if err := s.SaveAccount(ctx, Account{ID: id, Name: id}); err != nil {
			t.Fatal(err)
		}
	}
	until := fixedTime().Add(time.Hour)
	for _, l := range []Login{{"a", "p1", "c1", until}, {"b", "p1", "c2", until}, {"c", "p2", "c3", until}, {"old", "p2", "c4", fixedTime()}} {
		if err := s.SaveLogin(ctx, l); err != nil {
			t.Fatal(err)
		}
	}
	if l, err := s.Login(ctx, "b"); err != nil || l.CSRF != "c2" || l.Person != "p1" || !l.Expires.Equal(until) {
		t.Errorf("%+v, %v", l, err)
	}
	if err := s.SaveLogin(ctx, Login{"d", "nobody", "", until}); err == nil {
		t.Error("a session of nobody was kept")
	}
	if err := s.DropLogin(ctx, "a"); err != nil {
		t.Error(err)
	}
	if err := s.DropLogin(ctx, "a"); err != nil {
		t.Errorf("ending it again: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, s.Dir(), Options{Now: fixedTime})
	there := func(want ...string) {
		t.Helper()
		got := 0
		for _, h := range []string{"a", "b", "c", "old"} {
			if _, err := s.Login(ctx, h); err == nil {
				got++
			} else if !errors.Is(err, ErrNotFound) {
				t.Error(err)
			}
		}
		for _, h := range want {
			if _, err := s.Login(ctx, h); err != nil {
				t.Errorf("session %s: %v", h, err)
			}
		}
		if got != len(want) {
			t.Errorf("%d sessions, want %d", got, len(want))
		}
	}
	there("b", "c") // the one that is over was swept
	if err := s.DropLoginsOf(ctx, "p1"); err != nil {
		t.Error(err)
	}
	there("c")
	out, _ := backup(t, s)
	dir := t.TempDir()
	if _, err := Restore(ctx, out, dir, VerifyOptions{}); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir, Options{Now: fixedTime})
	there()
	if _, err := s.Account(ctx, "p1"); err != nil {
		t.Errorf("the account after restoring: %v", err)
	}
}

func TestFeeds(t *testing.T) {
	s := withSite(t)
	if err := s.SaveAccount(ctx, Account{ID: "p1", Name: "p1"}); err != nil {
		t.Fatal(err)
	}
	save := func(role, hash string) {
		t.Helper()
		if err := s.SaveFeed(ctx, Feed{role, hash, "p1", fixedTime()}); err != nil {
			t.Fatal(err)
		}
	}
	save("officer", "a")
	save("manager", "b")
	save("officer", "c")
	for hash, want := range map[string]string{"a": "", "b": "manager", "c": "officer"} {
		f, err := s.Feed(ctx, hash)
		if f.Role != want || want == "" != errors.Is(err, ErrNotFound) {
			t.Errorf("%s opens %q, %v; want %q", hash, f.Role, err, want)
		}
	}
	if f, err := s.FeedOf(ctx, "officer"); err != nil || f.TokenHash != "c" || !f.Made.Equal(fixedTime()) {
		t.Errorf("%+v, %v", f, err)
	}
	for range 2 {
		if err := s.DropFeed(ctx, "officer"); err != nil {
			t.Error(err)
		}
	}
	if _, err := s.FeedOf(ctx, "officer"); !errors.Is(err, ErrNotFound) {
		t.Errorf("an ended link is there: %v", err)
	}
}
