package api

import (
	"fmt"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// windy is a rule that takes nothing out: no hour of that dust was so much.
func windy(int) any { return ruleOf(map[string]any{"by": "AQ1-PM10", "above": "9000"}) }

func ruleOf(more map[string]any) map[string]any {
	rule := map[string]any{"channel": "NSR1-LAEQ", "by": "WX1-WIND", "above": "5", "reason": "wind", "from": "2025-03-24T00:00:00Z", "to": "2025-03-25T00:00:00Z"}
	for k, v := range more {
		rule[k] = v
	}
	return rule
}

// TestReadingsAreTakenOutByRule puts wind of half an hour beside a noise meter.
func TestReadingsAreTakenOutByRule(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	// Ten-minute wind of one day: 5.0 m/s, which is not above 5, but for 10:00 to 10:30 and 14:00 to 14:10.
	start := time.Date(2025, 3, 24, 0, 0, 0, 0, time.UTC)
	wind := "Date,Time,Wind\n"
	for i := range 144 {
		at, v := start.Add(time.Duration(i)*10*time.Minute), "5.0"
		if i >= 60 && i < 63 || i == 84 {
			v = "5.1"
		}
		wind += fmt.Sprintf("%s,%s\n", at.Format("2006-01-02,15:04:05"), v)
	}
	mapping := loggerMapping(map[string]any{"layout": "YYYY-MM-DD hh:mm:ss", "interval": "600",
		"values": []any{map[string]any{"column": "Wind", "channel": "WX1-WIND", "quantity": "weather.wind", "unit": "m/s", "place": "NSR1"}}})
	p.send("PUT", "/api/imports/"+newID(1), map[string]any{"file": p.sendFile(wind), "name": "wind.csv", "mapping": mapping}).want(201)

	var before, tried, made, after RejectTrial
	count := func(want string) {
		t.Helper()
		p.send("GET", "/api/readings?channel=NSR1-LAEQ&from=2025-03-24T00:00:00Z&to=2025-03-25T00:00:00Z", nil).want(200).has(want)
	}
	p.send("POST", "/api/rejections/try", ruleOf(map[string]any{"above": "6"})).want(200).into(&before)
	equal(t, "above 6 m/s", []int{len(before.Spans), before.Readings, before.All, len(before.Effects)}, []int{0, 0, 1440, 0})
	p.send("POST", "/api/rejections/try", ruleOf(nil)).want(200).into(&tried)
	equal(t, "spans, readings of all", []int{len(tried.Spans), tried.Readings, tried.All, tried.Added}, []int{2, 40, 1440, 0})
	if first := tried.Spans[0]; !first.From.Equal(start.Add(10*time.Hour)) || !first.To.Equal(start.Add(10*time.Hour+30*time.Minute)) {
		t.Errorf("first span %v", first)
	}
	if len(tried.Effects) == 0 {
		t.Error("no condition is judged otherwise")
	}
	count(`"valid":1440`) // tried, not done

	rule := "/api/rejections/" + newID(2)
	p.send("PUT", rule, ruleOf(nil)).want(200).into(&made)
	equal(t, "made", []int{made.Added, made.Readings}, []int{2, 40})
	count(`"valid":1400`)
	p.send("PUT", rule, ruleOf(nil)).want(200).into(&after)
	equal(t, "the same again", after.Added, 0)
	p.send("PUT", "/api/rejections/"+newID(3), ruleOf(nil)).problem(422, app.Invalid) // nothing is left to take out
	p.send("GET", "/api/entries?kind=rejection.1", nil).want(200).has("WX1-WIND above 5")

	// What it promised is what is judged now.
	for _, e := range tried.Effects {
		snap, err := s.house.App.Current(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, j := range snap.Report.Judgements {
			if j.Permit == e.After.Permit && j.Condition == e.After.Condition && j.Place == e.After.Place {
				equal(t, j.Condition, fmt.Sprint(j.Verdict, j.Counts, j.Sentence), fmt.Sprint(e.After.Verdict, e.After.Counts, e.After.Sentence))
			}
		}
	}

	// And it is taken back, visibly, once.
	var taken TakenBack
	p.send("PUT", rule+"/withdrawal", map[string]any{"reason": ""}).problem(422, app.Invalid)
	p.send("PUT", rule+"/withdrawal", map[string]any{"reason": "the wind meter was iced"}).want(200).into(&taken)
	equal(t, "taken back", taken.Entries, 2)
	count(`"valid":1440`)
	p.send("PUT", rule+"/withdrawal", map[string]any{"reason": "the wind meter was iced"}).want(200).into(&taken)
	equal(t, "taken back again", taken.Entries, 0)
}

func TestRuleThatCannotBeUsedSaysWhy(t *testing.T) {
	p := serve(t).as(app.Officer)
	for _, tt := range []struct {
		name, field string
		more        map[string]any
	}{
		{"no such channel", "channel", map[string]any{"channel": "NSR9", "by": "AQ1-PM10"}},
		{"no such other channel", "by", map[string]any{"by": "WX9"}},
		{"by itself", "by", map[string]any{"by": "NSR1-LAEQ"}},
		{"no value", "above", map[string]any{"by": "AQ1-PM10", "above": "much"}},
		{"no reason", "reason", map[string]any{"by": "AQ1-PM10", "reason": " "}},
		{"a reason of one's own", "reason", map[string]any{"channel": "AQ1-PM10", "by": "NSR1-LAEQ", "above": "1", "reason": "unwanted", "from": "2003-01-01T00:00:00Z", "to": "2026-01-01T00:00:00Z"}},
		{"ends before it begins", "to", map[string]any{"by": "AQ1-PM10", "to": "2025-03-23T00:00:00Z"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := p.send("POST", "/api/rejections/try", ruleOf(tt.more)).problem(422, app.Invalid)
			if len(got.Errors) != 1 || got.Errors[0].Field != tt.field {
				t.Errorf("faults %+v", got.Errors)
			}
		})
	}
}
