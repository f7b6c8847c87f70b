package app

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// run is a block of readings one after another, in tenths, with one mark.
func run(begin time.Time, span time.Duration, mark series.Mark, tenths ...int64) *series.Block {
	b := &series.Block{Span: span.Milliseconds(), Places: 1}
	for i, v := range tenths {
		b.Start = append(b.Start, begin.Add(time.Duration(i)*span).UnixMilli())
		b.Coefficient = append(b.Coefficient, v)
		b.Mark = append(b.Mark, mark)
	}
	return b
}

var noon = time.Date(2026, 6, 10, 12, 0, 0, 0, time.UTC)

// Set S of twenty levels: percentiles by the linear rank (n-1)q+1, worked out
// apart in Python (numpy's linear percentile); others rules name other values.
func TestDistributionRanks(t *testing.T) {
	s := []int64{521, 483, 479, 604, 552, 490, 488, 715, 503, 472, 469, 481, 537, 662, 495, 475, 486, 510, 589, 501}
	d, err := distributionOf([]*series.Block{run(noon, time.Minute, series.Valid, s...)}, noon, noon.Add(25*time.Minute))
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range []struct {
		name  string
		value float64
	}{{"NV-11 L90", 47.470}, {"NV-10 L50", 49.800}, {"NV-9 L10", 60.980}, {"NV-12 L1", 70.493}} {
		t.Run(c.name, func(t *testing.T) {
			if r := d.Ranks[i]; math.Abs(r.Value-c.value) > 1e-9 || !r.Sure {
				t.Errorf("%+v", r)
			}
		})
	}
	if d.N != 20 || *d.Coverage != 0.8 {
		t.Errorf("%d readings, coverage %v", d.N, *d.Coverage)
	}
	if d.Width != 0.5 || d.Classes[0] != (Class{46.5, 1}) || d.Classes[1] != (Class{47, 1}) || d.Classes[2] != (Class{47.5, 2}) {
		t.Errorf("classes of %v: %v", d.Width, d.Classes)
	}
}

// What the ranks cannot rest on is told: readings of unequal length, readings
// below what the instrument can tell, nothing that counts.
func TestDistributionDoubts(t *testing.T) {
	of := func(t *testing.T, blocks ...*series.Block) *Distribution {
		t.Helper()
		d, err := distributionOf(blocks, noon, noon.Add(time.Hour))
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	t.Run("readings of unequal length", func(t *testing.T) {
		d := of(t, run(noon, time.Minute, series.Valid, 500, 510), run(noon.Add(10*time.Minute), 15*time.Minute, series.Valid, 520))
		if len(d.Ranks) != 0 || d.Why == "" || d.N != 3 {
			t.Errorf("%+v", d)
		}
	})
	t.Run("below the instrument's range", func(t *testing.T) {
		d := of(t, run(noon, time.Minute, series.Below, 300, 300, 300), run(noon.Add(3*time.Minute), time.Minute, series.Valid, 400, 410, 420))
		if d.Below != 3 || d.N != 6 || d.Ranks[0].Sure || !d.Ranks[2].Sure {
			t.Errorf("%+v", d)
		}
	})
	t.Run("nothing counts", func(t *testing.T) {
		d := of(t, run(noon, time.Minute, series.Wind, 0, 0))
		if d.N != 0 || d.LeftOut != 2 || len(d.Classes) != 0 || len(d.Ranks) != 0 {
			t.Errorf("%+v", d)
		}
	})
}

// TestDistributionLosesNothing: whatever the readings, each is in one class, the
// class it lies in.
func TestDistributionLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tenths := rapid.SliceOfN(rapid.Int64Range(-400, 1400), 1, 80).Draw(t, "tenths")
		d, err := distributionOf([]*series.Block{run(noon, time.Minute, series.Valid, tenths...)}, noon, noon.Add(2*time.Hour))
		if err != nil {
			t.Fatal(err)
		}
		sum := 0
		for _, c := range d.Classes {
			sum += c.N
			inside := len(slices.DeleteFunc(slices.Clone(tenths), func(v int64) bool {
				x := unit.Decimal{Coefficient: v, Places: 1}.Float()
				return x < c.From || x >= unit.Round9(c.From+d.Width)
			}))
			if inside != c.N {
				t.Fatalf("class from %v of %v holds %d, not %d", c.From, d.Width, c.N, inside)
			}
		}
		if sum != len(tenths) || len(d.Classes) > mostClasses+1 {
			t.Fatalf("%d of %d in %d classes", sum, len(tenths), len(d.Classes))
		}
	})
}
