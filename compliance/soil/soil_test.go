package soil

import (
	"math"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// mounds is a record with a mound in the form of a square pyramid, 10 m by
// 10 m and 3 m high on level ground at 100 m. By the formulas for a pyramid
// its volume is a third of base times height, 100 m³, and its faces rise 3 in
// 5: 60 %, 30.9638° (atan 0.6).
func mounds(t *testing.T, row book.Object) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	r.Survey(t, "2026-03-01", book.Object{"ref": "SV1", "purpose": "pre-works", "accuracy_shown": "0.03"},
		[3]float64{-20, -20, 100}, [3]float64{30, -20, 100}, [3]float64{30, 30, 100}, [3]float64{-20, 30, 100})
	r.Survey(t, "2026-05-01", book.Object{"ref": "SV3", "purpose": "mound", "accuracy_shown": "0.04"},
		[3]float64{0, 0, 100}, [3]float64{10, 0, 100}, [3]float64{10, 10, 100}, [3]float64{0, 10, 100}, [3]float64{5, 5, 103})
	r.Area("M1", 0, 0, 10, 10)
	r.Add(t,
		recordtest.Row{Kind: "stockpile.1", At: "2026-04-09", Places: []string{"M1"}, Body: book.Object{"holds": "topsoil", "formed": "2026-04-09"}},
		recordtest.Row{Kind: "stockpile.1", At: "2026-05-02", Places: []string{"M1"}, Body: row})
	return r
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-6*math.Max(1, math.Abs(b)) }

func TestMoundFigures(t *testing.T) {
	bySurvey := book.Object{"holds": "topsoil", "survey": "SV3", "base": "survey", "base_survey": "SV1"}
	byToe := book.Object{"holds": "topsoil", "survey": "SV3", "base": "toe"}
	byLevel := book.Object{"holds": "topsoil", "survey": "SV3", "base": "level", "base_level": "100.0"}
	cases := []struct {
		name             string
		q                *quantity.Quantity
		row              book.Object
		value, low, high float64
	}{
		// Heights carry ± √(0.03² + 0.04²) = 0.05 m over a surveyed base, ± 0.04 m
		// over a level; volumes that times the footprint of 100 m².
		{"height over the ground before", moundHeightQuantity(), bySurvey, 3, 2.95, 3.05},
		{"height over the toe", moundHeightQuantity(), byToe, 3, 2.96, 3.04},
		{"height over a level", moundHeightQuantity(), byLevel, 3, 2.96, 3.04},
		{"volume over the ground before", moundVolumeQuantity(), bySurvey, 100, 95, 105},
		{"volume over a level", moundVolumeQuantity(), byLevel, 100, 96, 104},
		{"steepest face as an angle", moundSlopeQuantity(), byLevel, 30.963756532, 0, 0},
		{"steepest face as rise over run", moundGradientQuantity(), byLevel, 60, 0, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := c.q.Observe(mounds(t, c.row), quantity.Ask{Place: "M1"})
			if err != nil || len(got) != 1 {
				t.Fatalf("%v, %v: one observation belongs here, since the first row has no survey", got, err)
			}
			o := got[0]
			if !near(o.Value, c.value) || !near(o.Low, c.low) || !near(o.High, c.high) {
				t.Errorf("%v [%v, %v], want %v [%v, %v]", o.Value, o.Low, o.High, c.value, c.low, c.high)
			}
			if !o.From.Equal(recordtest.At(t, "2026-05-01")) || o.Place != "M1" || o.Name != "topsoil" || !strings.Contains(o.Note, "SV3") {
				t.Errorf("it stands at the time of its survey: %+v", o)
			}
		})
	}
}

func TestMoundsNarrowedAndRefused(t *testing.T) {
	row := book.Object{"holds": "topsoil", "survey": "SV3", "base": "toe"}
	cases := []struct {
		name    string
		row     book.Object
		ask     quantity.Ask
		n       int
		problem string
	}{
		{"another mound", row, quantity.Ask{Place: "M2"}, 0, ""},
		{"another soil", row, quantity.Ask{With: map[string]string{"holds": "subsoil"}}, 0, ""},
		{"every mound", row, quantity.Ask{}, 1, ""},
		{"surveyed later than asked for", row, quantity.Ask{To: recordtest.At(t, "2026-05-01")}, 0, ""},
		{"no such survey", book.Object{"holds": "topsoil", "survey": "SV9", "base": "toe"}, quantity.Ask{}, 0, "SV9"},
		{"no such base", book.Object{"holds": "topsoil", "survey": "SV3", "base": "survey", "base_survey": "SV8"}, quantity.Ask{}, 0, "SV8"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := moundHeightQuantity().Observe(mounds(t, c.row), c.ask)
			if len(got) != c.n || (err == nil) != (c.problem == "") {
				t.Fatalf("%v, %v", got, err)
			}
			if err != nil && !strings.Contains(err.Error(), c.problem) {
				t.Errorf("the error %q does not name %s", err, c.problem)
			}
		})
	}
	t.Run("accuracy not shown", func(t *testing.T) {
		r := mounds(t, row)
		r.Entries("survey.1")[1].Body = book.Object{"ref": "SV3", "purpose": "mound"}
		got, err := moundHeightQuantity().Observe(r, quantity.Ask{})
		if err != nil || len(got) != 1 || got[0].Low != 0 || got[0].High != 0 || !strings.Contains(got[0].Note, "accuracy") {
			t.Errorf("%+v, %v", got, err)
		}
	})
}

func strips(t *testing.T) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	r.Area("SA1", 0, 0, 100, 50)
	r.Area("SA2", 200, 0, 260, 100, 210, 10, 220, 20) // with a hole of 100 m²
	row := func(at, horizon string, body book.Object, places ...string) {
		body["horizon"] = horizon
		r.Add(t, recordtest.Row{Kind: "strip.1", At: at, Places: places, Body: body})
	}
	row("2026-04-06", "topsoil", book.Object{"depth_mean": "0.27", "depth_least": "0.20"}, "SA1")
	row("2026-04-07", "topsoil", book.Object{"depth_mean": "0.30"}, "SA1")
	row("2026-04-08", "subsoil", book.Object{}, "SA1")
	row("2026-04-09", "topsoil", book.Object{"depth_mean": "0.25", "depth_least": "0.21"}, "SA2", "SA1")
	return r
}

func TestStrippedArea(t *testing.T) {
	cases := []struct {
		name string
		ask  quantity.Ask
		want []float64
	}{
		{"each area once for each horizon", quantity.Ask{}, []float64{5000, 5000, 5900}},
		{"topsoil", quantity.Ask{With: map[string]string{"horizon": "topsoil"}}, []float64{5000, 5900}},
		{"one area", quantity.Ask{Place: "SA2"}, []float64{5900}},
		{"a second spell is not stripped again", quantity.Ask{From: recordtest.At(t, "2026-04-07"), To: recordtest.At(t, "2026-04-08")}, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := observeStripped(strips(t), c.ask)
			if err != nil || len(got) != len(c.want) {
				t.Fatalf("%v, %v", got, err)
			}
			for i, o := range got {
				if !near(o.Value, c.want[i]) {
					t.Errorf("area %d is %v, want %v", i, o.Value, c.want[i])
				}
			}
		})
	}
	t.Run("ground that two areas cover counts once", func(t *testing.T) {
		r := strips(t)
		r.Area("SA3", 90, 40, 130, 60) // 800 m², of which 100 m² in SA1
		r.Add(t, recordtest.Row{Kind: "strip.1", At: "2026-04-10", Places: []string{"SA3"}, Body: book.Object{"horizon": "topsoil"}})
		got, err := observeStripped(r, quantity.Ask{With: map[string]string{"horizon": "topsoil"}})
		if err != nil || len(got) != 3 || !near(got[2].Value, 700) || !strings.Contains(got[2].Note, "100.00 m² lie in SA1") {
			t.Errorf("%+v, %v", got, err)
		}
		alone, err := observeStripped(r, quantity.Ask{Place: "SA3"})
		if err != nil || len(alone) != 1 || !near(alone[0].Value, 800) {
			t.Errorf("%+v, %v", alone, err)
		}
	})
	t.Run("an area that is not on the plan", func(t *testing.T) {
		r := strips(t)
		r.Add(t, recordtest.Row{Kind: "strip.1", At: "2026-04-10", Places: []string{"SA9"}, Body: book.Object{"horizon": "topsoil"}})
		if _, err := observeStripped(r, quantity.Ask{}); err == nil || !strings.Contains(err.Error(), "SA9") {
			t.Errorf("got %v", err)
		}
	})
}

func TestStripDepth(t *testing.T) {
	cases := []struct {
		name string
		with map[string]string
		want []float64
	}{
		{"mean", map[string]string{"horizon": "topsoil"}, []float64{0.27, 0.30, 0.25}},
		{"least; one row has none", map[string]string{"figure": "least"}, []float64{0.20, 0.21}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := observeDepth(strips(t), quantity.Ask{With: c.with})
			if err != nil || len(got) != len(c.want) {
				t.Fatalf("%v, %v", got, err)
			}
			for i, o := range got {
				if o.Value != c.want[i] {
					t.Errorf("depth %d is %v, want %v", i, o.Value, c.want[i])
				}
			}
		})
	}
	if _, err := observeDepth(strips(t), quantity.Ask{With: map[string]string{"figure": "greatest"}}); err == nil {
		t.Error("an unknown figure is taken")
	}
}
