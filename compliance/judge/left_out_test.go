package judge_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// TestChanceOfDaysInCommon against Fisher's tea-tasting example (The Design of
// Experiments, 1935): of eight cups four are named, three or more rightly in 17
// of 70 ways, all four in one.
func TestChanceOfDaysInCommon(t *testing.T) {
	for _, tt := range []struct {
		n, a, b, k int
		want       float64
	}{
		{8, 4, 4, 4, 1.0 / 70}, {8, 4, 4, 3, 17.0 / 70}, {8, 4, 4, 0, 1}, {8, 0, 4, 0, 1}, {8, 8, 4, 4, 1},
		{10, 9, 2, 2, 0.8}, // nine of ten days worked: the two left out are among them in 36 of 45 ways
	} {
		if got := judge.InCommon(tt.n, tt.a, tt.b, tt.k); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%d of %d and %d of %d with %d in common: %v, want %v", tt.a, tt.n, tt.b, tt.n, tt.k, got, tt.want)
		}
	}
}

// TestWithAndWithoutWhatWasLeftOut: hours at 50 dB, one each day at 60 dB, and
// those on days with work rejected as wind.
func TestWithAndWithoutWhatWasLeftOut(t *testing.T) {
	c := &goldenCase{Zone: "Europe/London"}
	build := func(rejectOn func(day int) bool) *fixture {
		f := newFixture("Europe/London")
		f.notice(t, "notice", `permit: {zone: Europe/London, reference: P/1, type: planning permission, granted: 2026-03-02}
conditions:
  - {id: n, clause: "1", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %, to: 2026-03-30}
`)
		var values []string
		for range 28 {
			for h := range 24 {
				if h == 10 {
					values = append(values, "60")
				} else {
					values = append(values, "50")
				}
			}
		}
		f.readings(t, c, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "NSR1", Unit: "dB", From: "2026-03-02 00:00", Step: "1h", Values: strings.Join(values, " ")})
		for d := range 28 {
			at := on(2026, 3, 2+d, 10)
			if d%2 == 0 {
				f.add(book.Draft{Kind: "observed.1", At: at, Until: at.Add(time.Hour), Precision: book.ToMinute}, book.Object{"quantity": "site.act", "name": "noisy work"}, 0)
			}
			if rejectOn(d) {
				f.add(book.Draft{Kind: "rejection.1", At: at, Until: at.Add(time.Hour), Precision: book.ToMinute}, book.Object{"channel": "N1", "reason": "wind", "note": fmt.Sprint("day ", d)}, 0)
			}
		}
		return f
	}
	for _, tt := range []struct {
		name    string
		on      func(day int) bool
		entries int
		chance  func(p float64) bool
		says    string
	}{
		{"on the days with work", func(d int) bool { return d%2 == 0 }, 14, func(p float64) bool { return p < 1e-6 }, "falls on days with work"},
		{"as often on the others", func(d int) bool { return d%4 < 2 }, 14, func(p float64) bool { return p > 0.5 }, "no more than chance explains"},
		{"never", func(int) bool { return false }, 0, func(p float64) bool { return p == 0 }, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			rec := record(t, build(tt.on))
			out, err := judge.LeaveNothingOut(rec, testQuantities(t), judge.Options{At: on(2026, 4, 1, 0), Permit: "P/1", Condition: "n"}, "NSR1")
			if err != nil || out == nil {
				t.Fatal(out, err)
			}
			if len(out.Entries) != tt.entries || !tt.chance(out.Busy.Chance) || !strings.Contains(out.Busy.Sentence, tt.says) {
				t.Errorf("%d entries, chance %v: %s", len(out.Entries), out.Busy.Chance, out.Busy.Sentence)
			}
			if n := out.Without.Counts.NotComplied; n != 28 || out.With.Counts.NotComplied != 28-tt.entries || out.Differs() != (tt.entries > 0) {
				t.Errorf("without: %+v; with: %+v", out.Without.Counts, out.With.Counts)
			}
		})
	}
	if out, err := judge.LeaveNothingOut(record(t, build(func(int) bool { return false })), testQuantities(t), judge.Options{At: on(2026, 4, 1, 0), Permit: "P/1", Condition: "none"}, "NSR1"); out != nil || err != nil {
		t.Error(out, err)
	}
}
