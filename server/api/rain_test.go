package api

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// Rain starts what hangs on it, whether one entry tells of it or a gauge sends it:
// the storm inspection's clock, a soil test before stripping goes on, and an extra
// sample. What is done is no longer asked for.
func TestRainStartsWhatHangsOnIt(t *testing.T) {
	at := time.Date(2026, 4, 30, 9, 0, 0, 0, time.UTC)
	entry := func(kind string, from time.Time, until *time.Time, places []string, body map[string]any) map[string]any {
		d := map[string]any{"kind": kind, "at": from.Format(time.RFC3339), "at_precision": "minute", "made": from.Format(time.RFC3339), "places": places, "body": body}
		if until != nil {
			d["until"] = until.Format(time.RFC3339)
		}
		return d
	}
	rule := func(asks string, within int, more map[string]any) map[string]any {
		body := map[string]any{"depth": "6.35", "hours": 24, "asks": asks, "within": within, "source": "soil handling plan"}
		for k, v := range more {
			body[k] = v
		}
		return entry("rain_rule.1", at.Add(-48*time.Hour), nil, nil, body)
	}
	for _, tt := range []struct {
		name string
		rain func(s *site, p *browser)
		from string // what told of it
	}{
		{"one entry", func(s *site, p *browser) {
			until := at.Add(-time.Hour)
			p.send("PUT", "/api/entries/"+newID(10), entry("rain.1", at.Add(-13*time.Hour), &until, nil, map[string]any{"depth": "7.4"})).want(http.StatusCreated)
		}, "7.4 mm in 24 h by the rain gauge at 30 Apr 2026 09:00 BST"},
		{"a gauge that sends", func(s *site, p *browser) {
			m := rowsOf("RAIN-1", map[string]any{"interval": "600", "stamp": "end",
				"values": []any{map[string]any{"column": "mm", "channel": "RAIN-1", "quantity": "weather.rain", "unit": "mm", "place": "YARD"}}})
			made := s.setUp("rain-gauge", m)
			rows := "time,mm\n"
			for i := range 6 {
				rows += fmt.Sprintf("%s,1.2\n", at.Add(-time.Hour).Add(time.Duration(i-5)*10*time.Minute).Format(time.RFC3339))
			}
			s.push(made.Token, "text/csv", rows).pushed(6, 0)
			s.clock.pass(6 * time.Second)
		}, "7.2 mm in 24 h by RAIN-1 at 30 Apr 2026 09:00 BST"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := serve(t)
			s.clock.pass(at.Sub(judgeAt))
			p := s.as(app.Officer)
			for i, r := range []map[string]any{
				rule("inspection", 24, map[string]any{"checklist": "drainage"}),
				rule("soil test", 48, map[string]any{"stops": "strip"}),
				rule("water sample", 12, nil),
			} {
				p.send("PUT", "/api/entries/"+newID(i+1), r).want(http.StatusCreated)
			}
			asked := func() map[string]Duty {
				t.Helper()
				var list DutyList
				p.send("GET", "/api/duties", nil).want(200).into(&list)
				out := map[string]Duty{}
				for _, d := range list.Duties {
					if strings.Contains(d.Why, "the rule is 6.35 mm") && d.State != "done" {
						out[d.What] = d
					}
				}
				return out
			}
			may := func() (got MayI) {
				t.Helper()
				p.send("GET", "/api/may?act=strip&from=2026-04-30T09:30:00Z&to=2026-04-30T10:00:00Z", nil).want(200).into(&got)
				return got
			}
			if n := len(asked()); n != 0 {
				t.Fatalf("%d duties before it rained", n)
			}
			before := may()
			tt.rain(s, p)
			list := asked()
			for what, hours := range map[string]int{
				"inspection after rain, checklist drainage":                24,
				"soil test before soil is moved again; strip waits for it": 48,
				"extra water sample after rain":                            12,
			} {
				d, there := list[what]
				if !there {
					t.Errorf("%q is not asked for, among %d", what, len(list))
					continue
				}
				if by := at.Add(-time.Hour).Add(time.Duration(hours) * time.Hour); d.By == nil || !d.By.Equal(by) || !strings.HasPrefix(d.Why, tt.from) {
					t.Errorf("%s: by %v, %s", what, d.By, d.Why)
				}
			}
			if got := may(); got.Outcome != "stands against it" || !strings.Contains(got.Words, "soil test before soil is moved again") {
				t.Errorf("stripping: %s: %s", got.Outcome, got.Words)
			}
			p.send("PUT", "/api/entries/"+newID(20), entry("paper.1", at, nil, nil, map[string]any{"scheme": "soil state test", "stage": "complied with"})).want(http.StatusCreated)
			if _, still := asked()["soil test before soil is moved again; strip waits for it"]; still {
				t.Error("the soil test is asked for after it was done")
			}
			if got := may(); got.Outcome != before.Outcome {
				t.Errorf("after the test: %s, before the rain: %s", got.Outcome, before.Outcome)
			}
		})
	}
}
