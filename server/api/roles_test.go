package api

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

// Who may do what, as the contract of the API has it.
var (
	everybody = app.Roles()
	readers   = []app.Role{app.Officer, app.Manager, app.Surveyor, app.Specialist, app.Landowner, app.Regulator, app.Administrator}
	writers   = []app.Role{app.Officer, app.Manager, app.Surveyor, app.Specialist}
	rejecters = []app.Role{app.Officer, app.Manager, app.Surveyor, app.Specialist}
	makers    = []app.Role{app.Officer, app.Manager}
	verifiers = []app.Role{app.Officer, app.Manager, app.Regulator}
	admin     = []app.Role{app.Administrator}
)

// routeCase is one route asked by every role.
type routeCase struct {
	name   string
	route  string // as registered
	method string
	path   string
	body   func(n int) any // n is new for each role
	who    []app.Role
	status int  // for those who may
	others int  // for those who may not; 0 = 403
	open   bool // also to who is not signed in
}

// loggerFile is the hash of a logger file of the folder.
const loggerFile = "6806f3044519d52af803cdf0397d862c45cfc4d075b1e03acdee008636678e48"

const (
	noisy = "/api/conditions/RI%2FNOISE/1-hours"
)

func routeCases() []routeCase {
	get := func(name, route, path string, who []app.Role) routeCase {
		return routeCase{name: name, route: "GET " + route, method: "GET", path: path, who: who, status: http.StatusOK}
	}
	put := func(name string, who []app.Role, make func(n int) any) routeCase {
		return routeCase{name: name, route: "PUT /api/entries/:id", method: "PUT", path: "/api/entries/NEW", body: make, who: who, status: http.StatusCreated}
	}
	empty := func(int) any { return map[string]any{} }
	return []routeCase{
		{name: "who is signed in", route: "GET /api/session", method: "GET", path: "/api/session", who: everybody, status: 200, open: true},
		{name: "API document", route: "GET /api/openapi.json", method: "GET", path: "/api/openapi.json", who: everybody, status: 200, open: true},
		{name: "API document as YAML", route: "GET /api/openapi.yaml", method: "GET", path: "/api/openapi.yaml", who: everybody, status: 200, open: true},
		{name: "older API document", route: "GET /api/openapi-3.0.json", method: "GET", path: "/api/openapi-3.0.json", who: everybody, status: 200, open: true},
		{name: "older API document as YAML", route: "GET /api/openapi-3.0.yaml", method: "GET", path: "/api/openapi-3.0.yaml", who: everybody, status: 200, open: true},
		get("site", "/api/site", "/api/site", everybody),
		get("kinds", "/api/kinds", "/api/kinds", everybody),
		get("checklists", "/api/checklists", "/api/checklists", everybody),
		get("plan", "/api/plan", "/api/plan", everybody),
		get("entries", "/api/entries", "/api/entries", everybody),
		{name: "one entry", route: "GET /api/entries/:id", method: "GET", path: "/api/entries/ENTRY", who: readers, status: 200, others: 404},
		get("today", "/api/today", "/api/today", readers),
		get("duties", "/api/duties", "/api/duties", readers),
		get("instruments", "/api/instruments", "/api/instruments", readers),
		{name: "calendar link", route: "POST /api/calendars/:role", method: "POST", path: "/api/calendars/officer", who: makers, status: 200, body: empty},
		{name: "ending a calendar link", route: "DELETE /api/calendars/:role", method: "DELETE", path: "/api/calendars/officer", who: makers, status: 204},
		{name: "no calendar", route: "GET /calendar/:token", method: "GET", path: "/calendar/none.ics", who: everybody, status: 404, open: true},
		{name: "look at a logger file", route: "POST /api/imports/look", method: "POST", path: "/api/imports/look", who: writers, status: 200,
			body: func(int) any { return map[string]any{"file": loggerFile} }},
		{name: "trying an import", route: "POST /api/imports/try", method: "POST", path: "/api/imports/try", who: writers, status: 200,
			body: func(int) any { return map[string]any{"file": loggerFile, "name": "x", "mapping": loggerMapping(nil)} }},
		{name: "import that lacks all", route: "PUT /api/imports/:id", method: "PUT", path: "/api/imports/NEW", who: writers, status: 422,
			body: func(int) any {
				return map[string]any{"file": loggerFile, "name": "x", "mapping": loggerMapping(map[string]any{"zone": ""})}
			}},
		{name: "taking back no import", route: "PUT /api/imports/:id/withdrawal/:with", method: "PUT", path: "/api/imports/" + strings.Repeat("0", 32) + "/withdrawal/NEW", who: writers, status: 404,
			body: func(int) any { return map[string]any{"reason": "none"} }},
		get("loggers", "/api/loggers", "/api/loggers", readers),
		get("patterns for a logger", "/api/loggers/patterns", "/api/loggers/patterns", writers),
		{name: "logger that lacks all", route: "POST /api/loggers", method: "POST", path: "/api/loggers", who: writers, status: 422,
			body: func(int) any { return map[string]any{"name": "", "mapping": loggerMapping(nil)} }},
		{name: "ending no logger", route: "DELETE /api/loggers/:id", method: "DELETE", path: "/api/loggers/" + strings.Repeat("0", 32), who: writers, status: 404},
		get("shots", "/api/shots", "/api/shots", readers),
		{name: "a charge without shots", route: "GET /api/shots/charge", method: "GET", path: "/api/shots/charge?distance=300&limit=6", who: readers, status: 422},
		get("machines", "/api/vibration/machines", "/api/vibration/machines", everybody),
		get("a machine's vibration", "/api/vibration/machine", "/api/vibration/machine?machine=jackhammer&distance=20", readers),
		get("distribution", "/api/distribution", "/api/distribution?channel=NSR1-LAEQ&from=2025-03-21T00:00:00Z&to=2025-03-22T00:00:00Z", readers),
		{name: "rose of no wind", route: "GET /api/rose", method: "GET", path: "/api/rose?speed=NSR1-LAEQ&direction=NSR1-LAEQ&from=2025-03-21T00:00:00Z&to=2025-03-22T00:00:00Z", who: readers, status: 422},
		get("channels", "/api/channels", "/api/channels", readers),
		{name: "trying a rule", route: "POST /api/rejections/try", method: "POST", path: "/api/rejections/try", who: rejecters, status: 200, body: windy},
		{name: "a rule that takes nothing out", route: "PUT /api/rejections/:id", method: "PUT", path: "/api/rejections/NEW", who: rejecters, status: 422, body: windy},
		{name: "taking back no rule", route: "PUT /api/rejections/:id/withdrawal", method: "PUT", path: "/api/rejections/" + strings.Repeat("0", 32) + "/withdrawal", who: rejecters, status: 404,
			body: func(int) any { return map[string]any{"reason": "none"} }},
		{name: "foretelling noise", route: "POST /api/noise/foretell", method: "POST", path: "/api/noise/foretell", who: readers, status: 200,
			body: func(int) any { return excavatorAt("YARD", 80) }},
		get("acts", "/api/acts", "/api/acts", everybody),
		get("holds", "/api/holds", "/api/holds", everybody),
		get("may I", "/api/may", "/api/may?act=haul&from=2026-05-01T09:00:00Z&to=2026-05-01T10:00:00Z", readers),
		{name: "acting on an answer", route: "PUT /api/may/:id", method: "PUT", path: "/api/may/NEW", who: writers, status: http.StatusCreated,
			body: func(int) any {
				return map[string]any{"act": "haul", "from": "2026-05-01T09:00:00Z", "to": "2026-05-01T10:00:00Z", "decision": "go on"}
			}},
		get("conditions", "/api/conditions", "/api/conditions", readers),
		get("condition", "/api/conditions/:permit/:condition", noisy+"?place=NSR1", readers),
		get("condition language", "/api/conditions/schema", "/api/conditions/schema", everybody),
		get("vocabulary", "/api/conditions/vocabulary", "/api/conditions/vocabulary", readers),
		get("condition as text", "/api/conditions/:permit/:condition/written", noisy+"/written", readers),
		{name: "checking a condition", route: "POST /api/conditions/check", method: "POST", path: "/api/conditions/check", who: readers, status: 200,
			body: func(int) any {
				return map[string]any{"permit": "RI/NOISE", "text": "clause: \"1\"\nkind: attested\nrole: site manager\n"}
			}},
		{name: "trying a condition", route: "POST /api/conditions/try", method: "POST", path: "/api/conditions/try", who: readers, status: 200,
			body: func(int) any {
				return map[string]any{"permit": "RI/NOISE", "change": "condition added", "text": "clause: \"1\"\nkind: attested\nrole: site manager\n"}
			}},
		{name: "saving a condition", route: "PUT /api/amendments/:id", method: "PUT", path: "/api/amendments/NEW", who: makers, status: 201,
			body: func(int) any {
				return map[string]any{"permit": "RI/NOISE", "change": "condition added", "text": "clause: \"1\"\nkind: attested\nrole: site manager\n"}
			}},
		get("notice as text", "/api/notices/:permit", "/api/notices/RI%2FNOISE", readers),
		{name: "checking a notice", route: "POST /api/notices/check", method: "POST", path: "/api/notices/check", who: readers, status: 200,
			body: func(int) any { return map[string]any{"text": "permit: {reference: N/1, granted: 2026-01-01}\n"} }},
		{name: "saving a notice", route: "PUT /api/notices/:id", method: "PUT", path: "/api/notices/NEW", who: makers, status: 201,
			body: func(n int) any {
				return map[string]any{"text": fmt.Sprintf("permit: {reference: N/%d, granted: 2026-01-01}\n", n)}
			}},
		get("windows", "/api/conditions/:permit/:condition/windows", noisy+"/windows?place=NSR1", readers),
		get("working", "/api/conditions/:permit/:condition/working", noisy+"/working?place=NSR1&from=2025-03-21T08:00:00Z", readers),
		get("episodes", "/api/conditions/:permit/:condition/episodes", noisy+"/episodes?place=NSR1", readers),
		get("what was left out", "/api/conditions/:permit/:condition/left-out", noisy+"/left-out?place=NSR1", readers),
		get("readings", "/api/readings", "/api/readings?channel=NSR1-LAEQ&from=2025-03-21T00:00:00Z&to=2025-03-22T00:00:00Z", readers),
		get("surveys", "/api/surveys", "/api/surveys", readers),
		get("levels", "/api/levels", "/api/levels?before=before&after=after&tolerance=0.5", readers),
		get("raster", "/api/levels/raster", "/api/levels/raster?before=before&after=after&cells=20", readers),
		get("section", "/api/levels/section", "/api/levels/section?before=before&after=after", readers),
		get("handover", "/api/handover", "/api/handover", readers),
		get("users", "/api/users", "/api/users", admin),
		get("file", "/api/files/:sha256", "/api/files/FILE", readers),
		{name: "preview of no picture", route: "GET /api/files/:sha256/preview", method: "GET", path: "/api/files/FILE/preview", who: readers, status: 404},
		{name: "pack not there", route: "GET /api/packs/:name", method: "GET", path: "/api/packs/none.zip", who: readers, status: 404},
		{name: "job not there", route: "GET /api/jobs/:id", method: "GET", path: "/api/jobs/none", who: everybody, status: 404},
		{name: "events of a job not there", route: "GET /api/jobs/:id/events", method: "GET", path: "/api/jobs/none/events", who: everybody, status: 404},
		put("diary line", writers, func(int) any { return diary("a line") }),
		put("ticket", append([]app.Role{app.Gate}, writers...), func(int) any { return ticket("T1") }),
		put("sample", append([]app.Role{app.Laboratory}, writers...), func(int) any { return sample("1.1") }),
		put("kind of a use case of its own", nil, func(int) any { return with(diary("x"), "kind", "permit.1") }),
		{name: "file", route: "POST /api/files", method: "POST", path: "/api/files", who: append([]app.Role{app.Gate, app.Laboratory}, writers...), status: 201,
			body: func(int) any { return raw{"image/png", []byte("no picture")} }},
		{name: "erasure", route: "POST /api/entries/:id/erasure", method: "POST", path: "/api/entries/" + strings.Repeat("0", 32) + "/erasure", who: admin, status: 404,
			body: func(int) any {
				return map[string]any{"what": "body", "ground": "asked for", "reason": "named a neighbour"}
			}},
		{name: "pack", route: "POST /api/handover", method: "POST", path: "/api/handover", body: empty, who: makers, status: 202},
		{name: "verifying", route: "POST /api/packs/:name/verify", method: "POST", path: "/api/packs/none.zip/verify", who: verifiers, status: 404},
		{name: "new user", route: "POST /api/users", method: "POST", path: "/api/users", who: admin, status: 422,
			body: func(int) any {
				return map[string]any{"name": "x y", "display": "X", "role": "officer", "password": password}
			}},
		{name: "change of a user", route: "PATCH /api/users/:id", method: "PATCH", path: "/api/users/none", who: admin, status: 404,
			body: func(int) any { return map[string]any{"disabled": true} }},
	}
}

// TestEveryRouteByEveryRole asks every route as every role and signed out.
func TestEveryRouteByEveryRole(t *testing.T) {
	s := serve(t)
	snap, err := s.house.App.Current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	fill := strings.NewReplacer("ENTRY", string(snap.Entries[0].ID), "FILE", snap.View.Current("survey.1")[0].Files[0].String())
	n := 0
	for _, c := range routeCases() {
		t.Run(c.name, func(t *testing.T) {
			ask := func(p *browser, headers ...string) *said {
				n++
				var body any
				if c.body != nil {
					body = c.body(n)
				}
				got := p.send(c.method, strings.Replace(fill.Replace(c.path), "NEW", newID(n), 1), body, headers...)
				got.t = t
				return got
			}
			for _, role := range app.Roles() {
				p := s.as(role)
				if !slices.Contains(c.who, role) && c.others != 0 {
					ask(p).want(c.others)
					continue
				}
				if !slices.Contains(c.who, role) {
					ask(p).problem(http.StatusForbidden, app.Forbidden)
					continue
				}
				ask(p).want(c.status)
				if c.method != "GET" {
					ask(p, "X-CSRF", "-").problem(http.StatusForbidden, app.Forbidden)
					ask(p, "X-CSRF", s.as(app.Landowner).csrf+"x").problem(http.StatusForbidden, app.Forbidden)
				}
			}
			if c.open {
				ask(s.nobody()).want(c.status)
				return
			}
			ask(s.nobody()).problem(http.StatusUnauthorized, app.SignedOut)
			forged := &browser{site: s, cookie: "forged", csrf: "forged"}
			ask(forged).problem(http.StatusUnauthorized, app.SignedOut)
		})
	}
	waitForJobs(t, s)
}

// waitForJobs waits until what the table queued has ended.
func waitForJobs(t *testing.T, s *site) {
	t.Helper()
	ended := make(chan struct{})
	for {
		if _, err := s.api.Jobs.Start("last", "test", func(context.Context, func(float64, string)) (jobs.Result, error) {
			close(ended)
			return jobs.Result{}, nil
		}); err == nil {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	select {
	case <-ended:
	case <-time.After(60 * time.Second):
		t.Error("the queued jobs do not end")
	}
}

// TestTheTableHasEveryRoute keeps the table of roles complete.
func TestTheTableHasEveryRoute(t *testing.T) {
	s := serve(t)
	tested := map[string]bool{"POST /api/session": true, "DELETE /api/session": true, "POST /api/push": true} // session_test.go, loggers_test.go
	for _, c := range routeCases() {
		tested[c.route] = true
	}
	for _, r := range s.api.engine().Routes() {
		if route := r.Method + " " + r.Path; !tested[route] {
			t.Errorf("%s is not in the table of roles", route)
		}
	}
}

// TestGateAndLaboratorySeeTheirOwn says what these roles must not see.
func TestGateAndLaboratorySeeTheirOwn(t *testing.T) {
	s := serve(t)
	officer := s.as(app.Officer)
	officer.send("PUT", "/api/entries/"+newID(1), ticket("T-17")).want(201)
	officer.send("PUT", "/api/entries/"+newID(2), diary("noise complaint from a neighbour")).want(201)
	for _, c := range []struct {
		role      app.Role
		sees      []string
		not       []string
		seesEntry map[string]int
	}{
		{app.Gate, []string{"ticket.1", "T-17"}, []string{"diary.1", "sample.1", "neighbour", "permit.1", "person.1"}, map[string]int{newID(1): 200, newID(2): 404}},
		{app.Laboratory, []string{"sample.1"}, []string{"diary.1", "ticket.1", "neighbour", "permit.1", "person.1"}, map[string]int{newID(1): 404, newID(2): 404}},
		{app.Landowner, []string{"ticket.1", "diary.1", "neighbour"}, []string{"$argon2id"}, map[string]int{newID(1): 200, newID(2): 200}},
	} {
		t.Run(string(c.role), func(t *testing.T) {
			p := s.as(c.role)
			list := p.send("GET", "/api/entries?limit=500", nil).want(200)
			list.has(c.sees...)
			list.hasNot(c.not...)
			for id, status := range c.seesEntry {
				p.send("GET", "/api/entries/"+id, nil).want(status)
			}
		})
	}
	gate := s.as(app.Gate)
	gate.send("GET", "/api/entries/"+newID(1), nil).hasNot("verdict")
	gate.send("GET", "/api/site", nil).hasNot("RI/NOISE")
	// A conflict with an entry that the role does not see tells nothing of it.
	got := gate.send("PUT", "/api/entries/"+newID(2), ticket("T-18"))
	got.problem(http.StatusConflict, app.Conflict)
	got.hasNot("neighbour", "diary")
}
