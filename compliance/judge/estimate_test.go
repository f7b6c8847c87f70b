package judge

import (
	"math"
	"testing"
)

func results(values ...float64) []sample { // below nothing: less than
	out := make([]sample, len(values))
	for i, v := range values {
		out[i].b = certain(v)
		if v < 0 {
			out[i].b = bounds{0, -v}
		}
	}
	return out
}

// TestMeansOverLessThanResults: three sets worked by hand and with another program
// by the methods named; set B's shares by Kaplan and Meier are written out in
// handbooks so.
func TestMeansOverLessThanResults(t *testing.T) {
	b := results(1, -2, 3, 4, -5, 6, 8, 12)
	c := results(-0.05, 0.08, -0.05, 0.12, 0.31, -0.10, 0.22, 0.09, 0.55, -0.05, 0.18, 1.20)
	for _, tt := range []struct {
		name, method string
		values       []sample
		want, within float64
	}{
		{"A by Kaplan–Meier", "Kaplan–Meier", results(-1, -1, 2, 3, 5), 2.4, 1e-12},
		{"B by Kaplan–Meier", "Kaplan-Meier", b, 4.65625, 1e-12},
		{"C by Kaplan–Meier", "kaplan-meier", c, 0.24700, 5e-6},
		{"B by regression", orderStats, b, 4.6436, 5e-5},
		{"C by regression", orderStats, c, 0.23831, 5e-6},
		{"none below", orderStats, results(1, 2, 3), 2, 1e-12},
		{"none below, by Kaplan–Meier", "Kaplan–Meier", results(1, 2, 3, 3), 2.25, 1e-12},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := estimated(tt.values, tt.method)
			if err != nil || math.Abs(got.low-tt.want) > tt.within || !got.known() {
				t.Errorf("%v, %v, want %v", got, err, tt.want)
			}
		})
	}
	// Set A has three results above its limit: its regression (2.3043) is computed
	// and refused, for it needs five.
	for name, values := range map[string][]sample{"A": results(-1, -1, 2, 3, 5), "nine in ten below": results(-1, -1, -1, -1, -1, -1, -1, -1, -1, 2), "nothing": results(-1, -2)} {
		if _, err := estimated(values, orderStats); err == nil {
			t.Errorf("%s was estimated by regression", name)
		}
	}
	if _, err := estimated(b, "a feeling"); err == nil {
		t.Error("an unknown method was taken")
	}
	above := results(1, 2, 3, -1)
	above[0].b = bounds{5, math.Inf(1)}
	if _, err := estimated(above, "Kaplan–Meier"); err == nil {
		t.Error("a result above the range was estimated")
	}
}

// TestEstimatesLieBetween: whatever the results, the mean lies between that with
// less-than results as nothing and that with them in full.
func TestEstimatesLieBetween(t *testing.T) {
	seed := uint64(7)
	next := func() float64 { // a small generator of its own, so that the test is the same each time
		seed = seed*6364136223846793005 + 1442695040888963407
		return float64(seed>>40)/float64(1<<24) + 0.01
	}
	for range 2000 {
		var values []float64
		for range 6 + int(next()*10) {
			v := math.Round(next()*100) / 10
			if next() < 0.4 {
				v = -v
			}
			if v != 0 {
				values = append(values, v)
			}
		}
		list := results(values...)
		if len(list) == 0 {
			continue
		}
		var low, high float64
		for _, v := range list {
			low, high = low+v.b.low, high+v.b.high
		}
		low, high = low/float64(len(list)), high/float64(len(list))
		for _, method := range []string{kaplanMeier, orderStats} {
			got, err := estimated(list, method)
			if err == nil && method == kaplanMeier && (got.low < low-1e-9 || got.low > high+1e-9) {
				t.Fatalf("%v by %s: %v is not from %v to %v", values, method, got.low, low, high)
			}
			if err == nil && (math.IsNaN(got.low) || got.low < low-1e-9) {
				t.Fatalf("%v by %s: %v", values, method, got.low)
			}
		}
	}
}
