package picture

import (
	"image/color"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/survey"
)

func grid(v ...float64) *survey.Grid {
	return &survey.Grid{Cols: len(v), Rows: 1, E0: 430005, N0: 310005, DE: 10, DN: 10, Levels: v}
}

func TestClassesAndBounds(t *testing.T) {
	if b := Bounds(grid(0), 0.15); math.Abs(b[0]+0.45) > 1e-12 || b[3] != 0.15 {
		t.Errorf("with a tolerance of 0.15 m: %v", b)
	}
	if b := Bounds(grid(-0.7, 6.3), 0); b[3] != 2 || b[5] != 6 {
		t.Errorf("up to 6.3 m: %v", b)
	}
	if b := Bounds(grid(math.NaN(), 0), 0); b[3] != 0.01 {
		t.Errorf("no difference anywhere: %v", b)
	}
	b := Bounds(grid(0), 0.1)
	for v, want := range map[float64]int{-0.31: 0, -0.25: 1, -0.1: 3, 0: 3, 0.1: 3, 0.11: 4, 0.2: 4, 0.25: 5, 9: 6} {
		if got := class(v, b); got != want {
			t.Errorf("%v m is in class %d, want %d", v, got, want)
		}
	}
	if l := labels(b); l[0] != "above +0.3 m" || l[3] != "−0.1 to +0.1 m" || l[6] != "below −0.3 m" {
		t.Errorf("labels %q", l)
	}
}

// Every cell has its class's colour, and one without a difference is hatched.
func TestDifferencePicture(t *testing.T) {
	g := grid(-0.5, 0, 0.5, math.NaN())
	img, err := Difference(g, Options{ToleranceM: 0.1, WidthPx: 400})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []color.RGBA{ramp[0], ramp[3], ramp[6]} {
		if got := img.RGBAAt(margin+50+100*i, margin+50); got != want {
			t.Errorf("cell %d is %v, want %v", i, got, want)
		}
	}
	hatched, blank := 0, 0
	for x := margin + 310; x < margin+390; x++ {
		switch img.RGBAAt(x, margin+50) {
		case faint:
			hatched++
		case paper:
			blank++
		}
	}
	if hatched != 10 || blank != 70 {
		t.Errorf("%d hatched, %d blank of 80", hatched, blank)
	}
	lined, err := Difference(g, Options{WidthPx: 400, Title: "t", Notes: []string{"a", "b"}, Lines: [][]orb.Point{{{430000, 310005}, {430040, 310005}}}})
	if err != nil {
		t.Fatal(err)
	}
	if got := lined.RGBAAt(margin+50, margin+lineHeight+8+50); got != ink {
		t.Errorf("the line is drawn in %v", got)
	}
	if _, err := Difference(&survey.Grid{}, Options{}); err == nil {
		t.Error("an empty grid was drawn")
	}
	tall := &survey.Grid{Cols: 1, Rows: 100000, DE: 1, DN: 1, Levels: make([]float64, 100000)}
	if img, err := Difference(tall, Options{}); err != nil || img.Bounds().Dy() > maxSidePx+1000 {
		t.Errorf("a strip of 100 km: %v", err)
	}
}
