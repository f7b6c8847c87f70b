package surface

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/survey"
)

// Source: testdata/reference/geo/README.md, t4 contours, worked in exact
// arithmetic.
func TestContourLengthsOfT4(t *testing.T) {
	s := fromFile(t, "t4_pre.csv", "")
	want := map[float64]float64{61: 130.459013, 61.5: 291.091937, 62: 438.712191, 62.5: 800.570579, 63: 765.027226, 63.5: 574.436336, 64: 466.979061, 64.5: 420.365137, 65: 271.758779}
	levels, err := s.ContourLevels(0.5)
	if err != nil {
		t.Fatal(err)
	}
	got := map[float64]float64{}
	for _, c := range s.Contours(levels) {
		got[c.LevelM] += c.LengthM()
	}
	for level, length := range want {
		if math.Abs(got[level]-length) > 1e-6 {
			t.Errorf("contour %.1f: %.6f m, want %.6f", level, got[level], length)
		}
	}
}

func rough(n int, seed uint64) *survey.Survey {
	r := rand.New(rand.NewPCG(seed, 7))
	s := &survey.Survey{Name: "rough"}
	for i := range n {
		// Whole decimetres make many corners lie on a contour's level.
		s.Points = append(s.Points, survey.Point{E: 600000 + 100*r.Float64(), N: 5500000 + 80*r.Float64(), Level: math.Round(20*r.Float64()) / 10, Row: i + 1})
	}
	return s
}

// Contours are whole: closed, or ending at the rim; lower ground on the right.
func TestContoursAreWhole(t *testing.T) {
	for seed := range uint64(6) {
		whole := surfaceOf(t, rough(400, seed), Options{NoFlags: true})
		cut, err := whole.Clip(rectangle(t, 600020, 5500015, 600083.5, 5500061))
		if err != nil {
			t.Fatal(err)
		}
		for name, s := range map[string]*Surface{"whole": whole, "cut at a boundary": cut} {
			levels, err := s.ContourLevels(0.1)
			if err != nil {
				t.Fatal(err)
			}
			rim := map[[2]float64]bool{}
			o := s.sides()
			onRim := func(p orb.Point) bool {
				if len(rim) == 0 {
					for h, g := range o.twin {
						if g < 0 {
							tr := s.tri[h/3]
							a, b := s.p[tr[h%3]], s.p[tr[(h+1)%3]]
							rim[[2]float64{a.X, a.Y}], rim[[2]float64{b.X, b.Y}] = true, true
						}
					}
				}
				for h, g := range o.twin {
					if g >= 0 {
						continue
					}
					tr := s.tri[h/3]
					a, b := s.p[tr[h%3]], s.p[tr[(h+1)%3]]
					x, y := p[0]-s.x0, p[1]-s.y0
					if math.Abs((b.X-a.X)*(y-a.Y)-(b.Y-a.Y)*(x-a.X)) < 1e-6*math.Hypot(b.X-a.X, b.Y-a.Y) && (x-a.X)*(x-b.X) <= 1e-6 && (y-a.Y)*(y-b.Y) <= 1e-6 {
						return true
					}
				}
				return false
			}
			for _, c := range s.Contours(levels) {
				first, last := c.Line[0], c.Line[len(c.Line)-1]
				if c.Closed && first != last {
					t.Fatalf("%s, seed %d, level %v: a closed line ends elsewhere", name, seed, c.LevelM)
				}
				if !c.Closed && (!onRim(first) || !onRim(last)) {
					t.Fatalf("%s, seed %d, level %v: a line ends inside, from %v to %v", name, seed, c.LevelM, first, last)
				}
				for i := 1; i < len(c.Line); i++ {
					a, b := c.Line[i-1], c.Line[i]
					z, ok := s.LevelAt((a[0]+b[0])/2, (a[1]+b[1])/2)
					if ok && math.Abs(z-c.LevelM) > 1e-6 {
						t.Fatalf("%s, seed %d: contour %v runs at %v", name, seed, c.LevelM, z)
					}
					length := math.Hypot(b[0]-a[0], b[1]-a[1])
					if length < 1e-3 {
						continue
					}
					right, on := s.LevelAt((a[0]+b[0])/2+(b[1]-a[1])/length*1e-7, (a[1]+b[1])/2-(b[0]-a[0])/length*1e-7)
					if on && right > c.LevelM+1e-5 {
						t.Fatalf("%s, seed %d: right of contour %v lies %v", name, seed, c.LevelM, right)
					}
				}
			}
		}
	}
}

// A square funnel 6 m deep and 10 m wide, its rim at 50: a pyramid upside
// down, 200 m³ (row T2 of the worked solids).
func TestPondInAFunnel(t *testing.T) {
	funnel := pyramid(t, -6, level(50))
	got := funnel.Ponds(0.01, nil)
	if len(got) != 1 {
		t.Fatalf("%d ponds: %+v", len(got), got)
	}
	p := got[0]
	for what, v := range map[string][2]float64{"spill": {p.SpillLevelM, 50}, "depth": {p.DepthM, 6}, "area": {p.AreaM2, 100}, "volume": {p.VolumeM3, 200}, "E": {p.E, 5}, "N": {p.N, 5}} {
		near(t, what, v[0], v[1], 1e-12)
	}
	// On a slope of 1 in 10 the lowest rim is 1 m lower; water to depth d in a
	// hollow of similar shape is less.
	tilted := pyramid(t, -6, func(x, _ float64) float64 { return 50 + 0.1*x })
	q := tilted.Ponds(0.01, nil)
	if len(q) != 1 || q[0].SpillLevelM != 50 || math.Abs(q[0].DepthM-5.5) > 1e-12 || q[0].VolumeM3 >= 200 {
		t.Errorf("%+v", q)
	}
	if n := len(pyramid(t, 6, level(50)).Ponds(0.01, nil)); n != 0 {
		t.Errorf("%d ponds on a hill", n)
	}
	if n := len(funnel.Ponds(6.5, nil)) + len(funnel.Ponds(0.01, rectangle(t, 0, 0, 4, 4))); n != 0 {
		t.Errorf("%d ponds shallower or elsewhere", n)
	}
}

// Water nowhere runs uphill out of a pond, and raising all levels or cutting
// the surface apart changes nothing.
func TestPondsAgainstARaster(t *testing.T) {
	ground := rough(300, 3)
	for d := 0.0; d <= 100; d += 2 { // a ditch all round, so that no cell misses a thin wall at the rim
		for _, p := range [4][2]float64{{d, -2}, {d, 82}, {-2, d * 0.8}, {102, d * 0.8}} {
			ground.Points = append(ground.Points, survey.Point{E: 600000 + p[0], N: 5500000 + p[1], Level: -1})
		}
	}
	s := surfaceOf(t, ground, Options{NoFlags: true})
	ponds := s.Ponds(0.001, nil)
	if len(ponds) < 5 {
		t.Fatalf("only %d ponds", len(ponds))
	}
	// An independent flood of cells of 0.1 m, as terrain programs do it.
	f, err := FrameFor(s, nil, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	volume := floodCells(s.Raster(f)) * 0.01
	sum := 0.0
	for _, p := range ponds {
		sum += p.VolumeM3
	}
	if math.Abs(sum-volume) > 0.02*volume {
		t.Errorf("ponds hold %.3f m³, cells %.3f m³", sum, volume)
	}
	higher := surfaceOf(t, moved(ground, 0, 0, 100), Options{NoFlags: true}).Ponds(0.001, nil)
	if len(higher) != len(ponds) || math.Abs(higher[0].VolumeM3-ponds[0].VolumeM3) > 1e-9 {
		t.Errorf("raised by 100 m: %d ponds, %v; before %d, %v", len(higher), higher[0], len(ponds), ponds[0])
	}
}

// floodCells returns the sum of the depths of water standing on a grid, by
// relaxation until nothing changes.
func floodCells(g *survey.Grid) float64 {
	water := make([]float64, len(g.Levels))
	at := func(c, r int) (float64, bool) {
		if c < 0 || r < 0 || c >= g.Cols || r >= g.Rows || math.IsNaN(g.At(c, r)) {
			return 0, false
		}
		return water[r*g.Cols+c], true
	}
	for i := range water {
		water[i] = math.Inf(1)
	}
	for changed := true; changed; {
		changed = false
		for pass := range 2 {
			for k := range water {
				i := k
				if pass == 1 {
					i = len(water) - 1 - k
				}
				if math.IsNaN(g.Levels[i]) {
					continue
				}
				low := math.Inf(1)
				for dr := -1; dr <= 1; dr++ {
					for dc := -1; dc <= 1; dc++ {
						v, ok := at(i%g.Cols+dc, i/g.Cols+dr)
						if !ok {
							v = math.Inf(-1) // off the surface: runs away
						}
						low = min(low, v)
					}
				}
				if v := max(g.Levels[i], low); v < water[i] {
					water[i], changed = v, true
				}
			}
		}
	}
	sum := 0.0
	for i, w := range water {
		if !math.IsNaN(g.Levels[i]) {
			sum += w - g.Levels[i]
		}
	}
	return sum
}

func TestFalls(t *testing.T) {
	s := flat(t, 40, 30, func(x, y float64) float64 { return 100 + 0.03*x - 0.04*y })
	f, err := s.Falls(nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", f.MeanRatio, 0.05, 1e-12)
	near(t, "steepest", f.SteepestRise, 0.05, 1e-12)
	// Falls towards (-3, 4): 36.87 degrees west of north.
	near(t, "direction", f.DirectionDeg, 360-math.Atan2(3, 4)*180/math.Pi, 1e-9)
	hill, err := pyramid(t, 6, level(50)).Falls(nil)
	if err != nil || hill.MeanRatio > 1e-12 || math.Abs(hill.SteepestRise-1.2) > 1e-12 {
		t.Errorf("a pyramid falls evenly to all sides, at 6 in 5: %+v, %v", hill, err)
	}
	if _, err := s.Falls(rectangle(t, 500, 500, 600, 600)); err == nil {
		t.Error("falls of ground that is not there")
	}
}

func TestTrimRim(t *testing.T) {
	// A grid of 11 by 11 points and one point 50 m off: its two long triangles
	// span ground nobody surveyed.
	s := lattice(11, 11, 1, 1)
	e, n := s.Points[0].E, s.Points[0].N
	for _, p := range s.Points {
		e, n = max(e, p.E), max(n, p.N)
	}
	s.Points = append(s.Points, survey.Point{Name: "far", E: e + 50, N: n, Level: 1, Row: 999})
	whole := surfaceOf(t, s, Options{NoFlags: true})
	got, err := whole.TrimRim(0)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area left", got.Surface.PlanAreaM2(), 100, 1e-9)
	near(t, "areas", got.RemovedM2+got.Surface.PlanAreaM2(), whole.PlanAreaM2(), 1e-12)
	if got.LimitM < 1 || got.LimitM > 5 {
		t.Errorf("limit %v m", got.LimitM)
	}
	none, err := whole.TrimRim(1000)
	if err != nil || none.Surface != whole || none.Triangles != 0 {
		t.Errorf("a long limit took %d triangles away", none.Triangles)
	}
	if _, err := whole.TrimRim(0.001); err == nil {
		t.Error("a surface without triangles")
	}
}

func TestLargestGap(t *testing.T) {
	// Points every metre but for a hole of 6 by 6 m: its middle is 3 m from the
	// nearest point, along the sides; the rim of the hole has points.
	s := lattice(21, 21, 1, 2)
	e, n := math.Inf(1), math.Inf(1)
	for _, p := range s.Points {
		e, n = min(e, p.E), min(n, p.N)
	}
	var kept []survey.Point
	for _, p := range s.Points {
		if x, y := p.E-e, p.N-n; x > 7 && x < 13 && y > 7 && y < 13 {
			continue
		}
		kept = append(kept, p)
	}
	s.Points = kept
	g := surfaceOf(t, s, Options{NoFlags: true})
	gap, ok := g.LargestGap(nil)
	if !ok || math.Abs(gap.DistanceM-3) > 1e-9 || math.Abs(gap.E-e-10) > 1e-9 || math.Abs(gap.N-n-10) > 1e-9 {
		t.Errorf("%+v", gap)
	}
	corner, ok := g.LargestGap(rectangle(t, e, n, e+5, n+5))
	if !ok || math.Abs(corner.DistanceM-math.Sqrt2/2) > 1e-9 {
		t.Errorf("among points every metre: %+v", corner)
	}
}

// Source: worked rows U1 to U6 for propagation of level errors into volumes.
func TestVolumeUncertainty(t *testing.T) {
	for _, tt := range []struct {
		name string
		e    LevelError
		want float64
	}{
		{"U1 one surface", LevelError{PointM: 0.03, Points: 200}, 10.6066},
		{"U2 both", LevelError{PointM: 0.03 * math.Sqrt2, Points: 200}, 15},
		{"U3 as bias", LevelError{BiasM: 0.03, Points: 200}, 150},
		{"U4 correlated", LevelError{PointM: 0.03, RangeM: 20, Points: 200}, 33.630},
		{"U5 both and control", LevelError{PointM: 0.03 * math.Sqrt2, BiasM: 0.01, Points: 200}, 52.2015},
	} {
		u, err := UncertaintyOf(5000, tt.e)
		if err != nil || math.Abs(u.SigmaM3-tt.want) > 5e-4 || u.ExpandedM3 != 2*u.SigmaM3 {
			t.Errorf("%s: %.4f m³, want %.4f (%v)", tt.name, u.SigmaM3, tt.want, err)
		}
	}
	for _, v := range [][3]float64{{.02, .02, .055437}, {.03, .015, .065740}, {.05, .02, .105549}} {
		near(t, "U6", DetectionLimitM(math.Hypot(v[0], v[1])), v[2], 2e-6)
	}
	for _, e := range []LevelError{{PointM: -1, Points: 3}, {PointM: math.NaN(), Points: 3}, {PointM: 1}} {
		if u, err := UncertaintyOf(100, e); err == nil {
			t.Errorf("%+v gave %+v", e, u)
		}
	}
}

func TestProfileThroughTwoSurfaces(t *testing.T) {
	hill, ground := pyramid(t, 6, level(50)), flat(t, 20, 10, level(50))
	got := Profile([]orb.Point{{-2, 5}, {15, 5}}, ground, hill)
	want := []struct{ d, ground, hill float64 }{{0, math.NaN(), math.NaN()}, {2, 50, 50}, {7, 50, 56}, {12, 50, 50}, {17, 50, math.NaN()}}
	k := 0
	for _, w := range want {
		for k < len(got) && got[k].ChainageM < w.d-1e-9 {
			k++
		}
		if k == len(got) {
			t.Fatalf("no place at %v m in %+v", w.d, got)
		}
		p := got[k]
		for i, v := range [2]float64{w.ground, w.hill} {
			if math.IsNaN(v) != math.IsNaN(p.LevelsM[i]) || !math.IsNaN(v) && math.Abs(v-p.LevelsM[i]) > 1e-9 {
				t.Errorf("at %v m surface %d lies at %v, want %v", w.d, i, p.LevelsM[i], v)
			}
		}
	}
}

func BenchmarkContours(b *testing.B) {
	s, _, err := FromSurvey(random(1_000_000, 1), Options{NoFlags: true})
	if err != nil {
		b.Fatal(err)
	}
	levels, err := s.ContourLevels(0.25)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.Contours(levels)
	}
}

func BenchmarkPonds(b *testing.B) {
	s, _, err := FromSurvey(random(1_000_000, 1), Options{NoFlags: true})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.Ponds(0.05, nil)
	}
}
