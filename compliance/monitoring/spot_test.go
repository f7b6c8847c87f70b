package monitoring

import (
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

func TestMeasurementsByHand(t *testing.T) {
	r := recordtest.New()
	add := func(at, place string, body book.Object) {
		r.Add(t, recordtest.Row{Kind: "spot.1", At: at, Places: []string{place}, Body: body})
	}
	add("2026-04-06 10:00", "F1", book.Object{"what": "soil depth", "result": "0.31", "layer": "topsoil", "position": "pit 1"})
	add("2026-04-06 10:10", "F1", book.Object{"what": "soil depth", "result": "270", "unit": "mm", "layer": "topsoil", "position": "pit 2"})
	add("2026-04-06 10:10", "F1", book.Object{"what": "soil depth", "result": "0.8", "layer": "subsoil", "position": "pit 2"})
	add("2026-04-06 10:20", "F1", book.Object{"what": "rooting depth", "result": ">1.2"})
	add("2026-04-06 10:20", "F2", book.Object{"what": "soil depth", "result": "0.1", "layer": "topsoil"})
	for _, c := range []struct {
		code string
		with map[string]string
		want []float64
		mark series.Mark
	}{
		{"soil.depth", map[string]string{"layer": "topsoil"}, []float64{0.31, 0.27}, series.Valid},
		{"soil.depth", map[string]string{"layer": "topsoil", "position": "pit 2"}, []float64{0.27}, series.Valid},
		{"soil.depth", nil, []float64{0.31, 0.27, 0.8}, series.Valid},
		{"soil.rooting_depth", nil, []float64{1.2}, series.Above},
		{"soil.stones", nil, nil, series.Valid},
	} {
		for _, q := range Quantities() {
			if q.Code != c.code {
				continue
			}
			got, err := q.Observe(r, quantity.Ask{Place: "F1", With: c.with})
			if err != nil || len(got) != len(c.want) {
				t.Fatalf("%s %v: %d results, %v", c.code, c.with, len(got), err)
			}
			for i, o := range got {
				if o.Value != c.want[i] || o.Mark != c.mark || o.Name == "" {
					t.Errorf("%s %v: %v %v, want %v", c.code, c.with, o.Value, o.Mark, c.want[i])
				}
			}
		}
	}
}

func TestSpotUnits(t *testing.T) {
	for _, c := range []struct{ name, what, unit, says string }{
		{"its own", "soil depth", "m", ""}, {"none", "soil depth", "", ""}, {"turned into it", "soil depth", "mm", ""},
		{"of another sort", "soil depth", "L", "give the result in m"}, {"a count with a unit", "stones", "m", "leave the unit out"},
	} {
		faults := checkSpot(book.Object{"what": c.what, "unit": c.unit})
		if (len(faults) == 0) != (c.says == "") || len(faults) > 0 && !strings.Contains(faults[0].Remedy, c.says) {
			t.Errorf("%s: %v", c.name, faults)
		}
	}
	seen := map[string]bool{}
	for _, s := range spots {
		if seen[s.name] || seen[s.code] {
			t.Errorf("%s stands twice", s.name)
		}
		seen[s.name], seen[s.code] = true, true
	}
}
