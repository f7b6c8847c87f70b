package api

import (
	"net/http"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/server/app"
)

// TestMayI asks the test site, whose hours notices cover every act: 1 May 2026
// is a Friday, 2 May a Saturday.
func TestMayI(t *testing.T) {
	s := serve(t)
	manager := s.as(app.Manager)
	for _, c := range []struct{ name, query, outcome, words string }{
		{"in the hours", "act=refuel&from=2026-05-01T09:00:00Z&to=2026-05-01T10:00:00Z", "nothing stands", "Nothing on file stands against it. This gives no permission"},
		{"past their end", "act=refuel&from=2026-05-01T16:00:00Z&to=2026-05-01T22:00:00Z", "nothing until a time", "ends its hours"},
		{"at night", "act=refuel&from=2026-05-01T22:00:00Z&to=2026-05-01T23:00:00Z", "stands against it", "outside its hours"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got MayI
			manager.send("GET", "/api/may?"+c.query, nil).want(200).into(&got)
			if got.Outcome != c.outcome || !strings.Contains(got.Words, c.words) || len(got.NotChecked) == 0 || got.Caution == "" || got.Seq != 624 {
				t.Errorf("%s: %+v", got.Outcome, got)
			}
		})
	}
	for name, query := range map[string]string{
		"act":   "act=dance&from=2026-05-01T09:00:00Z&to=2026-05-01T10:00:00Z",
		"to":    "act=haul&from=2026-05-01T09:00:00Z&to=2026-05-01T09:00:00Z",
		"place": "act=haul&place=NOWHERE&from=2026-05-01T09:00:00Z&to=2026-05-01T10:00:00Z",
	} {
		p := manager.send("GET", "/api/may?"+query, nil).problem(http.StatusUnprocessableEntity, app.Invalid)
		if len(p.Errors) != 1 || p.Errors[0].Field != name || p.Errors[0].Remedy == "" {
			t.Errorf("%s: %+v", name, p.Errors)
		}
	}
}

// TestActingOnAnAnswer keeps question, answer and decision as one entry, once.
func TestActingOnAnAnswer(t *testing.T) {
	s := serve(t)
	manager := s.as(app.Manager)
	ask := map[string]any{"act": "refuel", "from": "2026-05-01T22:00:00Z", "to": "2026-05-01T23:00:00Z", "decision": "Not tonight"}
	path := "/api/may/" + newID(1)
	var made Made
	manager.send("PUT", path, ask).want(201).into(&made)
	manager.send("PUT", path, ask).want(200)
	var got OpenEntry
	manager.send("GET", "/api/entries/"+made.ID, nil).want(200).into(&got)
	for _, want := range []string{`"outcome":"stands against it"`, `"decision":"Not tonight"`, `"upto_seq":624`, `"kind":"asked.1"`} {
		if !strings.Contains(string(got.Entry), want) {
			t.Errorf("the entry lacks %s: %s", want, got.Entry)
		}
	}
	p := manager.send("PUT", "/api/may/"+newID(2), map[string]any{"act": "refuel", "from": "2026-05-01T22:00:00Z", "to": "2026-05-01T23:00:00Z", "decision": ""}).problem(422, app.Invalid)
	if len(p.Errors) != 1 || p.Errors[0].Field != "decision" {
		t.Errorf("no decision: %+v", p.Errors)
	}
}

// TestHolds sets a stop, sees it stand against the act, and lets only the role
// that it names ease it.
func TestHolds(t *testing.T) {
	s := serve(t)
	officer, specialist := s.as(app.Officer), s.as(app.Specialist)
	hold := func(body map[string]any, more ...any) map[string]any {
		return with(map[string]any{"kind": "hold.1", "at": "2026-04-30T00:00:00Z", "at_precision": "minute", "body": with(map[string]any{"act": "strip", "reason": "topsoil plastic", "released_by": "specialist"}, pairs(body)...)}, more...)
	}
	officer.send("PUT", "/api/entries/"+newID(1), hold(nil)).want(201)
	later := with(hold(map[string]any{"reason": "next month"}), "at", "2026-06-01T00:00:00Z")
	officer.send("PUT", "/api/entries/"+newID(9), later).want(201)
	var standing []Hold
	officer.send("GET", "/api/holds", nil).want(200).into(&standing)
	if len(standing) != 1 || standing[0].Act != "strip" || standing[0].LiftedBy != "specialist" || !standing[0].Begun {
		t.Fatalf("standing: %+v", standing)
	}
	var answer MayI
	officer.send("GET", "/api/may?act=strip&from=2026-05-01T09:00:00Z&to=2026-05-01T10:00:00Z", nil).want(200).into(&answer)
	if len(answer.Against) != 1 || answer.Against[0].Entry == 0 {
		t.Errorf("against it: %+v", answer.Against)
	}
	correction := []any{"supersedes", newID(1), "reason", "dried"}
	for name, easing := range map[string]map[string]any{
		"lifted":      hold(map[string]any{"released": true}, correction...),
		"other act":   hold(map[string]any{"act": "seed"}, correction...),
		"other role":  hold(map[string]any{"released_by": "officer"}, correction...),
		"shortened":   hold(nil, append(correction, "until", "2026-05-01T00:00:00Z")...),
		"made narrow": hold(nil, append(correction, "places", []string{"SA1"})...),
	} {
		p := officer.send("PUT", "/api/entries/"+newID(2), easing).problem(403, app.Forbidden)
		if !strings.Contains(p.Detail, "specialist") {
			t.Errorf("%s: %s", name, p.Detail)
		}
	}
	officer.send("PUT", "/api/entries/"+newID(3), hold(map[string]any{"reason": "topsoil plastic, and rain to come"}, correction...)).want(201)
	specialist.send("PUT", "/api/entries/"+newID(4), hold(map[string]any{"released": true}, "supersedes", newID(3), "reason", "dried")).want(201)
	specialist.send("GET", "/api/holds", nil).want(200).into(&standing) // who wrote last sees it at once
	if len(standing) != 0 {
		t.Errorf("still standing: %+v", standing)
	}
}

func pairs(m map[string]any) []any {
	var out []any
	for k, v := range m {
		out = append(out, k, v)
	}
	return out
}

// Work inside a hold is judged, and stays on the list when the hold is over.
func TestWorkInsideAHoldIsListed(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	hold := map[string]any{"kind": "hold.1", "places": []string{"YARD"}, "at": "2026-04-29T08:00:00.000Z", "until": "2026-04-29T12:00:00.000Z", "at_precision": "minute", "offset": "+01:00",
		"body": map[string]any{"act": "quiet work", "reason": "nest", "released_by": "ecologist"}}
	p.send("PUT", "/api/entries/"+newID(1), hold).want(201)
	var list []Hold
	p.send("GET", "/api/holds", nil).want(200).into(&list)
	equal(t, "kept and over, it is not listed", len(list), 0)
	p.send("PUT", "/api/entries/"+newID(2), diary("in spite of the hold")).want(201)
	p.send("GET", "/api/holds", nil).want(200).into(&list)
	if len(list) != 1 || !list[0].Over || list[0].Verdict != "not complied" || len(list[0].Work) != 1 || list[0].Work[0] != newID(2) {
		t.Errorf("%+v", list)
	}
}
