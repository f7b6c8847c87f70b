package surface

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/survey"
)

func TestFromSurveyRefuses(t *testing.T) {
	corner := []survey.Point{{E: 0, N: 0}, {E: 10, N: 0, Row: 3}, {E: 10, N: 10}, {E: 0, N: 10}}
	line := func(xyz ...float64) survey.Breakline {
		l := survey.Breakline{Name: "L"}
		for i := 0; i < len(xyz); i += 3 {
			l.Vertices = append(l.Vertices, survey.Vertex{E: xyz[i], N: xyz[i+1], Level: xyz[i+2]})
		}
		return l
	}
	grid := &survey.Grid{Cols: 2, Rows: 2, DE: 1, DN: 1, Levels: []float64{1, 2, 3, 4}}
	tests := []struct {
		name string
		s    survey.Survey
		opts Options
		want string
	}{
		{"two points", survey.Survey{Points: corner[:2]}, Options{}, "fewer than 3"},
		{"in one line", survey.Survey{Points: []survey.Point{{E: 1, N: 1}, {E: 2, N: 2}, {E: 3, N: 3}}}, Options{}, "one straight line"},
		{"two levels", survey.Survey{Points: append(corner[:4:4], survey.Point{E: 10, N: 0, Level: 1, Row: 9})}, Options{}, "line 9"},
		{"lines that cross apart", survey.Survey{Points: corner}, Options{Breaklines: []survey.Breakline{line(0, 5, 0, 10, 5, 0), line(5, 0, 0, 5, 10, 2)}}, "1000 mm apart"},
		{"line in another grid", survey.Survey{Points: corner}, Options{Breaklines: []survey.Breakline{line(-1.5, 52.5, 0, -1.4, 5200, 0)}}, "own grid"},
		{"lines in a grid", survey.Survey{Grid: grid, Points: grid.Points()}, Options{Breaklines: []survey.Breakline{line(0, 0, 0, 1, 1, 0)}}, "leave them out"},
		{"faces without area", survey.Survey{Points: corner, Faces: [][3]int32{{0, 0, 1}}}, Options{}, "no triangle"},
		{"faces beyond the points", survey.Survey{Points: corner, Faces: [][3]int32{{0, 1, 4}}}, Options{}, "point 5 of 4"},
		{"boundary elsewhere", survey.Survey{Points: corner, Boundary: [][]survey.Vertex{{{E: 50, N: 50}, {E: 60, N: 50}, {E: 60, N: 60}, {E: 50, N: 50}}}}, Options{}, "boundary"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.s.Name = "site.csv"
			_, _, err := FromSurvey(&tt.s, tt.opts)
			if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), "site.csv") {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}

func TestSurveyBoundaryCutsTheSurface(t *testing.T) {
	s := readSurvey(t, reference+"t4_pre.csv")
	s.Boundary = [][]survey.Vertex{{{E: 430020, N: 310020}, {E: 430120, N: 310020}, {E: 430120, N: 310070}, {E: 430020, N: 310070}, {E: 430020, N: 310020}}}
	cut, all := surfaceOf(t, s, Options{}), fromFile(t, "t4_pre.csv", "")
	near(t, "area", cut.PlanAreaM2(), 5000, 1e-12)
	a, err := AboveLevel(cut, 50, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := AboveLevel(all, 50, rectangle(t, 430020, 310020, 430120, 310070))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "volume", a.FillM3, b.FillM3, 1e-12)
	if _, ok := cut.LevelAt(430019.9, 310050); ok {
		t.Error("a level outside the boundary")
	}
}

func TestNoCommonGround(t *testing.T) {
	a := flat(t, 10, 10, level(0))
	b := sheet(t, at(level(1), 430000, 310000, 430010, 310000, 430010, 310010), [3]int32{0, 1, 2})
	for name, err := range map[string]error{
		"surfaces": func() error { _, err := Compare(a, b, nil, CompareOptions{}); return err }(),
		"area":     func() error { _, err := AboveLevel(a, 0, rectangle(t, 50, 50, 60, 60)); return err }(),
		"touching": func() error {
			_, err := Compare(a, sheet(t, at(level(0), 10, 0, 20, 0, 10, 10), [3]int32{0, 1, 2}), nil, CompareOptions{})
			return err
		}(),
	} {
		if !errors.Is(err, ErrNoOverlap) {
			t.Errorf("%s: %v, want no common ground", name, err)
		}
	}
	for _, o := range []CompareOptions{{ToleranceM: -1}, {ToleranceM: math.NaN()}, {ToleranceM: 1, AccuracyM: math.Inf(1)}} {
		if _, err := Compare(a, a, nil, o); err == nil {
			t.Errorf("%+v was accepted", o)
		}
	}
}

func TestLevelAndSlope(t *testing.T) {
	// Rises 0.3 per metre east and falls 0.4 per metre north.
	s := flat(t, 10, 10, func(x, y float64) float64 { return 50 + 0.3*x - 0.4*y })
	for _, p := range [][2]float64{{5, 5}, {0, 0}, {10, 10}, {10, 3}, {7.5, 2.5}} {
		z, ok := s.LevelAt(p[0], p[1])
		if !ok {
			t.Fatalf("no level at %v", p)
		}
		near(t, "level", z, 50+0.3*p[0]-0.4*p[1], 1e-13)
	}
	ratio, fall, ok := s.SlopeAt(3, 2)
	if !ok {
		t.Fatal("no slope")
	}
	near(t, "slope, 3-4-5", ratio, 0.5, 1e-13)
	near(t, "falls to the north-west by 36.87 deg", fall, 360-math.Atan2(0.3, 0.4)*180/math.Pi, 1e-13)
	if _, ok := s.LevelAt(10.001, 5); ok {
		t.Error("a level off the surface")
	}
	low, high := s.Levels()
	near(t, "lowest", low, 46, 1e-13)
	near(t, "highest", high, 53, 1e-13)
}

// Frustum 20 × 20 to 10 × 10, 3 high: 700 m³, faces 3 up over 5.
func TestStockpileBases(t *testing.T) {
	c := append(at(level(50), 0, 0, 20, 0, 20, 20, 0, 20), at(level(53), 5, 5, 15, 5, 15, 15, 5, 15)...)
	mound := sheet(t, c, [3]int32{0, 1, 5}, [3]int32{0, 5, 4}, [3]int32{1, 2, 6}, [3]int32{1, 6, 5}, [3]int32{2, 3, 7},
		[3]int32{2, 7, 6}, [3]int32{3, 0, 4}, [3]int32{3, 4, 7}, [3]int32{4, 5, 6}, [3]int32{4, 6, 7})
	ring := []survey.Vertex{{E: 0, N: 0, Level: 50}, {E: 20, N: 0, Level: 50}, {E: 20, N: 20, Level: 50}, {E: 0, N: 20, Level: 50}}
	for name, base := range map[string]Base{"level": LevelBase(50), "surface": SurfaceBase(flat(t, 20, 20, level(50))), "toe": ToeBase(ring)} {
		m, err := Stockpile(mound, base, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": volume", m.VolumeM3, 700, 1e-12)
		near(t, name+": height", m.HeightM, 3, 1e-12)
		near(t, name+": steepest", m.SteepestFaceRatio, 0.6, 1e-12)
		near(t, name+": footprint", m.FootprintM2, 400, 1e-12)
		if m.Base != name || m.BelowBaseM3 != 0 {
			t.Errorf("%s: %+v", name, m)
		}
	}
	m, err := Stockpile(mound, ToeFromSurface(), rectangle(t, 0, 0, 20, 20))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "toe from the outline", m.VolumeM3, 700, 1e-12)
	for want, try := range map[string]func() error{
		"leaves the surveyed surface": func() error { _, err := Stockpile(mound, ToeFromSurface(), rectangle(t, -5, 0, 20, 20)); return err },
		"give the area":               func() error { _, err := Stockpile(mound, ToeFromSurface(), nil); return err },
		"no level": func() error {
			_, err := Stockpile(mound, ToeBase([]survey.Vertex{{E: 0, N: 0, Level: math.NaN()}, {E: 1}, {N: 1}}), nil)
			return err
		},
		"crosses itself": func() error {
			_, err := Stockpile(mound, ToeBase([]survey.Vertex{{E: 0, N: 0}, {E: 10, N: 10}, {E: 10, N: 0}, {E: 0, N: 10}}), nil)
			return err
		},
		"no base": func() error { _, err := Stockpile(mound, Base{}, nil); return err },
	} {
		if err := try(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("got %v, want %q", err, want)
		}
	}
}

// On a slope the toe ring is tilted: a mound on a tilted plane measures the
// same as on the level.
func TestToeOnASlope(t *testing.T) {
	tilt := func(x, y float64) float64 { return 50 + 0.2*x - 0.1*y }
	m, err := Stockpile(pyramid(t, 6, tilt), ToeFromSurface(), rectangle(t, 0, 0, 10, 10))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "volume", m.VolumeM3, 200, 1e-12)
	near(t, "height over the base", m.HeightM, 6, 1e-12)
}

func TestSection(t *testing.T) {
	s := pyramid(t, 6, level(50))
	got := s.Section([]orb.Point{{-2, 5}, {12, 5}})
	want := []SectionPoint{{0, -2, 5, 0, true}, {2, 0, 5, 50, false}, {7, 5, 5, 56, false}, {12, 10, 5, 50, false}, {12, 10, 5, 0, true}}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, p := range got {
		w := want[i]
		if p.Gap != w.Gap || math.Abs(p.ChainageM-w.ChainageM) > 1e-12 || math.Abs(p.E-w.E) > 1e-12 || (!w.Gap && math.Abs(p.LevelM-w.LevelM) > 1e-12) {
			t.Errorf("point %d: %+v, want %+v", i, p, w)
		}
	}
	// Round a corner inside, along edges, and there and back.
	for _, line := range [][]orb.Point{{{1, 1}, {9, 1}, {9, 9}}, {{0, 0}, {10, 10}}, {{0, 0}, {10, 0}, {10, 10}}, {{2, 5}, {8, 5}, {2, 5}}} {
		last := -1.0
		for _, p := range s.Section(line) {
			if p.Gap {
				t.Fatalf("%v: gap at %+v", line, p)
			}
			if p.ChainageM <= last {
				t.Errorf("%v: chainage %v after %v", line, p.ChainageM, last)
			}
			last = p.ChainageM
			z, ok := s.LevelAt(p.E, p.N)
			if !ok || math.Abs(z-p.LevelM) > 1e-9 {
				t.Errorf("%v: level %v at %+v", line, z, p)
			}
		}
		length := 0.0
		for i := 1; i < len(line); i++ {
			length += math.Hypot(line[i][0]-line[i-1][0], line[i][1]-line[i-1][1])
		}
		near(t, "length", last, length, 1e-12)
	}
}

func TestSectionAgreesWithLevels(t *testing.T) {
	s := fromFile(t, "t6_pre.csv", "")
	r := rand.New(rand.NewPCG(5, 5))
	for range 50 {
		line := []orb.Point{}
		for range 4 {
			line = append(line, orb.Point{430000 + 450*r.Float64(), 310000 + 320*r.Float64()})
		}
		pts := s.Section(line)
		for i := 1; i < len(pts); i++ {
			p, q := pts[i-1], pts[i]
			if p.Gap || q.Gap {
				t.Fatal("a gap inside the survey")
			}
			z, _ := s.LevelAt((p.E+q.E)/2, (p.N+q.N)/2)
			corner := q.ChainageM - p.ChainageM - math.Hypot(q.E-p.E, q.N-p.N)
			if math.Abs(z-(p.LevelM+q.LevelM)/2) > 1e-7 || math.Abs(corner) > 1e-7 {
				t.Fatalf("between %+v and %+v the level is %v", p, q, z)
			}
		}
	}
}

func TestRaster(t *testing.T) {
	a, b := fromFile(t, "t4_pre.csv", ""), fromFile(t, "t4_post.csv", "")
	f, err := FrameFor(a, b, 0.5)
	if err != nil || f.Cols != 400 || f.Rows != 300 {
		t.Fatalf("%+v %v", f, err)
	}
	within := boundary(t, "t5_boundary.csv")
	g := DifferenceRaster(a, b, within, f)
	r := rand.New(rand.NewPCG(6, 6))
	for range 2000 {
		i := r.IntN(len(g.Levels))
		e, n := g.Centre(i%g.Cols, i/g.Cols)
		za, _ := a.LevelAt(e, n)
		zb, _ := b.LevelAt(e, n)
		switch in := within.Contains(e, n); {
		case !in && !math.IsNaN(g.Levels[i]):
			t.Fatalf("a value outside the area at %v, %v", e, n)
		case in && !(math.Abs(g.Levels[i]-(zb-za)) < 1e-9):
			t.Fatalf("%v at %v, %v, want %v", g.Levels[i], e, n, zb-za)
		}
	}
	// Sampled cut agrees to the 1e-3 or so that half-metre cells can give.
	var cut float64
	for _, v := range DifferenceRaster(a, b, nil, f).Levels {
		if math.IsNaN(v) {
			t.Fatal("a hole in the picture of a full rectangle")
		}
		cut += max(-v, 0) * 0.25
	}
	near(t, "sampled cut", cut, 11804.527, 1e-3)
	if _, err := FrameFor(a, b, 0.0001); err == nil {
		t.Error("a picture of billions of cells was accepted")
	}
}

// random makes a survey of n points over a square.
func random(n int, seed uint64) *survey.Survey {
	r := rand.New(rand.NewPCG(seed, 3))
	s := &survey.Survey{Name: "random", Points: make([]survey.Point, n)}
	for i := range s.Points {
		e, n := 1000*r.Float64(), 1000*r.Float64()
		s.Points[i] = survey.Point{E: 430000 + e, N: 310000 + n, Level: 60 + math.Sin(e/40+float64(seed))*math.Cos(n/60) + 0.002*r.Float64()}
	}
	return s
}

func BenchmarkCompare(b *testing.B) {
	pre, post := fromFile(b, "t6_pre.csv", ""), fromFile(b, "t6_post.csv", "")
	run := func(b *testing.B, pre, post *Surface) {
		for b.Loop() {
			if _, err := Compare(pre, post, nil, CompareOptions{ToleranceM: 0.15, AccuracyM: 0.02}); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.Run("t6", func(b *testing.B) { run(b, pre, post) })
	for _, n := range []int{100_000, 1_000_000} {
		b.Run(fmt.Sprintf("random-%d", n), func(b *testing.B) {
			b.StopTimer()
			p, _, err := FromSurvey(random(n, 1), Options{NoFlags: true})
			if err != nil {
				b.Fatal(err)
			}
			q, _, err := FromSurvey(random(n, 2), Options{NoFlags: true})
			if err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
			run(b, p, q)
		})
	}
}

func BenchmarkFromSurvey(b *testing.B) {
	s := random(1_000_000, 1)
	for name, opts := range map[string]Options{"flags": {}, "no-flags": {NoFlags: true}} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := FromSurvey(s, opts); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkRaster(b *testing.B) {
	s, _, err := FromSurvey(random(1_000_000, 1), Options{NoFlags: true})
	if err != nil {
		b.Fatal(err)
	}
	f := Frame{2000, 2000, 430000.25, 310000.25, 0.5, 0.5}
	b.ResetTimer()
	for b.Loop() {
		s.Raster(f)
	}
}
