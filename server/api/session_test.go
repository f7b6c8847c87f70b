package api

import (
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

func TestSignIn(t *testing.T) {
	s := serve(t)
	s.add("officer", app.Officer)
	gone := s.add("gone", app.Manager)
	gone.Disabled = true
	if err := s.house.People.Ensure(context.Background(), gone, password); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		body   any
		status int
		code   app.Code
	}{
		{"right", map[string]any{"name": "officer", "password": password}, 200, ""},
		{"name in capitals", map[string]any{"name": "Officer", "password": password}, 200, ""},
		{"wrong password", map[string]any{"name": "officer", "password": "wrong horse battery"}, 401, app.SignedOut},
		{"empty password", map[string]any{"name": "officer", "password": ""}, 401, app.SignedOut},
		{"unknown name", map[string]any{"name": "stranger", "password": password}, 401, app.SignedOut},
		{"disabled", map[string]any{"name": "gone", "password": password}, 401, app.SignedOut},
		{"unknown member", map[string]any{"name": "officer", "password": password, "role": "administrator"}, 422, app.Invalid},
		{"no password", map[string]any{"name": "officer"}, 422, app.Invalid},
		{"not JSON", raw{"application/json", []byte("name=officer")}, 400, app.Invalid},
		{"a form", raw{"application/x-www-form-urlencoded", []byte("name=officer&password=x")}, 415, app.Invalid},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := s.nobody().send("POST", "/api/session", c.body)
			got.t = t
			if c.status == 200 {
				got.want(200)
				return
			}
			got.problem(c.status, c.code)
			if len(got.cookies) > 0 {
				t.Error("a refusal sets a cookie")
			}
		})
	}
}

func TestSession(t *testing.T) {
	s := serve(t)
	t.Run("signed out it says nothing", func(t *testing.T) {
		var got Session
		s.nobody().send("GET", "/api/session", nil).want(200).into(&got)
		equal(t, "session", got, Session{Rights: []string{}})
	})
	t.Run("signed in it says who and what they may", func(t *testing.T) {
		p := s.as(app.Regulator)
		var got Session
		p.send("GET", "/api/session", nil).want(200).into(&got)
		equal(t, "session", got, Session{SignedIn: true, Person: p.id, Name: "Test regulator", Role: "regulator", CSRF: p.csrf, Epoch: 1, Rights: []string{"read", "read own", "verify packs"}})
	})
	t.Run("the cookie is for this site and its server alone", func(t *testing.T) {
		s.add("cookie", app.Officer)
		got := s.nobody().send("POST", "/api/session", map[string]any{"name": "cookie", "password": password}).want(200)
		c := got.cookies[0]
		if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode || c.Path != "/" || c.Secure {
			t.Errorf("cookie %+v", c)
		}
		got.hasNot(c.Value)
	})
	t.Run("signing out ends it", func(t *testing.T) {
		p := s.signIn(s.add("leaver", app.Officer), "leaver")
		p.send("DELETE", "/api/session", nil, "X-CSRF", "-").problem(403, app.Forbidden)
		p.send("GET", "/api/today", nil).want(200)
		p.send("DELETE", "/api/session", nil).want(204)
		p.send("GET", "/api/today", nil).problem(401, app.SignedOut)
	})
	t.Run("another session's token does not do", func(t *testing.T) {
		a := s.add("twice", app.Officer)
		one, two := s.signIn(a, "twice"), s.signIn(a, "twice")
		one.send("PUT", "/api/entries/"+newID(90), diary("x"), "X-CSRF", two.csrf).problem(403, app.Forbidden)
	})
	t.Run("it is over after twelve hours", func(t *testing.T) {
		p := s.signIn(s.add("sleeper", app.Officer), "sleeper")
		s.clock.pass(11*time.Hour + 50*time.Minute)
		p.send("GET", "/api/site", nil).want(200)
		s.clock.pass(15 * time.Minute)
		p.send("GET", "/api/site", nil).problem(401, app.SignedOut)
		p.send("PUT", "/api/entries/"+newID(91), diary("x")).problem(401, app.SignedOut)
		p.send("GET", "/api/session", nil).want(200).has(`"signed_in":false`)
	})
}

func TestWrongPasswordsAreCounted(t *testing.T) {
	s := serve(t)
	s.add("officer", app.Officer)
	s.add("manager", app.Manager)
	try := func(name, secret string) *said {
		return s.nobody().send("POST", "/api/session", map[string]any{"name": name, "password": secret})
	}
	for i := range 8 {
		try([]string{"officer", "OFFICER", " officer"}[i%3], "wrong horse battery").problem(401, app.SignedOut)
	}
	if p := try("officer", password).problem(403, app.Forbidden); !strings.Contains(p.Detail, "15 minutes") {
		t.Errorf("the refusal says %q", p.Detail)
	}
	try("manager", password).want(200)
	s.clock.pass(15*time.Minute + time.Second)
	try("officer", password).want(200)
}

func TestWrongPasswordsFromOneAddressAreCounted(t *testing.T) {
	s := serve(t)
	s.add("officer", app.Officer)
	for i := range 60 {
		s.nobody().send("POST", "/api/session", map[string]any{"name": fmt.Sprintf("guess%d", i), "password": "x"}).problem(401, app.SignedOut)
	}
	s.nobody().send("POST", "/api/session", map[string]any{"name": "officer", "password": password}).problem(403, app.Forbidden)
}

func TestHeaders(t *testing.T) {
	s := serve(t)
	for _, c := range []struct {
		name, path string
		status     int
		cache      string
	}{
		{"page", "/", 200, "no-cache"},
		{"script", "/assets/script.js", 200, "public, max-age=31536000, immutable"},
		{"no page", "/nothing", 404, ""},
		{"API", "/api/kinds", 200, "no-store"},
		{"tagged list", "/api/entries", 200, "private, no-cache"},
		{"no address", "/api/nothing", 404, "no-store"},
		{"signed out", "/api/today", 200, "private, no-cache"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := s.as(app.Officer).send("GET", c.path, nil).want(c.status)
			for name, want := range map[string]string{
				"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "Cross-Origin-Opener-Policy": "same-origin",
				"Content-Security-Policy": policy, "Cache-Control": c.cache,
			} {
				if have := got.header.Get(name); have != want {
					t.Errorf("%s: %q, want %q", name, have, want)
				}
			}
		})
	}
	for _, rule := range []string{"script-src 'self';", "object-src 'none'", "frame-ancestors 'none'", "base-uri 'none'", "default-src 'self'"} {
		if !strings.Contains(policy, rule) {
			t.Errorf("the policy lacks %s", rule)
		}
	}
	if strings.Contains(policy, "unsafe-") {
		t.Error("the policy lets scripts in that are not its own")
	}
	if s.as(app.Officer).send("GET", "/", nil).header.Get("Strict-Transport-Security") != "" {
		t.Error("HSTS without TLS")
	}
	secure := &Server{Config: Config{Secure: true}, App: s.api.App, People: s.api.People, Pages: s.api.Pages}
	s.http.Config.Handler = secure.Handler()
	if s.nobody().send("GET", "/", nil).header.Get("Strict-Transport-Security") == "" {
		t.Error("no HSTS over TLS")
	}
	s.add("secured", app.Officer)
	if c := s.nobody().send("POST", "/api/session", map[string]any{"name": "secured", "password": password}).want(200).cookies[0]; !c.Secure {
		t.Error("the cookie goes without TLS too")
	}
}

func TestAddressesThatAreNot(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	for _, path := range []string{"/api/nothing", "/api/entries/x/y/z", "/api/../api/nothing", "/api/conditions/RI%2FNOISE/none?place=NSR1", "/api/entries/" + newID(404), "/api/jobs/none", "/api/packs/..%2Fkeys%2Fsigning.zip", "/api/files/none"} {
		p.send("GET", path, nil).problem(404, app.NotFound)
	}
	p.send("POST", "/api/today", map[string]any{}).problem(404, app.NotFound)
	p.send("GET", "/nothing", nil).want(404).has("There is no such page")
	p.send("POST", "/", map[string]any{}).want(405)
	p.send("GET", "/../go.mod", nil).want(404)
}

func TestPagesNotBuilt(t *testing.T) {
	s := serve(t)
	s.api.Pages = fstest.MapFS{"unbuilt.html": {Data: []byte("<!doctype html>run make web")}}
	s.nobody().send("GET", "/", nil).want(503).has("make web")
	s.nobody().send("GET", "/assets/script.js", nil).want(404)
	s.as(app.Officer).send("GET", "/api/site", nil).want(200)
}

func surveyFile(t *testing.T, s *site) string {
	t.Helper()
	snap, err := s.house.App.Current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return snap.View.Current("survey.1")[0].Files[0].String()
}

func unzipped(t *testing.T, r io.Reader) io.Reader {
	t.Helper()
	z, err := gzip.NewReader(r)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

func TestCompression(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	for _, c := range []struct {
		name, path, accepts string
		zipped              bool
	}{
		{"list", "/api/entries", "gzip, br", true},
		{"page", "/", "gzip", true},
		{"not asked for", "/api/entries", "br", false},
		{"refused", "/api/entries", "br, gzip;q=0", false},
		{"file", "/api/files/" + surveyFile(t, s), "gzip", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			plain := p.send("GET", c.path, nil).want(200)
			answer := p.open("GET", c.path, nil, "Accept-Encoding", c.accepts)
			defer func() { _ = answer.Body.Close() }()
			equal(t, "zipped", answer.Header.Get("Content-Encoding") == "gzip", c.zipped)
			body := io.Reader(answer.Body)
			if c.zipped {
				if !strings.Contains(answer.Header.Get("Vary"), "Accept-Encoding") {
					t.Error("a cache is not told that the answer varies")
				}
				body = unzipped(t, body)
			}
			got, err := io.ReadAll(body)
			if err != nil || string(got) != string(plain.body) {
				t.Errorf("%d bytes come as %d: %v", len(plain.body), len(got), err)
			}
		})
	}
}

func TestTags(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	for n, path := range []string{"/api/entries?limit=5", "/api/today", "/api/conditions", "/api/conditions?at=2025-04-01T00:00:00Z", "/api/conditions?known_at=2026-05-30T00:00:00Z"} {
		t.Run(path, func(t *testing.T) {
			first := p.send("GET", path, nil).want(200)
			tag := first.header.Get("ETag")
			if tag == "" {
				t.Fatal("no tag")
			}
			again := p.send("GET", path, nil, "If-None-Match", `"other", `+tag).want(304)
			equal(t, "bytes", len(again.body), 0)
			s.nobody().send("GET", path, nil, "If-None-Match", tag).problem(401, app.SignedOut)
			s.as(app.Landowner).send("GET", path, nil, "If-None-Match", tag).want(200) // another role
			p.send("PUT", "/api/entries/"+newID(300+n), diary("grown")).want(201)
			p.send("GET", path, nil, "If-None-Match", tag).want(200)
		})
	}
	p.send("GET", "/api/entries?from=yesterday", nil).problem(422, app.Invalid)
	s.as(app.Gate).send("GET", "/api/today", nil, "If-None-Match", "*").problem(403, app.Forbidden)
}
