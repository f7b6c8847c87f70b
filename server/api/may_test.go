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
