package restoration

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/ground"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// restored is a record in which ground 10 m by 10 m was to lie at 100 m and was
// put back as a plane from 100.0 m in the west to 100.2 m in the east. So the
// difference is 0.02 m for each metre east, and all figures follow by hand:
// within ±0.15 m lie 75 %, mean 0.1 m, greatest 0.2 m, fill 10 m³.
func restored(t *testing.T, shown string) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	before := book.Object{"ref": "SV1", "purpose": "pre-works"}
	after := book.Object{"ref": "SV9", "purpose": "restored"}
	if shown != "" {
		before["accuracy_shown"], after["accuracy_shown"] = shown, shown
	}
	r.Survey(t, "2026-03-01", before, [3]float64{-20, -20, 100}, [3]float64{30, -20, 100}, [3]float64{30, 30, 100}, [3]float64{-20, 30, 100})
	r.Survey(t, "2027-04-01", after, [3]float64{0, 0, 100}, [3]float64{10, 0, 100.2}, [3]float64{10, 10, 100.2}, [3]float64{0, 10, 100})
	r.Survey(t, "2027-05-01", book.Object{"ref": "SV10", "purpose": "restored"}, [3]float64{500, 0, 100}, [3]float64{510, 0, 100}, [3]float64{510, 10, 100})
	r.Area("RA1", 0, 0, 10, 10)
	r.Area("RA2", -10, 0, 10, 10) // half of it surveyed
	r.Area("RA3", 900, 900, 910, 910)
	return r
}

func near(a, b float64) bool { return a == b || math.Abs(a-b) <= 1e-6 }

func TestFigures(t *testing.T) {
	inf := math.Inf(1)
	cases := []struct {
		name, code, place, accuracy string
		value, low, high            float64
		mark                        series.Mark
	}{
		{"share", "restoration.level_difference", "RA1", "", 75, 0, 0, series.Valid},
		{"share of all that both surveys cover", "restoration.level_difference", "", "", 75, 0, 0, series.Valid},
		// ±0.02 m: within ±0.13 m for certain 65 %, within ±0.17 m perhaps 85 %.
		{"share by accuracy", "restoration.level_difference", "RA1", "0.02 m", 75, 65, 85, series.Valid},
		// Half the area is not surveyed: it may all be outside, or all inside.
		{"share, half not surveyed", "restoration.level_difference", "RA2", "", 75, 37.5, 87.5, series.Valid},
		{"share, half not surveyed, by accuracy", "restoration.level_difference", "RA2", "20 mm", 75, 32.5, 92.5, series.Valid},
		{"above", "restoration.level_above", "RA1", "0.02 m", 0.2, 0.18, 0.22, series.Valid},
		{"above, half not surveyed: anything may stand there", "restoration.level_above", "RA2", "0.02 m", 0.2, 0.18, inf, series.Valid},
		{"below: nothing is", "restoration.level_below", "RA1", "", 0, 0, 0, series.Valid},
		{"below, by accuracy", "restoration.level_below", "RA1", "0.02 m", 0, 0, 0.02, series.Valid},
		{"mean", "restoration.level_mean", "RA1", "0.02 m", 0.1, 0.08, 0.12, series.Valid},
		{"mean, half not surveyed", "restoration.level_mean", "RA2", "0.02 m", 0, 0, 0, series.Blank},
		{"volume: 0.02 m over 100 m² is 2 m³", "restoration.volume_difference", "RA1", "0.02 m", 10, 8, 12, series.Valid},
		{"volume, half not surveyed", "restoration.volume_difference", "RA2", "", 0, 0, 0, series.Blank},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			with := map[string]string{"before": "pre-works", "after": "restored", "within": "0.15 m"}
			if c.accuracy != "" {
				with["accuracy"] = c.accuracy
			}
			got, err := named(t, c.code).Observe(restored(t, ""), quantity.Ask{Place: c.place, With: with})
			if err != nil || len(got) != 1 {
				t.Fatalf("%v, %v: the survey of other ground is passed over", got, err)
			}
			o := got[0]
			if !near(o.Value, c.value) || !near(o.Low, c.low) || !near(o.High, c.high) || o.Mark != c.mark {
				t.Errorf("%v [%v, %v] %v, want %v [%v, %v] %v", o.Value, o.Low, o.High, o.Mark, c.value, c.low, c.high, c.mark)
			}
			if o.Name != "SV9" || !o.From.Equal(recordtest.At(t, "2027-04-01")) {
				t.Errorf("it stands at the time of the survey after: %+v", o)
			}
		})
	}
}

func named(t *testing.T, code string) *quantity.Quantity {
	t.Helper()
	for _, q := range Quantities() {
		if q.Code == code {
			return q
		}
	}
	t.Fatalf("no quantity %s", code)
	return nil
}

// TestAccuracyAsShown: two surveys that show ±0.03 m and ±0.04 m make a
// difference worth ±0.05 m (3, 4, 5).
func TestAccuracyAsShown(t *testing.T) {
	r := restored(t, "0.03")
	r.Entries("survey.1")[1].Body["accuracy_shown"] = "0.04"
	m, known := ground.Accuracy(r.Entries("survey.1")[:2]...)
	if !near(m, 0.05) || !known {
		t.Errorf("±%v m, known %v", m, known)
	}
	got, err := named(t, "restoration.level_above").Observe(r, quantity.Ask{Place: "RA1", With: map[string]string{"before": "SV1", "after": "SV9"}})
	if err != nil || len(got) != 1 || !near(got[0].Low, 0.15) || !near(got[0].High, 0.25) {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestAsked(t *testing.T) {
	good := map[string]string{"before": "pre-works", "after": "restored", "within": "0.15 m"}
	cases := []struct {
		name  string
		code  string
		place string
		with  map[string]string
		says  string // of the error; "" when there is none
		n     int
	}{
		{"by purpose", "restoration.level_difference", "RA1", nil, "", 1},
		{"by reference", "restoration.level_difference", "RA1", map[string]string{"before": "SV1", "after": "SV9"}, "", 1},
		{"no survey after yet", "restoration.level_difference", "RA1", map[string]string{"after": "aftercare"}, "", 0},
		{"surveys of other ground alone", "restoration.level_difference", "RA3", nil, "", 0},
		{"no survey before", "restoration.level_difference", "RA1", map[string]string{"before": "approved levels"}, "no such survey", 0},
		{"no tolerance", "restoration.level_difference", "RA1", map[string]string{"within": ""}, "tolerance", 0},
		{"a tolerance of 0", "restoration.level_difference", "RA1", map[string]string{"within": "0 m"}, "tolerance", 0},
		{"a tolerance in another unit", "restoration.level_difference", "RA1", map[string]string{"within": "150 mg/L"}, "within", 0},
		{"a tolerance that is no number", "restoration.level_difference", "RA1", map[string]string{"within": "about 0.15 m"}, "within", 0},
		{"an accuracy that is no number", "restoration.level_difference", "RA1", map[string]string{"accuracy": "good"}, "accuracy", 0},
		{"neither before nor after", "restoration.level_above", "RA1", map[string]string{"before": "", "after": ""}, "before and after", 0},
		{"no such area", "restoration.level_difference", "RA9", nil, "RA9", 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			with := map[string]string{}
			for k, v := range good {
				with[k] = v
			}
			for k, v := range c.with {
				with[k] = v
			}
			got, err := named(t, c.code).Observe(restored(t, ""), quantity.Ask{Place: c.place, With: with})
			if (err == nil) != (c.says == "") || len(got) != c.n {
				t.Fatalf("%v, %v", got, err)
			}
			if err != nil && !strings.Contains(err.Error(), c.says) {
				t.Errorf("the error %q does not say %q", err, c.says)
			}
		})
	}
	_, err := named(t, "restoration.level_above").Observe(restored(t, ""), quantity.Ask{With: map[string]string{"before": "nothing", "after": "SV9"}})
	if !errors.Is(err, ground.ErrNoSurvey) {
		t.Errorf("got %v", err)
	}
}
