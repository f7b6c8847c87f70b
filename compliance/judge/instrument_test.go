package judge_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/unit"
)

const hourNotice = `permit: {zone: Europe/London, reference: P/1, type: planning permission, granted: 2026-03-02}
conditions:
  - {id: "14", clause: "14", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %, from: 2026-03-02T10:00:00+00:00, to: 2026-03-02T11:00:00+00:00}`

// X6: a calibrator read off wrongly by half a decibel and put right afterwards.
// What was known on each day is judged again as it was then; drift itself is
// never added to the readings.
func TestX6CorrectedCheckKeepsEarlierVerdicts(t *testing.T) {
	c := &goldenCase{Zone: "Europe/London"}
	f := newFixture("Europe/London")
	f.notice(t, "notice", hourNotice)
	f.readings(t, c, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "NSR1", Unit: "dB", From: "2026-03-02 10:00", Step: "15m", Values: "54.6*4", Instrument: "M1"})
	check := func(at time.Time, shown string, d book.Draft) *book.Entry {
		d.Kind, d.At = "field_check.1", at
		return f.add(d, book.Object{"instrument": "M1", "when": "after", "expected": "94.0", "shown": shown, "unit": "dB", "outcome": "within tolerance"}, 0)
	}
	check(on(2026, 3, 2, 9), "94.0", book.Draft{})
	none := len(f.entries)
	wrong := check(on(2026, 3, 2, 17), "93.3", book.Draft{})
	told := len(f.entries)
	check(wrong.At, "93.8", book.Draft{Supersedes: wrong.ID, Reason: "read off wrongly"})
	right := len(f.entries)
	f.add(book.Draft{Kind: "field_check.1", At: wrong.At, Supersedes: f.entries[right-1].ID, Reason: "another instrument"}, nil, 0)
	for _, known := range []struct {
		name    string
		upto    int
		verdict judge.Verdict
		shown   string
	}{
		{"before the check", none, judge.Complied, ""},
		{"as first entered: 0.7 dB", told, judge.CannotBeJudged, "[54.6, 55.3]"},
		{"as corrected: 0.2 dB", right, judge.Complied, ""},
		{"withdrawn", len(f.entries), judge.Complied, ""},
	} {
		t.Run(known.name, func(t *testing.T) {
			rec, err := judge.NewRecord(f.entries[:known.upto], f)
			if err != nil {
				t.Fatal(err)
			}
			report, err := judge.All(rec, testQuantities(t), judge.Options{At: on(2026, 3, 3, 12)})
			if err != nil {
				t.Fatal(err)
			}
			j := find(report, "14", "NSR1")
			if j.Verdict != known.verdict || j.Shown != known.shown || j.Value != nil && *j.Value != 54.6 {
				t.Errorf("%s, %q: %s", j.Verdict, j.Shown, j.Sentence)
			}
		})
	}
	// A check that had not been made by the time of judging says nothing.
	rec, err := judge.NewRecord(f.entries[:told], f)
	if err != nil {
		t.Fatal(err)
	}
	report, err := judge.All(rec, testQuantities(t), judge.Options{At: on(2026, 3, 2, 16)})
	if err != nil {
		t.Fatal(err)
	}
	if j := find(report, "14", "NSR1"); j.Verdict != judge.Complied {
		t.Errorf("before the check: %s", j.Sentence)
	}
}

// What the record says of one instrument, in order.
func TestInstrumentIsToldInOrder(t *testing.T) {
	f := newFixture("Europe/London")
	f.add(book.Draft{Kind: "instrument.1", At: on(2026, 1, 1, 0)}, book.Object{"ref": "M1", "title": "Sound level logger", "serial": "20"}, 0)
	f.add(book.Draft{Kind: "deployment.1", At: on(2026, 1, 2, 9), Until: on(2026, 1, 9, 9), Places: []string{"A"}}, book.Object{"ref": "D1", "instrument": "M1"}, 0)
	f.add(book.Draft{Kind: "deployment.1", At: on(2026, 1, 9, 12), Places: []string{"B"}}, book.Object{"ref": "D2", "instrument": "M1"}, 0)
	f.add(book.Draft{Kind: "calibration.1", At: on(2025, 1, 10, 0)}, book.Object{"instrument": "M1", "certificate": "C1", "valid_until": "2026-01-10", "outcome": "within tolerance"}, 0)
	for _, one := range []struct {
		at                     time.Time
		expected, shown, words string
	}{
		{on(2026, 1, 2, 9), "94.0", "94.1", "within tolerance"}, {on(2026, 1, 9, 9), "94.0", "94.7", "adjusted"},
		{on(2026, 1, 12, 9), "94.0", "95.2", "within tolerance"}, {on(2026, 1, 14, 9), "94.0", "not a number", "within tolerance"},
	} {
		f.add(book.Draft{Kind: "field_check.1", At: one.at, Places: []string{"A"}}, book.Object{"instrument": "M1", "expected": one.expected, "shown": one.shown, "unit": "dB", "outcome": one.words}, 0)
	}
	f.add(book.Draft{Kind: "calibration.1", At: on(2026, 1, 20, 0)}, book.Object{"instrument": "M2", "certificate": "C2", "outcome": "out of tolerance"}, 0)
	rec := record(t, f)
	if got := judge.InstrumentRefs(rec); fmt.Sprint(got) != "[M1 M2]" {
		t.Errorf("%v", got)
	}
	x := judge.InstrumentOf(rec, "M1", on(2026, 2, 1, 0))
	if len(x.Entries) != 1 || len(x.Stands) != 2 || len(x.Certificates) != 1 || len(x.Checks) != 5 {
		t.Fatalf("%+v", x)
	}
	var drifts []string
	for _, c := range x.Checks {
		if c.Drift == nil {
			drifts = append(drifts, "-")
			continue
		}
		drifts = append(drifts, fmt.Sprintf("%.1f %v %v", *c.Drift, c.Flag, c.Bad))
	}
	if want := "[- 0.1 false false 0.6 true false 1.2 false true -]"; fmt.Sprint(drifts) != want {
		t.Errorf("%v, want %v", drifts, want)
	}
	var doubts []string
	for _, d := range x.Doubts {
		to := "on"
		if !d.To.IsZero() {
			to = d.To.Format("2 15")
		}
		doubts = append(doubts, fmt.Sprintf("%s to %s %v %v %.1f %.1f", d.From.Format("2 15"), to, d.LeftOut, d.Noted, d.Low, d.High))
	}
	want := []string{"2 09 to 9 09 false false -0.7 0.0", "9 09 to 12 09 true false 0.0 0.0", "11 00 to on false true 0.0 0.0", "12 09 to 14 09 true false 0.0 0.0"}
	if fmt.Sprint(doubts) != fmt.Sprint(want) {
		t.Errorf("%q, want %q", doubts, want)
	}
	// What had not happened yet is not told.
	if x = judge.InstrumentOf(rec, "M1", on(2026, 1, 5, 0)); len(x.Stands) != 1 || len(x.Checks) != 2 || len(x.Doubts) != 0 {
		t.Errorf("on 5 January: %+v", x)
	}
	if judge.InstrumentOf(rec, "M9", on(2026, 2, 1, 0)) != nil {
		t.Error("an instrument nobody named was told of")
	}
	if x = judge.InstrumentOf(rec, "M2", on(2026, 2, 1, 0)); len(x.Doubts) != 2 || !x.Doubts[1].To.IsZero() {
		t.Errorf("failed in the laboratory: %+v", x)
	}
}

// Whatever an instrument showed at its check, the verdict is that of the level as
// it was read, of every level it may have been, or none.
func TestDriftNeverMovesAReading(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		level := rapid.IntRange(530, 570).Draw(rt, "level, tenths of dB")
		off := rapid.IntRange(-15, 15).Draw(rt, "off at the check, tenths of dB")
		tenths := func(n int) string { return unit.Decimal{Coefficient: int64(n), Places: 1}.String() }
		f := newFixture("Europe/London")
		f.notice(t, "notice", hourNotice)
		f.readings(t, &goldenCase{Zone: "Europe/London"}, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "NSR1", Unit: "dB", From: "2026-03-02 10:00", Step: "15m", Values: tenths(level) + "*4", Instrument: "M1"})
		for _, c := range []struct {
			at    time.Time
			shown int
		}{{on(2026, 3, 2, 9), 940}, {on(2026, 3, 2, 17), 940 + off}} {
			f.add(book.Draft{Kind: "field_check.1", At: c.at}, book.Object{"instrument": "M1", "expected": "94.0", "shown": tenths(c.shown), "unit": "dB", "outcome": "within tolerance"}, 0)
		}
		low, high := level, level
		if off < -5 || off > 5 {
			low, high = min(level, level-off), max(level, level-off)
		}
		want := judge.CannotBeJudged
		switch {
		case off < -10 || off > 10:
		case high <= 550:
			want = judge.Complied
		case low > 550:
			want = judge.NotComplied
		}
		report, err := judge.All(record(t, f), testQuantities(t), judge.Options{At: on(2026, 3, 3, 12)})
		if err != nil {
			rt.Fatal(err)
		}
		j := find(report, "14", "NSR1")
		if j.Verdict != want {
			rt.Fatalf("%s dB, off by %s: %s, want %s: %s", tenths(level), tenths(off), j.Verdict, want, j.Sentence)
		}
		shown := "" // the level as it was read, or from where to where it may have been
		if low < high && (off >= -10 && off <= 10) {
			shown = fmt.Sprintf("[%g, %g]", float64(low)/10, float64(high)/10)
		}
		if j.Shown != shown || shown == "" && j.Value != nil && *j.Value != float64(level)/10 {
			rt.Fatalf("%s dB, off by %s: became %v %q, want %q", tenths(level), tenths(off), j.Value, j.Shown, shown)
		}
	})
}
