package api

import (
	"fmt"
	"math"
	"net/url"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/app"
)

// path of a condition, each part escaped as a page does.
func condition(permit, id string) string {
	return "/api/conditions/" + url.PathEscape(permit) + "/" + url.PathEscape(id)
}

func TestToday(t *testing.T) {
	s := serve(t)
	var got Today
	s.as(app.Manager).send("GET", "/api/today", nil).want(200).into(&got)
	equal(t, "clauses", got.Clauses, judge.Clauses{Total: 12, Accounted: 12})
	equal(t, "counts", got.Counts, judge.Counts{Due: 9, Complied: 5, NotComplied: 4})
	var not []string
	for _, j := range got.NotComplied {
		not = append(not, j.Permit+" "+j.Condition)
		if len(j.Windows)+len(j.Months)+len(j.Evidence) > 0 {
			t.Errorf("%s carries all it rests on", j.Condition)
		}
	}
	equal(t, "not complied", not, []string{"RI/WATER 1-table", "RI/LEVELS 2-share", "RI/NOISE 1-hours", "RI/HOURS-EW 1-hours"})
	equal(t, "last entries", len(got.Last), 8)
	equal(t, "seq", got.Seq, 624)
}

func TestLedger(t *testing.T) {
	s := serve(t)
	var got Ledger
	s.as(app.Landowner).send("GET", "/api/conditions", nil).want(200).into(&got)
	found := map[string]string{}
	for _, n := range got.Notices {
		equal(t, n.Reference+" accounted for", n.Accounted, n.Total)
		for _, c := range n.Clauses {
			for _, one := range c.Conditions {
				for _, j := range one.Judgements {
					found[n.Reference+" "+j.Condition] = j.Verdict.String()
				}
				if one.Sentence == "" {
					t.Errorf("%s %s has no sentence", n.Reference, one.ID)
				}
			}
		}
	}
	equal(t, "judged", len(found), 14)
	equal(t, "noise", found["RI/NOISE 1-hours"], "not complied")
	equal(t, "water", found["RI/WATER 2-table"], "complied")
}

func TestOneCondition(t *testing.T) {
	s := serve(t)
	p := s.as(app.Manager)
	var got OneCondition
	p.send("GET", condition("RI/NOISE", "1-hours")+"?place=NSR1", nil).want(200).into(&got)
	equal(t, "clause", got.Clause.Text, "In working hours the level is not to exceed 55 dB LAeq,1h.")
	equal(t, "places", got.Places, []string{"NSR1"})
	equal(t, "channels", got.Channels, []Channel{{"NSR1-LAEQ", "dB", "noise.laeq", "NSR1"}})
	equal(t, "counts", got.Judgement.Counts, judge.Counts{Due: 71, Judged: 71, Complied: 67, NotComplied: 4})
	if got.Caution == "" || got.Sentence == "" || len(got.Versions) != 1 || len(got.Judgement.Months) != 1 {
		t.Errorf("%+v", got)
	}
	for _, path := range []string{
		condition("RI/NOISE", "1-hours") + "?place=NSR9", condition("RI/NOISE", "9-hours") + "?place=NSR1", condition("RI/NOTHING", "1-hours") + "?place=NSR1",
		"/api/conditions/RI/NOISE?place=NSR1", condition("RI%2FNOISE", "1-hours") + "?place=NSR1",
	} {
		p.send("GET", path, nil).problem(404, app.NotFound)
	}
	p.send("GET", condition("RI/NOISE", "1-hours")+"?place=NSR1&at=now", nil).problem(422, app.Invalid)
}

// TestWindowsAreWalked pages through windows and finds each once, newest first;
// the four above the limit are those that were worked out outside the program
// (expected.yaml of the folder).
func TestWindowsAreWalked(t *testing.T) {
	s := serve(t)
	p := s.as(app.Regulator)
	for _, c := range []struct {
		name, permit, id, place, query string
		limit, want                    int
	}{
		{"all", "RI/NOISE", "1-hours", "NSR1", "", 50, 71},
		{"by four", "RI/NOISE", "1-hours", "NSR1", "", 4, 71},
		{"by one", "RI/NOISE", "1-hours", "NSR1", "", 1, 71},
		{"not complied", "RI/NOISE", "1-hours", "NSR1", "&verdict=not+complied", 3, 4},
		{"a day", "RI/NOISE", "1-hours", "NSR1", "&from=2025-03-21T00:00:00Z&to=2025-03-22T00:00:00Z", 4, 11},
		{"a month", "RI/NOISE", "1-hours", "NSR1", "&month=2025-03-01T00:00:00Z&from=2025-03-01T00:00:00Z&to=2025-04-02T00:00:00Z", 20, 71},
		{"a month of samples", "RI/WATER", "3-upper", "RIV1", "&month=2004-01-01T00:00:00Z", 20, 1},
		{"samples", "RI/WATER", "3-upper", "RIV1", "", 5, 14},
		{"none", "RI/WATER", "3-upper", "RIV1", "&verdict=not+complied", 5, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			var all []judge.Judgement
			for cursor := ""; ; {
				var page WindowPage
				p.send("GET", condition(c.permit, c.id)+fmt.Sprintf("/windows?place=%s&limit=%d%s&cursor=%s", c.place, c.limit, c.query, url.QueryEscape(cursor)), nil).want(200).into(&page)
				all = append(all, page.Items...)
				if cursor = page.Next; cursor == "" {
					break
				}
			}
			equal(t, "windows", len(all), c.want)
			for i := 1; i < len(all); i++ {
				if !all[i].Window.From.Before(all[i-1].Window.From) {
					t.Errorf("window %v after %v", all[i].Window.From, all[i-1].Window.From)
				}
			}
		})
	}
	var page WindowPage
	p.send("GET", condition("RI/NOISE", "1-hours")+"/windows?place=NSR1&verdict=not+complied", nil).want(200).into(&page)
	want := map[string]float64{"2025-03-21T08:00:00Z": 55.2586, "2025-03-24T07:00:00Z": 55.3135, "2025-03-25T07:00:00Z": 55.1703, "2025-03-25T10:00:00Z": 57.8277}
	for _, w := range page.Items {
		from := w.Window.From.Format(time.RFC3339)
		if w.Value == nil || math.Abs(*w.Value-want[from]) > 5e-5 || w.Working != nil {
			t.Errorf("%s: %v, want %v", from, w.Value, want[from])
		}
	}
	p.send("GET", condition("RI/NOISE", "1-hours")+"/windows?place=NSR1&cursor=x", nil).problem(422, app.Invalid)
	p.send("GET", condition("RI/NOISE", "1-hours")+"/windows?place=NSR1&month=2025-03-02T00:00:00Z", nil).problem(404, app.NotFound)
	p.send("GET", condition("RI/NOISE", "1-hours")+"?place=NSR1&know_at=2025-03-02T00:00:00Z", nil).problem(422, app.Invalid)
}

// TestWindowsThatBeginTogether are told apart by the cursor: two samples of one
// instant.
func TestWindowsThatBeginTogether(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	for i := range 3 {
		body := sample(fmt.Sprintf("0.%d", i+1))
		body["at_precision"] = "minute"
		p.send("PUT", "/api/entries/"+newID(i), body).want(201)
	}
	seen := map[string]int{}
	for cursor, n := "", 0; n < 30; n++ {
		var page WindowPage
		p.send("GET", condition("RI/WATER", "3-upper")+"/windows?place=RIV1&limit=1&cursor="+url.QueryEscape(cursor), nil).want(200).into(&page)
		for _, w := range page.Items {
			seen[w.Window.From.Format(time.DateOnly)+fmt.Sprint(*w.Value)]++
		}
		if cursor = page.Next; cursor == "" {
			break
		}
	}
	for at, n := range seen {
		if n != 1 {
			t.Errorf("%s comes %d times", at, n)
		}
	}
	equal(t, "windows", len(seen), 17)
}

func TestWorking(t *testing.T) {
	s := serve(t)
	p := s.as(app.Manager)
	path := condition("RI/NOISE", "1-hours") + "/working?place=NSR1&from="
	var got judge.Judgement
	p.send("GET", path+"2025-03-25T10:00:00Z", nil).want(200).into(&got)
	if got.Value == nil || math.Abs(*got.Value-57.8277) > 5e-5 || got.Verdict != judge.NotComplied || len(got.Working) < 3 || len(got.Evidence) == 0 || got.Evidence[0].ID == "" {
		t.Errorf("%+v", got)
	}
	p.send("GET", path, nil).want(200).has(`"counts":{"due":71`)
	p.send("GET", path+"2025-03-25T10:30:00Z", nil).want(200).has(`"counts":{"due":71`)
	p.send("GET", path+"today", nil).problem(422, app.Invalid)
	p.send("GET", condition("RI/NOISE", "1-hours")+"/working?place=NSR2", nil).problem(404, app.NotFound)
}

// TestTwoClocks corrects a sample and asks for the verdict as known before.
func TestTwoClocks(t *testing.T) {
	s := serve(t)
	officer := s.as(app.Officer)
	path := condition("RI/WATER", "3-upper") + "?place=RIV1"
	ask := func(query string) OneCondition {
		t.Helper()
		var got OneCondition
		officer.send("GET", path+query, nil).want(200).into(&got)
		return got
	}
	imported := s.clock.Now().UTC().Format(time.RFC3339Nano)
	s.clock.pass(time.Hour)
	officer.send("PUT", "/api/entries/"+newID(1), sample("31")).want(201)
	misread := s.clock.Now().UTC().Format(time.RFC3339Nano)
	s.clock.pass(time.Hour)
	officer.send("PUT", "/api/entries/"+newID(2), with(sample("3.1"), "supersedes", newID(1), "reason", "decimal point lost")).want(201)
	first := s.clock.Now().UTC().Format(time.RFC3339Nano)
	s.clock.pass(time.Hour)
	officer.send("PUT", "/api/entries/"+newID(3), with(sample("0.31"), "supersedes", newID(2), "reason", "diluted tenfold")).want(201)

	for _, c := range []struct {
		name, query string
		verdict     judge.Verdict
		value       float64
		windows     int
	}{
		{"now", "", judge.Complied, 2.17, 15},
		{"after the first correction", "&known_at=" + first, judge.NotComplied, 3.1, 15},
		{"before any correction", "&known_at=" + misread, judge.NotComplied, 31, 15},
		{"before the sample", "&known_at=" + imported, judge.Complied, 2.17, 14},
		{"judged to before the sample was taken", "&at=2004-05-01T00:00:00Z", judge.Complied, 2.17, 5},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := ask(c.query)
			equal(t, "verdict", got.Judgement.Verdict, c.verdict)
			if got.Judgement.Value == nil || *got.Judgement.Value != c.value {
				t.Errorf("value %v, want %v", got.Judgement.Value, c.value)
			}
			equal(t, "windows", got.Judgement.Counts.Judged, c.windows)
		})
	}
	t.Run("history", func(t *testing.T) {
		got := ask("").History
		if len(got) != 1 || got[0].Seq != 626 || got[0].Verdict != judge.NotComplied || got[0].Sentence == "" {
			t.Fatalf("%+v", got)
		}
		again := ask("&known_at=" + got[0].KnownAt.Format(time.RFC3339Nano))
		equal(t, "verdict as known then", again.Judgement.Verdict, got[0].Verdict)
	})
	t.Run("history of what no correction touched", func(t *testing.T) {
		var other OneCondition
		officer.send("GET", condition("RI/NOISE", "1-hours")+"?place=NSR1", nil).want(200).into(&other)
		equal(t, "history", other.History, []Past{})
	})
	t.Run("withdrawn", func(t *testing.T) {
		officer.send("PUT", "/api/entries/"+newID(4), with(sample(""), "supersedes", newID(3), "reason", "not our river", "body", nil)).want(201)
		equal(t, "windows", ask("").Judgement.Counts.Judged, 14)
	})
	t.Run("windows and working as known then", func(t *testing.T) {
		var page WindowPage
		officer.send("GET", condition("RI/WATER", "3-upper")+"/windows?place=RIV1&verdict=not+complied&known_at="+misread, nil).want(200).into(&page)
		equal(t, "windows", len(page.Items), 1)
		officer.send("GET", condition("RI/WATER", "3-upper")+"/working?place=RIV1&from=2004-06-01T00:00:00Z&known_at="+misread, nil).want(200).has(`"value":31,`)
		officer.send("GET", "/api/conditions?known_at="+misread, nil).want(200).has(`"known_at":"2026-`)
	})
}

// TestTodayFollowsTheEntry has the officer withdraw the only work outside hours
// and see Today change at once.
func TestTodayFollowsTheEntry(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	var page EntryPage
	p.send("GET", "/api/entries?kind=diary.1", nil).want(200).into(&page)
	p.send("GET", "/api/today", nil).want(200).has("RI/HOURS-EW")
	p.send("PUT", "/api/entries/"+newID(1), map[string]any{"kind": "diary.1", "places": []string{"YARD"}, "at": page.Items[0].At, "until": page.Items[0].Until, "at_precision": "minute", "supersedes": page.Items[0].ID, "reason": "another site"}).want(201)
	p.send("GET", "/api/today", nil).want(200).hasNot("RI/HOURS-EW")
}

// Four hours are over; with the worst of them rejected three are, and both are
// shown, with who rejected it.
func TestWithAndWithoutRejections(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	p.send("PUT", "/api/entries/"+newID(1), map[string]any{"kind": "rejection.1", "at": "2025-03-25T10:00:00.000Z", "until": "2025-03-25T11:00:00.000Z", "at_precision": "minute",
		"body": map[string]any{"channel": "NSR1-LAEQ", "reason": "wind", "note": "gusts at the gate"}}).want(201)
	var out LeftOut
	p.send("GET", noisy+"/left-out?place=NSR1", nil).want(200).into(&out)
	if !out.Differs || out.With.Counts.NotComplied != 3 || out.Without.Counts.NotComplied != 4 {
		t.Errorf("with %+v, without %+v", out.With.Counts, out.Without.Counts)
	}
	if len(out.Rejected) != 1 || out.Rejected[0].Reason != "wind" || out.Rejected[0].By != "the officer" || out.Busy == "" {
		t.Errorf("rejected %+v, busy %q", out.Rejected, out.Busy)
	}
	p.send("GET", "/api/conditions/RI%2FNOISE/none/left-out", nil).problem(404, app.NotFound)
}

// The four hours above 55 dB of the open data are four episodes, the loudest
// 57.8277 dB (expected.yaml of the folder).
func TestEpisodesOverTheLimit(t *testing.T) {
	s := serve(t)
	var list []Episode
	s.as(app.Regulator).send("GET", noisy+"/episodes?place=NSR1", nil).want(200).into(&list)
	loudest := 0.0
	for _, e := range list {
		loudest = max(loudest, *e.Worst.Value)
	}
	if len(list) != 4 || loudest < 57.8276 || loudest > 57.8278 || list[0].From.Before(list[1].From) {
		t.Errorf("%d episodes, the loudest %v", len(list), loudest)
	}
}
