package vibration

import (
	"errors"
	"math"
	"testing"
	"testing/quick"
)

// sixteen shots were made up for this check (no real site); what they must give
// was computed with another program (numpy 1.24, scipy 1.10).
var sixteen = []Shot{
	{120, 25, 6.85}, {240, 45, 3.10}, {350, 40, 1.28}, {500, 75, 1.34}, {150, 40, 8.60}, {260, 60, 4.60}, {380, 60, 2.20}, {550, 60, 0.71},
	{180, 32, 3.90}, {300, 50, 2.05}, {420, 80, 1.55}, {620, 90, 0.98}, {210, 50, 5.75}, {320, 75, 3.35}, {450, 55, 0.92}, {700, 70, 0.48},
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s is %.7g, want %.7g", what, got, want)
	}
}

func TestFitOfSixteenShots(t *testing.T) {
	f, err := FitShots(sixteen)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NV-63 b", f.B, -2.199317, 5e-7)
	near(t, "NV-63 a", f.A, 3.942898, 5e-7)
	near(t, "K of half", f.K(0.5), 8767.955, 5e-3)
	near(t, "spread", f.Spread, 0.0602061, 5e-8)
	near(t, "r²", f.R2, 0.975342, 5e-7)
	near(t, "mean of lg SD", f.mean, 1.640281, 5e-7)
	near(t, "Sxx", f.spread, 0.414981, 5e-7)
	near(t, "K of 95 %", f.K(0.95), 11013.58, 5e-3)
	if n := f.Over(sixteen, 0.95); n != 1 {
		t.Errorf("%d shots above the line of 95 %%, want 1", n)
	}
	for _, c := range []struct{ d, w, half, most, next float64 }{
		{300, 50, 2.3079, 2.8989, 2.9685}, {200, 50, 5.6298, 7.0717, 7.3135}, {500, 100, 1.6081, 2.0200, 2.0704},
	} {
		half, err1 := f.PPV(c.d, c.w, 0.5)
		most, err2 := f.PPV(c.d, c.w, 0.95)
		next, err3 := f.NextPPV(c.d, c.w, 0.95)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Error(err)
		}
		near(t, "NV-64 half", half, c.half, 5e-5)
		near(t, "NV-64 95 %", most, c.most, 5e-5)
		near(t, "NV-64 next shot", next, c.next, 5e-5)
	}
	sd, err := f.LeastScaled(6, 0.95)
	if err != nil {
		t.Error(err)
	}
	near(t, "NV-65 least scaled distance", sd, 30.479, 5e-4)
	for _, c := range []struct{ d, ppv, p, want float64 }{{300, 6, 0.95, 96.88}, {200, 6, 0.95, 43.06}, {300, 6, 0.5, 119.21}} {
		w, err := f.LargestCharge(c.d, c.ppv, c.p)
		if err != nil {
			t.Error(err)
		}
		near(t, "NV-65 largest charge, rounded down where the figure is to the nearest", w+0.005, c.want, 0.0051)
	}
	// 10 mm/s is reached at 24.162 m/√kg, inside what was measured from 23.7 on.
	w, err := f.LargestCharge(300, 10, 0.95)
	if err != nil {
		t.Error(err)
	}
	near(t, "for 10 mm/s", w+0.005, 154.17, 0.0051)
}

func TestShotsThatCarryNoLine(t *testing.T) {
	alike := make([]Shot, 12)
	for i := range alike {
		alike[i] = Shot{300 + float64(i), 50, 2}
	}
	nothing := append([]Shot{}, sixteen...)
	nothing[3].PPV = 0
	rising, level := append([]Shot{}, sixteen...), append([]Shot{}, sixteen...)
	for i := range rising {
		rising[i].PPV, level[i].PPV = rising[i].Scaled()/10, 2
	}
	for name, shots := range map[string][]Shot{"faster the farther": rising, "as fast everywhere": level, "nine": sixteen[:9], "all alike": alike, "one that was not noticed": nothing, "none": nil} {
		if f, err := FitShots(shots); err == nil {
			t.Errorf("%s: %+v", name, f)
		}
	}
	f, _ := FitShots(sixteen)
	for name, err := range map[string]error{
		"nearer than any": second(f.PPV(50, 50, 0.95)), "farther than any": second(f.NextPPV(2000, 50, 0.95)),
		"a limit never neared": second(f.LeastScaled(60, 0.95)), "a limit far under all": second(f.LargestCharge(300, 0.01, 0.95)),
	} {
		if !errors.Is(err, ErrOutside) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func second(_ float64, err error) error { return err }

// TestChargeKeepsTheLimit: what is allowed stays under the limit by the same line.
func TestChargeKeepsTheLimit(t *testing.T) {
	f, _ := FitShots(sixteen)
	err := quick.Check(func(a, b uint16) bool {
		d, ppv := 100+float64(a%900), 0.5+float64(b%90)/10
		w, err := f.LargestCharge(d, ppv, 0.95)
		if err != nil {
			return errors.Is(err, ErrOutside)
		}
		got, _ := f.PPV(d, w, 0.95)
		return got <= ppv*(1+1e-12)
	}, nil)
	if err != nil {
		t.Error(err)
	}
}
