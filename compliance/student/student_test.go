package student

import (
	"math"
	"testing"
)

// Source: table of Student's t, one-sided, in any handbook of statistics
// (Abramowitz and Stegun, table 26.10), from memory; X17 of the worked examples
// uses 1.383 for nine degrees of freedom.
func TestQuantile(t *testing.T) {
	for _, c := range []struct{ p, df, want float64 }{
		{0.90, 9, 1.383029}, {0.95, 1, 6.313752}, {0.95, 9, 1.833113}, {0.975, 30, 2.042272}, {0.99, 4, 3.746947}, {0.90, 1000, 1.282399}, {0.5, 7, 0},
	} {
		if got := Quantile(c.p, c.df); math.Abs(got-c.want) > 2e-6 {
			t.Errorf("t of %v with %v degrees of freedom is %.6f, want %.6f", c.p, c.df, got, c.want)
		}
	}
}
