package api

import (
	"testing"

	"github.com/swardbook/swardbook/server/app"
)

func TestUsers(t *testing.T) {
	s := serve(t)
	boss := s.as(app.Administrator)
	person := map[string]any{"name": "new.one", "display": "New One", "role": "surveyor", "password": password}
	for _, c := range []struct {
		name   string
		body   map[string]any
		status int
		code   app.Code
	}{
		{"short password", with(person, "password", "elevenchars"), 422, app.Invalid},
		{"unknown role", with(person, "role", "king"), 422, app.Invalid},
		{"name with a blank", with(person, "name", "new one"), 422, app.Invalid},
		{"not shown", with(person, "display", " "), 422, app.Invalid},
		{"unknown member", with(person, "secret", "x"), 422, app.Invalid},
		{"taken", with(person, "name", "administrator"), 409, app.Conflict},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := boss.send("POST", "/api/users", c.body)
			got.t = t
			got.problem(c.status, c.code)
		})
	}
	var made User
	got := boss.send("POST", "/api/users", person).want(201)
	got.hasNot("argon2", password)
	got.into(&made)
	p := s.signIn(app.Account{ID: made.ID, Role: app.Surveyor}, "new.one")
	p.send("GET", "/api/site", nil).want(200)

	t.Run("the list holds no secret", func(t *testing.T) {
		list := boss.send("GET", "/api/users", nil).want(200)
		list.has("New One", made.ID)
		list.hasNot("argon2", "secret")
	})
	t.Run("another role counts at once", func(t *testing.T) {
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"role": "landowner"}).want(200)
		p.send("PUT", "/api/entries/"+newID(1), diary("x")).problem(403, app.Forbidden)
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"role": "king"}).problem(422, app.Invalid)
	})
	t.Run("another password ends the sessions", func(t *testing.T) {
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"password": "short"}).problem(422, app.Invalid)
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"password": "another horse battery"}).want(200)
		p.send("GET", "/api/site", nil).problem(401, app.SignedOut)
		s.nobody().send("POST", "/api/session", map[string]any{"name": "new.one", "password": password}).problem(401, app.SignedOut)
		got := s.nobody().send("POST", "/api/session", map[string]any{"name": "new.one", "password": "another horse battery"}).want(200)
		p = &browser{site: s, cookie: got.cookies[0].Value, csrf: got.text("csrf")}
	})
	t.Run("disabled is out", func(t *testing.T) {
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"disabled": true}).want(200).has(`"disabled":true`)
		p.send("GET", "/api/site", nil).problem(401, app.SignedOut)
		s.nobody().send("POST", "/api/session", map[string]any{"name": "new.one", "password": "another horse battery"}).problem(401, app.SignedOut)
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"disabled": false}).want(200)
		s.nobody().send("POST", "/api/session", map[string]any{"name": "new.one", "password": "another horse battery"}).want(200)
	})
	t.Run("the last administrator stays one", func(t *testing.T) {
		boss.send("PATCH", "/api/users/"+boss.id, map[string]any{"disabled": true}).problem(422, app.Invalid)
		boss.send("PATCH", "/api/users/"+boss.id, map[string]any{"role": "officer"}).problem(422, app.Invalid)
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"role": "administrator", "disabled": true}).want(200)
		boss.send("PATCH", "/api/users/"+boss.id, map[string]any{"disabled": true}).problem(422, app.Invalid) // the other may not sign in
		boss.send("PATCH", "/api/users/"+made.ID, map[string]any{"disabled": false}).want(200)
		boss.send("PATCH", "/api/users/"+boss.id, map[string]any{"role": "officer"}).want(200)
		boss.send("GET", "/api/users", nil).problem(403, app.Forbidden)
	})
}
