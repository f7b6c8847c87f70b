package meter

import (
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

func reading(at, value string, more ...any) recordtest.Row {
	body := book.Object{"reading": value}
	for i := 0; i+1 < len(more); i += 2 {
		body[more[i].(string)] = more[i+1]
	}
	return recordtest.Row{Kind: "m.1", At: at, Body: body}
}

func steps(t *testing.T, rows ...recordtest.Row) []Step {
	t.Helper()
	r := recordtest.New()
	r.Add(t, rows...)
	return Steps(r.Entries("m.1"))
}

func TestSteps(t *testing.T) {
	cases := []struct {
		name    string
		rows    []recordtest.Row
		counted string // of the one step; "" when in doubt
		says    string // of the doubt or note
	}{
		{"forward", []recordtest.Row{reading("2026-04-06", "1204.6"), reading("2026-04-07", "1212.1")}, "7.5", ""},
		{"no change", []recordtest.Row{reading("2026-04-06", "12.0"), reading("2026-04-07", "12.00")}, "0.00", ""},
		{"decimals that binary numbers cannot hold", []recordtest.Row{reading("2026-04-06", "0.1"), reading("2026-04-07", "0.3")}, "0.2", ""},
		{"a new meter from 0", []recordtest.Row{reading("2026-04-06", "9999.0", "replaced", true, "start", "0.0"), reading("2026-04-07", "4.5")}, "4.5", ""},
		{"a used meter", []recordtest.Row{reading("2026-04-06", "10", "replaced", true, "start", "5120.5"), reading("2026-04-07", "5121.0")}, "0.5", ""},
		{"up to the replacement", []recordtest.Row{reading("2026-04-06", "90"), reading("2026-04-07", "100", "replaced", true, "start", "0")}, "10", ""},
		{"begun again at 0", []recordtest.Row{reading("2026-04-06", "99995.5", "digits", int64(5)), reading("2026-04-07", "3.5", "digits", int64(5))}, "8.0", "began again"},
		{"begun again, figures on file at the first reading only", []recordtest.Row{reading("2026-04-06", "995", "digits", int64(3)), reading("2026-04-07", "5")}, "10", "began again"},
		{"backwards", []recordtest.Row{reading("2026-04-06", "120.0"), reading("2026-04-07", "119.9")}, "", "backwards"},
		{"backwards, and begun again would be more than half the range", []recordtest.Row{reading("2026-04-06", "120", "digits", int64(5)), reading("2026-04-07", "119")}, "", "more than half"},
		{"exactly half the range", []recordtest.Row{reading("2026-04-06", "50", "digits", int64(2)), reading("2026-04-07", "0")}, "", "more than half"},
		{"a new meter that shows less than it began with", []recordtest.Row{reading("2026-04-06", "10", "replaced", true, "start", "100"), reading("2026-04-07", "99")}, "", "backwards"},
		{"two readings at one time", []recordtest.Row{reading("2026-04-06", "1"), reading("2026-04-06", "2")}, "", "one time"},
		{"no number", []recordtest.Row{reading("2026-04-06", "1"), reading("2026-04-07", "")}, "", "no number"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := steps(t, c.rows...)
			if len(got) != 1 {
				t.Fatalf("%d steps", len(got))
			}
			s := got[0]
			if (s.Doubt == "") != (c.counted != "") || (s.Doubt == "" && s.Counted.String() != c.counted) {
				t.Errorf("counted %s, doubt %q", s.Counted, s.Doubt)
			}
			if !strings.Contains(s.Doubt+s.Note, c.says) {
				t.Errorf("says %q", s.Doubt+s.Note)
			}
		})
	}
	if got := steps(t, reading("2026-04-06", "1")); got != nil {
		t.Errorf("one reading makes no step, got %v", got)
	}
}

// TestStepsAddUp: steps without doubt add up to last less first, whatever lies
// between.
func TestStepsAddUp(t *testing.T) {
	var total int64
	for _, s := range steps(t, reading("2026-04-01", "100.5"), reading("2026-04-02", "100.5"), reading("2026-04-05", "171.2"), reading("2026-04-09", "180.0")) {
		d, err := s.Counted.Rescale(1)
		if err != nil || s.Doubt != "" {
			t.Fatal(err, s.Doubt)
		}
		total += d.Coefficient
	}
	if total != 795 {
		t.Errorf("%d tenths, want 795", total)
	}
}

func TestObservations(t *testing.T) {
	r := recordtest.New()
	r.Add(t, reading("2026-04-01", "10"), reading("2026-04-03", "34.5"), reading("2026-04-05", "30"), reading("2026-04-07 12:00", "40"))
	ask := quantity.Ask{From: recordtest.At(t, "2026-04-03"), To: recordtest.At(t, "2026-04-06"), Place: "G"}
	got := Observations(r.Entries("m.1"), ask, "GEN-1", "h")
	if len(got) != 2 {
		t.Fatalf("%d observations, want the two that touch the time asked for: %v", len(got), got)
	}
	if o := got[0]; o.Mark != series.Doubtful || o.Value != 0 || !strings.Contains(o.Note, "backwards") || o.Entry.Seq != 3 {
		t.Errorf("the backward step is %+v", o)
	}
	if o := got[1]; o.Mark != series.Valid || o.Value != 10 || o.Text != "10" || o.Precision != book.ToDay || o.Place != "G" || o.Name != "GEN-1" {
		t.Errorf("the last step is %+v", o)
	}
	if o := got[1]; !o.From.Equal(recordtest.At(t, "2026-04-05")) || !o.To.Equal(recordtest.At(t, "2026-04-07 12:00")) {
		t.Errorf("the last step spans %s to %s", o.From, o.To)
	}
}

func TestCheck(t *testing.T) {
	cases := []struct {
		name  string
		body  book.Object
		field string
	}{
		{"plain", book.Object{"reading": "12.5"}, ""},
		{"replaced", book.Object{"reading": "12.5", "replaced": true, "start": "0"}, ""},
		{"as many figures as the meter has", book.Object{"reading": "99999.9", "digits": int64(5)}, ""},
		{"replaced by what", book.Object{"reading": "12.5", "replaced": true}, "start"},
		{"a beginning without a replacement", book.Object{"reading": "12.5", "start": "0"}, "replaced"},
		{"more figures than the meter has", book.Object{"reading": "100000", "digits": int64(5)}, "reading"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			faults := Check(c.body)
			if (len(faults) == 0) != (c.field == "") || (len(faults) > 0 && faults[0].Field != c.field) {
				t.Errorf("got %v", faults)
			}
		})
	}
}
