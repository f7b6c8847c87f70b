package surface

import (
	"math"
	"testing"

	"github.com/swardbook/swardbook/geo/survey"
)

// sheet makes a surface of given corners and triangles.
func sheet(t testing.TB, corners [][3]float64, faces ...[3]int32) *Surface {
	t.Helper()
	s := &survey.Survey{Name: "sheet", Faces: faces}
	for _, c := range corners {
		s.Points = append(s.Points, survey.Point{E: c[0], N: c[1], Level: c[2]})
	}
	out, _, err := FromSurvey(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// flat is a rectangle of two triangles under a plane.
func flat(t testing.TB, w, h float64, z func(x, y float64) float64) *Surface {
	t.Helper()
	return sheet(t, at(z, 0, 0, w, 0, w, h, 0, h), [3]int32{0, 1, 2}, [3]int32{0, 2, 3})
}

// at gives corners their level.
func at(z func(x, y float64) float64, xy ...float64) [][3]float64 {
	var out [][3]float64
	for i := 0; i < len(xy); i += 2 {
		out = append(out, [3]float64{xy[i], xy[i+1], z(xy[i], xy[i+1])})
	}
	return out
}

func level(v float64) func(x, y float64) float64 { return func(_, _ float64) float64 { return v } }

// pyramid has its apex (5, 5, top) over a 10 × 10 square, on a plane.
func pyramid(t testing.TB, top float64, under func(x, y float64) float64) *Surface {
	c := at(under, 0, 0, 10, 0, 10, 10, 0, 10, 5, 5)
	c[4][2] += top
	return sheet(t, c, [3]int32{0, 1, 4}, [3]int32{1, 2, 4}, [3]int32{2, 3, 4}, [3]int32{3, 0, 4})
}

// fold is a 10 × 10 square bent along x = 5, or along y = 5 when across.
func fold(t testing.TB, z func(d float64) float64, across bool) *Surface {
	if across {
		return sheet(t, at(func(_, y float64) float64 { return z(math.Abs(y - 5)) }, 0, 0, 10, 0, 10, 5, 0, 5, 10, 10, 0, 10),
			[3]int32{0, 1, 2}, [3]int32{0, 2, 3}, [3]int32{3, 2, 4}, [3]int32{3, 4, 5})
	}
	return sheet(t, at(func(x, _ float64) float64 { return z(math.Abs(x - 5)) }, 0, 0, 5, 0, 5, 10, 0, 10, 10, 0, 10, 10),
		[3]int32{0, 1, 2}, [3]int32{0, 2, 3}, [3]int32{1, 4, 5}, [3]int32{1, 5, 2})
}

// Exact solids between two surfaces. Each is worked by hand from the formula
// for the body; T4 to T8 and T11 to T13 were also checked by sampling midpoints.
func TestSolids(t *testing.T) {
	tilt := func(x, y float64) float64 { return 0.1*x + 0.05*y }
	saddle := at(func(x, y float64) float64 { return (1 - 2*x) * (1 - 2*y) }, 0, 0, 1, 0, 1, 1, 0, 1)
	tests := []struct {
		name      string
		base, top *Surface
		fill, cut float64
	}{
		{"slab", flat(t, 10, 10, level(0)), flat(t, 10, 10, level(0.3)), 30, 0},
		{"pyramid", flat(t, 10, 10, level(0)), pyramid(t, 6, level(0)), 200, 0},
		{"pyramid on a tilted plane", flat(t, 10, 10, tilt), pyramid(t, 6, tilt), 200, 0},
		{"wedge across the zero line", flat(t, 10, 10, level(0)), flat(t, 10, 10, func(x, _ float64) float64 { return x - 4 }), 180, 80},
		{"zero line on the diagonal", flat(t, 10, 10, level(0)), flat(t, 10, 10, func(x, y float64) float64 { return x - y }), 500.0 / 3, 500.0 / 3},
		{"saddle, one diagonal", flat(t, 1, 1, level(0)), sheet(t, saddle, [3]int32{0, 1, 2}, [3]int32{0, 2, 3}), 5.0 / 12, 1.0 / 12},
		{"saddle, other diagonal", flat(t, 1, 1, level(0)), sheet(t, saddle, [3]int32{0, 1, 3}, [3]int32{1, 2, 3}), 1.0 / 12, 5.0 / 12},
		{"zero line across the diagonal", flat(t, 1, 1, level(0)), flat(t, 1, 1, func(x, y float64) float64 { return x + y - 1 }), 1.0 / 6, 1.0 / 6},
		{"zero line across two sides", flat(t, 40, 30, level(0)), flat(t, 40, 30, func(x, y float64) float64 { return 0.02*x - 0.01*y - 0.3 }), 97.5, 157.5},
		{"valley filled to a flat", fold(t, func(d float64) float64 { return 0.4 * d }, false), flat(t, 10, 10, level(1)), 25, 25},
		{"pyramid cut by a flat", pyramid(t, 6, level(0)), flat(t, 10, 10, level(3)), 125, 25},
		{"crossing ridges", fold(t, func(d float64) float64 { return 3 - 0.6*d }, false), fold(t, func(d float64) float64 { return 3 - 0.6*d }, true), 50, 50},
		{"the same twice", pyramid(t, 6, tilt), pyramid(t, 6, tilt), 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := Compare(tt.base, tt.top, nil, CompareOptions{})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "fill", d.FillM3, tt.fill, 1e-13)
			near(t, "cut", d.CutM3, tt.cut, 1e-13)
			near(t, "net", d.NetM3, tt.fill-tt.cut, 1e-13)
			near(t, "mean", d.MeanM*d.PlanAreaM2, d.NetM3, 1e-13)
			back, err := Compare(tt.top, tt.base, nil, CompareOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if back.FillM3 != d.CutM3 || back.CutM3 != d.FillM3 || back.FillAreaM2 != d.CutAreaM2 || back.MaxDzM != -d.MinDzM || back.RMSM != d.RMSM {
				t.Errorf("exchanged: %+v, straight: %+v", back, d)
			}
		})
	}
}

func TestIdenticalSurfacesDifferByNothing(t *testing.T) {
	s := fromFile(t, "t6_pre.csv", "")
	d, err := Compare(s, s, nil, CompareOptions{ToleranceM: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	if d.FillM3 != 0 || d.CutM3 != 0 || d.FillAreaM2 != 0 || d.CutAreaM2 != 0 || d.Band.WithinShare != 1 {
		t.Errorf("got %+v", d)
	}
	near(t, "area", d.PlanAreaM2, 450*320, 1e-12)
}

// A datum shift of 52 mm over 24,000 m² makes 1,248 m³.
func TestDatumShift(t *testing.T) {
	d, err := Compare(flat(t, 200, 120, level(60)), flat(t, 200, 120, level(60.052)), nil, CompareOptions{ToleranceM: 0.052, AccuracyM: 0.010})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", d.FillM3, 1248, 1e-12)
	near(t, "rms", d.RMSM, 0.052, 1e-12)
	// 60.052 - 60 is 0.052000000000000046 in float64: on the edge is within.
	if d.Band.WithinShare != 1 || d.Band.WorstShare != 0 || d.Band.BestShare != 1 || d.Band.DoubtfulAreaM2 != 24000 {
		t.Errorf("band %+v", d.Band)
	}
}

// Base from x 0 to 10, top from 5 to 15: the overlap is 5 m wide; nothing is
// made up beyond it.
func TestPartOverlap(t *testing.T) {
	top := sheet(t, at(level(1), 5, 0, 15, 0, 15, 10, 5, 10), [3]int32{0, 1, 2}, [3]int32{0, 2, 3})
	d, err := Compare(flat(t, 10, 10, level(0)), top, nil, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", d.FillM3, 50, 1e-13)
	near(t, "only before", d.OnlyBeforeM2, 50, 1e-12)
	near(t, "only after", d.OnlyAfterM2, 50, 1e-12)
	d, err = Compare(flat(t, 10, 10, level(0)), top, rectangle(t, 0, 0, 8, 10), CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "asked", d.AskedM2, 80, 1e-13)
	near(t, "covered", d.PlanAreaM2, 30, 1e-13)
	near(t, "uncovered", d.UncoveredM2, 50, 1e-13)
	near(t, "only before", d.OnlyBeforeM2, 50, 1e-13)
	if d.OnlyAfterM2 != 0 {
		t.Errorf("only after: %v", d.OnlyAfterM2)
	}
}

// Round and curved bodies of triangles, against their own closed forms.
func TestRoundBodies(t *testing.T) {
	for n, want := range map[int]float64{8: 565.6854, 16: 612.2935, 32: 624.2890, 64: 627.3097, 128: 628.0662} {
		c := [][3]float64{{0, 0, 6}}
		var faces [][3]int32
		for i := range n {
			s, co := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			c = append(c, [3]float64{10 * co, 10 * s, 0})
			faces = append(faces, [3]int32{0, int32(i + 1), int32((i+1)%n + 1)})
		}
		cone := sheet(t, c, faces...)
		m, err := Stockpile(cone, LevelBase(0), nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "cone of n sides, n sin(2π/n)/2π of the round one", m.VolumeM3, float64(n)*math.Sin(2*math.Pi/float64(n))/(2*math.Pi)*math.Pi*100*6/3, 1e-12)
		near(t, "printed", m.VolumeM3, want, 1e-6)
		half, err := AboveLevel(cone, 3, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "above half height: an eighth", half.FillM3, m.VolumeM3/8, 1e-12)
	}
}

// The grid paraboloid 5(1 - r²/100) clipped at 0, true 250π: the coarser the
// grid the lower.
func TestParaboloidOnAGrid(t *testing.T) {
	for step, want := range map[float64]float64{4: 768.0, 2: 778.4, 1: 784.4, 0.5: 785.275, 0.25: 785.3859375} {
		n := int(20/step) + 1
		g := &survey.Grid{Cols: n, Rows: n, E0: -10, N0: -10, DE: step, DN: step, Levels: make([]float64, n*n)}
		for i := range g.Levels {
			e, nn := g.Centre(i%n, i/n)
			g.Levels[i] = max(5*(1-(e*e+nn*nn)/100), 0)
		}
		s := surfaceOf(t, &survey.Survey{Name: "dome", Grid: g, Points: g.Points()}, Options{})
		d, err := AboveLevel(s, 0, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "dome", d.FillM3, want, 1e-12)
	}
}

// Single triangles, dz at the corners. Source: the prism formula, one corner
// alone on its side cuts off A|n|³/3(p-n)(q-n); worked by hand.
func TestSinglePrisms(t *testing.T) {
	tests := []struct {
		name      string
		area      float64
		h         [3]float64
		fill, cut float64
		fillArea  float64
	}{
		{"all above", 54, [3]float64{0.4, 0.7, 1.0}, 37.8, 0, 54},
		{"one below", 6, [3]float64{2, 1, -1}, 13.0 / 3, 1.0 / 3, 5},
		{"two below", 6, [3]float64{2, -1, -1}, 16.0 / 9, 16.0 / 9, 8.0 / 3},
		{"one at zero", 4, [3]float64{3, 0, -3}, 2, 2, 2},
		{"two at zero", 6, [3]float64{0, 0, 5}, 10, 0, 6},
		{"flat", 6, [3]float64{0, 0, 0}, 0, 0, 0},
		{"all below", 6, [3]float64{-1, -2, -3}, 0, 12, 0},
	}
	for _, tt := range tests {
		for r := range 3 {
			s := newSums(CompareOptions{})
			s.triangle(tt.area, tt.h[r], tt.h[(r+1)%3], tt.h[(r+2)%3])
			near(t, tt.name+": fill", s.fill.value(), tt.fill, 1e-15)
			near(t, tt.name+": cut", s.cut.value(), tt.cut, 1e-15)
			near(t, tt.name+": fill area", s.fillArea.value(), tt.fillArea, 1e-15)
		}
	}
}

// Over a ramp from -1 m to +1 m, 20 m long and 10 m wide, the area with
// |dz| <= t is 200 t.
func TestToleranceBand(t *testing.T) {
	ramp := flat(t, 20, 10, func(x, _ float64) float64 { return x/10 - 1 })
	for _, tt := range []struct{ t, a, within, worst, best float64 }{
		{0.15, 0.02, 30, 26, 34},
		{0.15, 0, 30, 30, 30},
		{0.15, 0.2, 30, 0, 70},
		{0.95, 0.1, 190, 170, 200},
		{2, 0.1, 200, 200, 200},
	} {
		d, err := CompareLevel(ramp, 0, nil, CompareOptions{tt.t, tt.a})
		if err != nil {
			t.Fatal(err)
		}
		b := d.Band
		near(t, "within", b.WithinAreaM2, tt.within, 1e-12)
		near(t, "worst", b.WorstShare*200, tt.worst, 1e-12)
		near(t, "best", b.BestShare*200, tt.best, 1e-12)
		near(t, "doubtful", b.DoubtfulAreaM2, tt.best-tt.worst, 1e-12)
		near(t, "rms of a ramp, 1/√3", d.RMSM, 1/math.Sqrt(3), 1e-12)
	}
}
