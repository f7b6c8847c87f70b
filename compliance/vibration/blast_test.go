package vibration

import (
	"math"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Distances over the root of the charge. 50 and 70 ft/lb½ are the factors of
// W = (D/Ds)², from a foot of 0.3048 m and a pound of 0.45359237 kg.
func TestScaledDistance(t *testing.T) {
	const foot, pound = 0.3048, 0.45359237
	for _, c := range []struct {
		name        string
		kg, m, want float64
	}{
		{"round figures", 25, 250, 50},
		{"one kilogram", 1, 22.6, 22.6},
		{"50 ft/lb½ at 500 ft: 100 lb", 100 * pound, 500 * foot, 50 * foot / math.Sqrt(pound)},
		{"70 ft/lb½ at 700 ft: 100 lb", 100 * pound, 700 * foot, 70 * foot / math.Sqrt(pound)},
	} {
		if got := ScaledDistance(c.kg, c.m); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if got := 50 * foot / math.Sqrt(pound); math.Abs(got-22.6283) > 1e-4 {
		t.Errorf("50 ft/lb½ are %v m/kg½", got)
	}
}

func TestShotLog(t *testing.T) {
	r := recordtest.New()
	add := func(at, place string, body book.Object) {
		r.Add(t, recordtest.Row{Kind: "blast.1", At: at, Places: []string{place}, Body: body})
	}
	add("2026-04-06 10:10", "F1", book.Object{"charge_per_delay": "25", "distance": "250"})
	add("2026-04-07 10:10", "F1", book.Object{"charge_per_delay": "36", "distance": "120"})
	add("2026-04-07 11:10", "F2", book.Object{"charge_per_delay": "4", "distance": "400"})
	want := map[string][]float64{"vibration.blasts": {1, 1}, "vibration.charge": {25, 36}, "vibration.scaled_distance": {50, 20}}
	for _, q := range blastQuantities() {
		got, err := q.Observe(r, quantity.Ask{Place: "F1"})
		if err != nil || len(got) != 2 {
			t.Fatalf("%s: %d observations, %v", q.Code, len(got), err)
		}
		for i, o := range got {
			if o.Value != want[q.Code][i] || o.Note == "" {
				t.Errorf("%s: %v, want %v", q.Code, o.Value, want[q.Code][i])
			}
		}
	}
	add("2026-04-08 10:10", "F1", book.Object{"distance": "250"})
	if _, err := blastQuantities()[2].Observe(r, quantity.Ask{Place: "F1"}); err == nil {
		t.Error("a blast without its charge has a scaled distance")
	}
}
