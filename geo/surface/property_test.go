package surface

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
)

func shuffled(s *survey.Survey, seed uint64) *survey.Survey {
	out := *s
	out.Points = slices.Clone(s.Points)
	rand.New(rand.NewPCG(seed, 9)).Shuffle(len(out.Points), func(i, j int) { out.Points[i], out.Points[j] = out.Points[j], out.Points[i] })
	return &out
}

func moved(s *survey.Survey, e, n, z float64) *survey.Survey {
	out := *s
	out.Points = slices.Clone(s.Points)
	for i := range out.Points {
		out.Points[i].E += e
		out.Points[i].N += n
		out.Points[i].Level += z
	}
	return &out
}

// lattice is a regular grid of points with rough levels, on which every
// square is a tie for the triangulation.
func lattice(cols, rows int, step float64, seed uint64) *survey.Survey {
	r := rand.New(rand.NewPCG(seed, 4))
	s := &survey.Survey{Name: "lattice"}
	for j := range rows {
		for i := range cols {
			s.Points = append(s.Points, survey.Point{E: 430000 + float64(i)*step, N: 310000 + float64(j)*step, Level: 60 + math.Round(r.Float64()*1000)/1000})
		}
	}
	return s
}

// pairs are surveys to compare: irregular, regular, regular against irregular,
// two grids of different step.
func pairs(t *testing.T) map[string][2]*survey.Survey {
	return map[string][2]*survey.Survey{
		"irregular":         {readSurvey(t, reference+"t4_pre.csv"), readSurvey(t, reference+"t4_post.csv")},
		"regular, one step": {lattice(21, 16, 10, 1), lattice(21, 16, 10, 2)},
		"regular, two":      {lattice(21, 16, 10, 1), lattice(41, 31, 5, 3)},
		"mixed":             {lattice(21, 16, 10, 1), readSurvey(t, reference+"t4_post.csv")},
		"tenths":            {lattice(101, 76, 0.1, 1), lattice(51, 38, 0.2, 3)},
	}
}

func compare(t *testing.T, a, b *survey.Survey, within *plan.Polygon) Difference {
	t.Helper()
	d, err := Compare(surfaceOf(t, a, Options{NoFlags: true}), surfaceOf(t, b, Options{NoFlags: true}), within, CompareOptions{0.15, 0.02})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func same(a, b Difference) bool {
	ba, bb := *a.Band, *b.Band
	a.Band, b.Band = nil, nil
	return a == b && ba == bb
}

func TestOrderOfPointsChangesNothing(t *testing.T) {
	for name, p := range pairs(t) {
		t.Run(name, func(t *testing.T) {
			want := compare(t, p[0], p[1], nil)
			for seed := range uint64(3) {
				if got := compare(t, shuffled(p[0], seed), shuffled(p[1], seed+100), nil); !same(got, want) {
					t.Fatalf("seed %d: %+v, want the very same as %+v", seed, got, want)
				}
			}
		})
	}
}

func TestExchangingSurfacesExchangesFillAndCut(t *testing.T) {
	for name, p := range pairs(t) {
		t.Run(name, func(t *testing.T) {
			d, b := compare(t, p[0], p[1], nil), compare(t, p[1], p[0], nil)
			if d.FillM3 != b.CutM3 || d.CutM3 != b.FillM3 || d.FillAreaM2 != b.CutAreaM2 || d.CutAreaM2 != b.FillAreaM2 ||
				d.MaxDzM != -b.MinDzM || d.MinDzM != -b.MaxDzM || d.RMSM != b.RMSM || d.MeanM != -b.MeanM ||
				d.OnlyBeforeM2 != b.OnlyAfterM2 || d.Band.WithinAreaM2 != b.Band.WithinAreaM2 {
				t.Errorf("%+v against %+v", d, b)
			}
		})
	}
}

func TestMovingTheOriginChangesNothing(t *testing.T) {
	for name, p := range pairs(t) {
		t.Run(name, func(t *testing.T) {
			want := compare(t, p[0], p[1], nil)
			// Whole powers of two keep every digit of the coordinates.
			for _, m := range [][3]float64{{262144, -131072, 128}, {-430080, -309760, -64}} {
				got := compare(t, moved(p[0], m[0], m[1], m[2]), moved(p[1], m[0], m[1], m[2]), nil)
				near(t, "fill", got.FillM3, want.FillM3, 1e-10)
				near(t, "cut", got.CutM3, want.CutM3, 1e-10)
				near(t, "within", got.Band.WithinAreaM2, want.Band.WithinAreaM2, 1e-10)
				near(t, "rms", got.RMSM, want.RMSM, 1e-10)
			}
		})
	}
}

// Net volume is the difference of the prisms over any level, and the areas add up.
func TestNetIsTheDifferenceOfPrisms(t *testing.T) {
	for name, p := range pairs(t) {
		t.Run(name, func(t *testing.T) {
			a, b := surfaceOf(t, p[0], Options{NoFlags: true}), surfaceOf(t, p[1], Options{NoFlags: true})
			e0, n0, e1, n1 := a.Extent()
			f0, m0, f1, m1 := b.Extent()
			common := rectangle(t, max(e0, f0), max(n0, m0), min(e1, f1), min(n1, m1))
			d, err := Compare(a, b, common, CompareOptions{})
			if err != nil {
				t.Fatal(err)
			}
			for _, base := range []float64{0, 50, 61.3} {
				pa, _ := AboveLevel(a, base, common)
				pb, err := AboveLevel(b, base, common)
				if err != nil {
					t.Fatal(err)
				}
				near(t, fmt.Sprintf("net over %v", base), d.NetM3, pb.NetM3-pa.NetM3, 1e-9)
			}
			near(t, "areas", d.FillAreaM2+d.CutAreaM2, d.PlanAreaM2, 1e-9)
		})
	}
}

// Splitting the area asked for changes nothing in the sum.
func TestSplittingTheAreaChangesNothing(t *testing.T) {
	whole := boundary(t, "t5_boundary.csv")
	at := func(xy ...float64) orb.Ring {
		var r orb.Ring
		for i := 0; i < len(xy); i += 2 {
			r = append(r, orb.Point{430000 + xy[i], 310000 + xy[i+1]})
		}
		return append(r, r[0])
	}
	// The L with its hole cut along crooked lines through the hole.
	parts := []orb.Polygon{
		{at(20, 20, 77, 20, 75, 40, 60, 40, 60, 80, 75, 80, 70, 130, 20, 130)},
		{at(77, 20, 180, 20, 180, 70, 110, 70, 110, 130, 70, 130, 75, 80, 90, 80, 90, 40, 75, 40)},
	}
	for name, p := range pairs(t) {
		if name == "tenths" {
			continue // a plot of 10 m
		}
		t.Run(name, func(t *testing.T) {
			want := compare(t, p[0], p[1], whole)
			var fill, cut, within, area float64
			for _, part := range parts {
				poly, err := plan.NewPolygon(orb.MultiPolygon{part}, "part")
				if err != nil {
					t.Fatal(err)
				}
				d := compare(t, p[0], p[1], poly)
				fill, cut, within, area = fill+d.FillM3, cut+d.CutM3, within+d.Band.WithinAreaM2, area+d.PlanAreaM2
			}
			near(t, "area", area, 12200, 1e-11)
			near(t, "fill", fill, want.FillM3, 1e-9)
			near(t, "cut", cut, want.CutM3, 1e-9)
			near(t, "within", within, want.Band.WithinAreaM2, 1e-9)
		})
	}
}

// Turning the plan turns the triangulation with it when no four points share
// a circle; doubling the lengths makes eight times the volume.
func TestTurningAndScaling(t *testing.T) {
	p := pairs(t)["irregular"]
	want := compare(t, p[0], p[1], nil)
	change := func(s *survey.Survey, f func(p *survey.Point)) *survey.Survey {
		out := moved(s, -430000, -310000, 0)
		for i := range out.Points {
			f(&out.Points[i])
		}
		return out
	}
	sin, cos := math.Sincos(math.Pi / 6)
	turn := func(p *survey.Point) { p.E, p.N = cos*p.E-sin*p.N, sin*p.E+cos*p.N }
	got := compare(t, change(p[0], turn), change(p[1], turn), nil)
	// Rounding bends the straight hull sides by 1e-14 m, which moves the
	// covered area by as little.
	near(t, "turned: fill", got.FillM3, want.FillM3, 1e-9)
	near(t, "turned: cut", got.CutM3, want.CutM3, 1e-9)
	double := func(p *survey.Point) { p.E, p.N, p.Level = 2*p.E, 2*p.N, 2*p.Level }
	got = compare(t, change(p[0], double), change(p[1], double), nil)
	near(t, "doubled: fill", got.FillM3, 8*want.FillM3, 1e-12)
	near(t, "doubled: cut", got.CutM3, 8*want.CutM3, 1e-12)
}

// A grid file and the same cells as a list of points make the same surface.
func TestGridAndPointsAgree(t *testing.T) {
	s := lattice(31, 21, 2, 5)
	g := &survey.Grid{Cols: 31, Rows: 21, E0: 430000, N0: 310000, DE: 2, DN: 2}
	for _, p := range s.Points {
		g.Levels = append(g.Levels, p.Level)
	}
	cells := surfaceOf(t, &survey.Survey{Name: "cells", Grid: g, Points: g.Points()}, Options{})
	points := surfaceOf(t, s, Options{NoFlags: true})
	if !slices.Equal(triangleSet(cells), triangleSet(points)) {
		t.Fatal("other triangles")
	}
	d, err := Compare(cells, points, nil, CompareOptions{})
	if err != nil || d.FillM3 != 0 || d.CutM3 != 0 {
		t.Errorf("difference %+v, %v", d, err)
	}
}

// Sampling at random places is a check that shares no code with the overlay:
// within its own statistical error it must agree.
func TestAgainstSampling(t *testing.T) {
	a, b := fromFile(t, "t4_pre.csv", ""), fromFile(t, "t4_post.csv", "")
	within := boundary(t, "t5_boundary.csv")
	d, err := Compare(a, b, within, CompareOptions{0.15, 0})
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(8, 8))
	const n = 200_000
	var cut, cut2, in float64
	for range n {
		e, nn := 430020+160*r.Float64(), 310020+110*r.Float64()
		if !within.Contains(e, nn) {
			continue
		}
		za, okA := a.LevelAt(e, nn)
		zb, okB := b.LevelAt(e, nn)
		if !okA || !okB {
			t.Fatalf("no level at %v, %v", e, nn)
		}
		dz := max(za-zb, 0)
		cut, cut2 = cut+dz, cut2+dz*dz
		if math.Abs(zb-za) <= 0.15 {
			in++
		}
	}
	const box = 160 * 110
	sd := box * math.Sqrt((cut2/n-cut/n*cut/n)/n)
	if got := cut / n * box; math.Abs(got-d.CutM3) > 4*sd {
		t.Errorf("sampled cut %.1f ± %.1f, exact %.1f", got, sd, d.CutM3)
	}
	if got := in / n * box; math.Abs(got-d.Band.WithinAreaM2) > 4*box*0.5/math.Sqrt(n) {
		t.Errorf("sampled area %.1f, exact %.1f", got, d.Band.WithinAreaM2)
	}
}
