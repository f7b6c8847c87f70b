package api

import (
	"net/http"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"

	"github.com/swardbook/swardbook/server/app"
)

// finding is a defect to put right, as an entry.
func finding(number, owner, due string) map[string]any {
	return map[string]any{
		"kind": "finding.1", "places": []string{"YARD"}, "at": "2026-04-20T09:00:00.000Z", "at_precision": "minute", "offset": "+01:00",
		"body": map[string]any{"number": number, "what": "Silt fence down, " + strings.Repeat("and more of it, ", 8) + "on the east.", "severity": "major", "owner": owner, "due": due},
	}
}

func (s *site) dutiesOf(p *browser, post string) map[string]Duty {
	s.t.Helper()
	var d DutyList
	p.send("GET", "/api/duties?post="+post, nil).want(200).into(&d)
	out := map[string]Duty{}
	for _, one := range d.Duties {
		if one.Fill["finding"] != "" {
			out[one.Fill["finding"]] = one
		}
	}
	return out
}

func TestAFindingIsADutyUntilItIsChecked(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	p.send("PUT", "/api/entries/"+newID(1), finding("F-1", "foreman", "2026-04-27")).want(http.StatusCreated)
	p.send("PUT", "/api/entries/"+newID(2), finding("F-2", "foreman", "2026-05-02")).want(http.StatusCreated)
	all := s.dutiesOf(p, "")
	if d := all["F-1"]; d.State != "overdue" || d.Days != 3 || d.Carried != "for the manager too" || d.Post != "foreman" || d.Entry != newID(1) || d.Kinds[0] != "remedy.1" {
		t.Errorf("F-1: %+v", d)
	}
	if d := all["F-2"]; d.State != "due within seven days" || d.Carried != "" {
		t.Errorf("F-2: %+v", d)
	}
	// Three days over, it falls to the manager; to the surveyor it does not.
	if len(s.dutiesOf(p, "manager")) != 1 || len(s.dutiesOf(p, "surveyor")) != 0 || len(s.dutiesOf(p, "foreman")) != 2 {
		t.Error("they fall to the wrong posts")
	}
	remedy := func(n int, stage string) {
		p.send("PUT", "/api/entries/"+newID(n), map[string]any{"kind": "remedy.1", "at": "2026-04-29T09:00:00.000Z", "at_precision": "minute", "offset": "+01:00",
			"body": map[string]any{"finding": "F-2", "stage": stage, "what": "put up again"}}).want(http.StatusCreated)
	}
	remedy(3, "put right")
	if d := s.dutiesOf(p, "")["F-2"]; d.Post != "officer" || !strings.HasPrefix(d.What, "check that it was put right") || d.State != "due within seven days" {
		t.Errorf("put right, it is %+v", d)
	}
	remedy(4, "checked and accepted")
	if d := s.dutiesOf(p, "")["F-2"]; d.State != "done" || len(d.Done) != 1 || d.Done[0] != newID(4) {
		t.Errorf("accepted, it is %+v", d)
	}
}

func TestCalendarLink(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	p.send("PUT", "/api/entries/"+newID(1), finding("F-1", "officer", "2026-04-10")).want(http.StatusCreated)
	p.send("PUT", "/api/entries/"+newID(2), finding("F-2", "officer", "2026-05-09")).want(http.StatusCreated)
	p.send("PUT", "/api/entries/"+newID(3), finding("F-3", "foreman", "2026-05-09")).want(http.StatusCreated)
	first := p.send("POST", "/api/calendars/officer", map[string]any{}).want(200).text("path")
	if !strings.HasPrefix(first, "/calendar/") || len(first) < 50 {
		t.Fatalf("the link is %q", first)
	}
	got := s.nobody().send("GET", first, nil).want(200)
	if kind := got.header.Get("Content-Type"); kind != "text/calendar; charset=utf-8" {
		t.Errorf("it is %s", kind)
	}
	// RFC 5545 section 3.1: lines end in CRLF and hold no more than 75 octets.
	for _, line := range strings.SplitAfter(string(got.body), "\r\n") {
		if text := strings.TrimSuffix(line, "\r\n"); len(text) > 75 || strings.ContainsAny(text, "\r\n") {
			t.Errorf("line of %d octets: %q", len(text), text)
		}
	}
	cal, err := ics.ParseCalendar(strings.NewReader(string(got.body)))
	if err != nil {
		t.Fatal(err)
	}
	days := map[string]string{}
	for _, e := range cal.Events() {
		start, err := e.GetAllDayStartAt()
		if err != nil {
			t.Error(err)
		}
		if e.Id() == "" || days[e.Id()] != "" {
			t.Errorf("the id %q is wanting or not its own", e.Id())
		}
		days[e.Id()] = "x"
		summary := e.GetProperty(ics.ComponentPropertySummary).Value
		days[summary[:min(len(summary), 23)]] = start.Format(time.DateOnly)
	}
	// What is overdue lies on the day of asking, the rest on its last day.
	if days["Overdue since 10 Apr 20"] != "2026-04-30" || days["put right: Silt fence d"] != "2026-05-09" {
		t.Errorf("the days are %v", days)
	}
	if n := strings.Count(strings.ReplaceAll(string(got.body), "\r\n ", ""), "finding F-3"); n != 0 {
		t.Error("it holds what falls to another post")
	}
	second := p.send("POST", "/api/calendars/officer", map[string]any{}).want(200).text("path")
	s.nobody().send("GET", first, nil).want(404)
	s.nobody().send("GET", second, nil).want(200)
	var d DutyList
	p.send("GET", "/api/duties", nil).want(200).into(&d)
	if d.Feed == nil {
		t.Error("the list does not say that there is a link")
	}
	p.send("DELETE", "/api/calendars/officer", nil).want(204)
	s.nobody().send("GET", second, nil).want(404)
	p.send("POST", "/api/calendars/nobody", map[string]any{}).problem(422, app.Invalid)
	s.as(app.Regulator).send("POST", "/api/calendars/regulator", map[string]any{}).want(200)
}

func TestBeforeTheFirstSod(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	var d DutyList
	p.send("GET", "/api/duties", nil).want(200).into(&d)
	if d.Start != nil {
		t.Error("nothing is listed for the start, and it is shown")
	}
	need := func(n int, body map[string]any) {
		p.send("PUT", "/api/entries/"+newID(n), map[string]any{"kind": "needed.1", "at": "2026-04-01T09:00:00.000Z", "at_precision": "minute", "offset": "+01:00", "body": body}).want(201)
	}
	need(1, map[string]any{"name": "road closure", "sort": "consent", "needed_by": "2026-06-01", "lead": 84})
	need(2, map[string]any{"name": "survey of the field", "sort": "levels", "needed_by": "2026-05-20", "got": "2026-04-10", "asked": "2026-04-01", "agreed_with": "tenant", "agreed": "2026-04-12"})
	d = DutyList{}
	p.send("GET", "/api/duties", nil).want(200).into(&d)
	if d.Start == nil || len(d.Start.Needed) != 2 || d.Start.Needed[0].Name != "survey of the field" || !d.Start.Needed[0].Settled || d.Start.Needed[1].Settled {
		t.Fatalf("%+v", d.Start)
	}
	if got := strings.Join(d.Start.Unlisted, ", "); got != "soils, drains, background noise, water, road, photo points" {
		t.Errorf("not listed: %s", got)
	}
	ask := "/api/may?act=commencement&from=2026-05-01T09:00:00Z&to=2026-05-01T10:00:00Z"
	p.send("GET", ask, nil).want(200).has(`"outcome":"stands against it"`, "road closure is needed before the start and has not been asked for", "nothing is listed for soils")
}
