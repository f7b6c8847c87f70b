package judge_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

const mayNotice = `permit: {zone: Europe/London, reference: P/1, type: planning permission, granted: 2026-03-02}
clauses:
  - {number: "1", text: a, treated: judged}
  - {number: "2", text: b, treated: judged}
  - {number: "3", text: c, treated: judged}
  - {number: "4", text: d, treated: judged}
  - {number: "8", text: e, treated: attested, role: ecologist}
  - {number: "9", text: f}
conditions:
  - {id: hours, clause: "1", kind: interval, title: working hours, subject: site.act, schedule: [{days: mon-fri, from: "08:00", to: "18:00", holidays: ignored}]}
  - {id: lamps, clause: "1", kind: interval, title: lamps on working days, subject: site.act, with: {act: light}, schedule: [{days: mon-fri, from: "08:00", to: "18:00"}]}
  - {id: scheme, clause: "2", kind: ordered, title: scheme before strip, first: {subject: site.paper, with: {scheme: soil, stage: approved}}, then: {subject: site.act, with: {act: strip}}}
  - {id: lorries, clause: "3", kind: counted, title: lorry movements, subject: haulage.movements, place: GATE, window: local day, limit: <= 10, missing: counting goes on}
  - {id: month, clause: "3", kind: counted, title: movements in a month, subject: haulage.movements, place: GATE, window: calendar month, limit: <= 200, missing: counting goes on}
  - {id: noise, clause: "4", kind: measured, title: noise, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= 55 dB}
`

func askBook(t *testing.T) *fixture {
	t.Helper()
	f := newFixture("Europe/London")
	f.notice(t, "notice", mayNotice)
	add := func(kind string, at, until time.Time, body book.Object, places ...string) {
		f.add(book.Draft{Kind: kind, At: at, Until: until, Precision: book.ToMinute, Places: places}, body, 0)
	}
	for i := range 8 { // eight movements on 10 March, 48 before
		add("observed.1", on(2026, 3, 10, 9).Add(time.Duration(i)*time.Minute), time.Time{}, book.Object{"quantity": "haulage.movements", "value": "1"}, "GATE")
	}
	for d := range 6 {
		for i := range 8 {
			add("observed.1", on(2026, 3, 3+d, 9).Add(time.Duration(i)*time.Minute), time.Time{}, book.Object{"quantity": "haulage.movements", "value": "1"}, "GATE")
		}
	}
	add("hold.1", on(2026, 3, 9, 8), on(2026, 3, 12, 8), book.Object{"act": "clear", "reason": "nest in the hedge", "released_by": "ecologist"}, "H1")
	add("hold.1", on(2026, 3, 10, 15), time.Time{}, book.Object{"act": "all works", "reason": "crane on the boundary", "released_by": "site manager"}, "EAST")
	add("hold.1", on(2026, 3, 9, 8), time.Time{}, book.Object{"act": "haul", "reason": "mended", "released_by": "site manager", "released": true})
	add("consent.1", on(2026, 3, 10, 18), on(2026, 3, 10, 21), book.Object{"condition": "hours", "act": "pour", "reference": "EH/7", "reason": "x", "decided_by": "y"})
	return f
}

func TestMayI(t *testing.T) {
	rec := record(t, askBook(t))
	now := on(2026, 3, 10, 12)
	for _, tt := range []struct {
		name     string
		q        judge.Question
		against  []string
		until    time.Time
		left     []float64
		says     string
		unasked  []string
		refusals bool
	}{
		{name: "inside the hours", q: judge.Question{Act: "refuel", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}, says: "Nothing on file stands against it. This gives no permission",
			unasked: []string{"P/1 clause 4: judged on what is measured", "P/1 clause 8: attested by the ecologist", "P/1 clause 9: not yet entered", "weather and ground"}},
		{name: "past the hours' end", q: judge.Question{Act: "refuel", From: on(2026, 3, 10, 17), To: on(2026, 3, 10, 19)}, until: on(2026, 3, 10, 18), says: "until"},
		{name: "outside the hours", q: judge.Question{Act: "refuel", From: on(2026, 3, 10, 19), To: on(2026, 3, 10, 20)}, against: []string{"clause 1 of P/1, working hours: outside its hours, which begin again"}},
		{name: "under a consent, to its end", q: judge.Question{Act: "pour", From: on(2026, 3, 10, 19), To: on(2026, 3, 10, 22)}, until: on(2026, 3, 10, 21), says: "consent EH/7 ends"},
		{name: "another act under no consent", q: judge.Question{Act: "drilling", From: on(2026, 3, 10, 19), To: on(2026, 3, 10, 20)}, against: []string{"clause 1"}},
		{name: "scheme not approved", q: judge.Question{Act: "strip", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}, against: []string{"clause 2 of P/1, scheme before strip"}},
		{name: "a hold", q: judge.Question{Act: "clear", Place: "H1", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}, against: []string{"nest in the hedge; ecologist may lift it"}},
		{name: "a hold elsewhere", q: judge.Question{Act: "clear", Place: "H2", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}},
		{name: "a hold that begins", q: judge.Question{Act: "pour", Place: "EAST", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 17)}, until: on(2026, 3, 10, 15), says: "crane on the boundary"},
		{name: "two movements left", q: judge.Question{Act: "haul", Amount: "2", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}, left: []float64{2, 144}},
		{name: "three are too many", q: judge.Question{Act: "haul", Amount: "3", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}, left: []float64{2, 144}, against: []string{"8 of 10 used in"}},
		{name: "holidays not on file", q: judge.Question{Act: "light", From: on(2026, 3, 11, 13), To: on(2026, 3, 11, 14)}, says: "No answer: clause 1 of P/1, lamps on working days"},
		{name: "holidays not on file, and outside other hours", q: judge.Question{Act: "light", From: on(2026, 3, 11, 19), To: on(2026, 3, 11, 20)}, against: []string{"working hours: outside its hours"}},
		{name: "tomorrow all ten", q: judge.Question{Act: "haul", Amount: "10", From: on(2026, 3, 11, 13), To: on(2026, 3, 11, 14)}, left: []float64{10, 144}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a, err := judge.MayI(rec, testQuantities(t), tt.q, now)
			if err != nil {
				t.Fatal(err)
			}
			if len(a.Against) != len(tt.against) {
				t.Fatalf("%s", a.Words)
			}
			for i, want := range tt.against {
				if !strings.Contains(a.Against[i].Words, want) {
					t.Errorf("against it: %q, want %q", a.Against[i].Words, want)
				}
			}
			if tt.until.IsZero() != (a.Until == nil) || a.Until != nil && !a.Until.Equal(tt.until) {
				t.Errorf("until %v, want %v: %s", a.Until, tt.until, a.Words)
			}
			for i, want := range tt.left {
				if i >= len(a.Left) || a.Left[i].Left != want {
					t.Fatalf("left: %+v, want %v", a.Left, tt.left)
				}
			}
			if !strings.Contains(a.Words, tt.says) || !strings.Contains(a.Words, "no permission") {
				t.Errorf("%q does not say %q", a.Words, tt.says)
			}
			var lines []string
			for i := range a.NotChecked {
				lines = append(lines, a.NotChecked[i].String())
			}
			all := strings.Join(lines, "\n")
			for _, want := range tt.unasked {
				if !strings.Contains(all, want) {
					t.Errorf("not checked lacks %q:\n%s", want, all)
				}
			}
		})
	}
	haul, _ := judge.MayI(rec, testQuantities(t), judge.Question{Act: "haul", From: on(2026, 3, 10, 13), To: on(2026, 3, 10, 14)}, now)
	// 56 movements in the last 28 days are 2 a day: 144 left last 72 days.
	if f := haul.Left[1].Forecast; !strings.Contains(f, "2 a day") || !strings.Contains(f, "not reached in the window") {
		t.Errorf("forecast %q", f)
	}
	for name, q := range map[string]judge.Question{
		"unknown act": {Act: "dance", From: now, To: now.Add(time.Hour)}, "no time": {Act: "haul", From: now, To: now}, "the past": {Act: "haul", From: now.Add(-5 * time.Hour), To: now},
		"no number": {Act: "haul", Amount: "some", From: now, To: now.Add(time.Hour)},
	} {
		if a, err := judge.MayI(rec, testQuantities(t), q, now); err == nil {
			t.Errorf("%s: %s", name, a.Words)
		}
	}
}

// TestMeanUnderWay: a day of 12 h from 07:00, limit 55 dB, of which 260 min at
// 53.0 dB are measured: the other 460 min may average 55.823 dB, computed apart
// in Python from the energy mean of ISO 1996-1.
func TestMeanUnderWay(t *testing.T) {
	const notice = `permit: {zone: UTC, reference: P/1, type: planning permission, granted: 2026-03-02}
clauses: [{number: "4", text: d, treated: judged}]
conditions:
  - {id: noise, clause: "4", kind: measured, title: noise by day, subject: noise.laeq, place: NSR1, window: "shift 07:00-19:00", statistic: energy mean, limit: <= 55 dB}
`
	for _, tt := range []struct {
		name, values      string
		at, ask           time.Time
		soFar, mayBe      float64 // 0: nothing is said; below 0: over the limit whatever comes
		measured, restFor string
	}{
		{"T32 NV-69 on the way", "53.0*260", on(2026, 3, 10, 11).Add(20 * time.Minute), on(2026, 3, 10, 13), 53, 55.823, "4.33 h", "7.67 h"},
		{"a gap belongs to the rest", "53.0*60 -*140 53.0*60", on(2026, 3, 10, 11).Add(20 * time.Minute), on(2026, 3, 10, 13), 53, 55.3093, "2 h", "10 h"},
		{"over the limit whatever comes", "70*260", on(2026, 3, 10, 11).Add(20 * time.Minute), on(2026, 3, 10, 13), 70, -1, "4.33 h", "7.67 h"},
		{"an act after the window", "53.0*260", on(2026, 3, 10, 11).Add(20 * time.Minute), on(2026, 3, 10, 20), 0, 0, "", ""},
		{"nothing measured yet", "-*10", on(2026, 3, 10, 11), on(2026, 3, 10, 13), 0, 0, "", ""},
		{"a less-than among them", "53.0*100 <25", on(2026, 3, 10, 11), on(2026, 3, 10, 13), 0, 0, "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := newFixture("UTC")
			f.notice(t, "notice", notice)
			f.readings(t, &goldenCase{}, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "NSR1", Unit: "dB", From: "2026-03-10T07:00:00Z", Step: "1m", Values: tt.values})
			a, err := judge.MayI(record(t, f), testQuantities(t), judge.Question{Act: "drilling", From: tt.ask, To: tt.ask.Add(time.Hour)}, tt.at)
			if err != nil {
				t.Fatal(err)
			}
			if len(a.NotChecked) == 0 || a.NotChecked[0].Clauses[0] != "4" {
				t.Errorf("it is not said that the clause is judged later: %+v", a.NotChecked)
			}
			if tt.soFar == 0 {
				if len(a.Running) != 0 {
					t.Errorf("said %+v", a.Running)
				}
				return
			}
			if len(a.Running) != 1 {
				t.Fatalf("said %+v", a.Running)
			}
			r := a.Running[0]
			if math.Abs(r.SoFar-tt.soFar) > 0.0005 || r.Measured != tt.measured || r.Rest != tt.restFor || !r.From.Equal(on(2026, 3, 10, 7)) || !r.To.Equal(on(2026, 3, 10, 19)) {
				t.Errorf("%+v", r)
			}
			if strings.Contains(a.Words, "Clause 4 of P/1, noise by day, is exceeded in the window under way") != (tt.mayBe < 0) {
				t.Errorf("%q", a.Words)
			}
			if tt.mayBe < 0 != (r.MayBe == nil) || r.MayBe != nil && math.Abs(*r.MayBe-tt.mayBe) > 0.0005 {
				t.Errorf("the rest may be %+v, want %v", r.MayBe, tt.mayBe)
			}
		})
	}
}
