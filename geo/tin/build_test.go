package tin

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func random(n int, seed uint64, x0, y0, size float64) []Point {
	r := rand.New(rand.NewPCG(seed, 1))
	pts := make([]Point, n)
	for i := range pts {
		pts[i] = Point{x0 + r.Float64()*size, y0 + r.Float64()*size, 0}
	}
	return pts
}

func roundMM(pts []Point) []Point {
	for i := range pts {
		pts[i].X = math.Round(pts[i].X*1000) / 1000
		pts[i].Y = math.Round(pts[i].Y*1000) / 1000
	}
	return pts
}

func lattice(cols, rows int, x0, y0, step float64) []Point {
	pts := make([]Point, 0, cols*rows)
	for j := range rows {
		for i := range cols {
			pts = append(pts, Point{x0 + float64(i)*step, y0 + float64(j)*step, 0})
		}
	}
	return pts
}

func shuffled(pts []Point, seed uint64) []Point {
	out := slices.Clone(pts)
	rand.New(rand.NewPCG(seed, 2)).Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

func circle(n int, x0, y0, r float64) []Point {
	pts := make([]Point, n)
	for i := range pts {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		pts[i] = Point{x0 + r*c, y0 + r*s, 0}
	}
	return pts
}

// inputs are point sets that have broken triangulators, most of them at
// E 600000 N 5500000, where a careless product loses half a square millimetre.
func inputs() map[string][]Point {
	const e, n = 600000, 5500000
	jittered := lattice(90, 90, e, n, 10)
	r := rand.New(rand.NewPCG(7, 7))
	for i := range jittered {
		jittered[i].X += r.Float64()
		jittered[i].Y += r.Float64()
	}
	duplicated := append(roundMM(random(2000, 3, e, n, 100)), roundMM(random(2000, 3, e, n, 100))...)
	collinear := append(lattice(500, 1, e, n, 0.001), Point{e + 3, n + 4, 0})
	diagonal := make([]Point, 0, 301)
	for i := range 300 {
		diagonal = append(diagonal, Point{e + float64(i), n + 2*float64(i), 0})
	}
	diagonal = append(diagonal, Point{e + 10, n, 0})
	pythagoras := []Point{}
	for _, v := range [][2]float64{{65, 0}, {63, 16}, {60, 25}, {56, 33}, {52, 39}, {39, 52}, {33, 56}, {25, 60}, {16, 63}, {0, 65}} {
		for _, s := range [][2]float64{{1, 1}, {-1, 1}, {1, -1}, {-1, -1}} {
			pythagoras = append(pythagoras, Point{e + s[0]*v[0], n + s[1]*v[1], 0})
		}
	}
	nudged := lattice(40, 40, e, n, 1)
	for i := range nudged {
		nudged[i].X += float64(i%3-1) * 1e-9
	}
	rotated := lattice(60, 60, 0, 0, 1)
	for i, p := range rotated {
		rotated[i] = Point{e + 0.6*p.X - 0.8*p.Y, n + 0.8*p.X + 0.6*p.Y, 0}
	}
	clusters := append(random(1500, 4, e, n, 1e-3), random(1500, 5, e+1e4, n+1e4, 1e4)...)
	return map[string][]Point{
		"three points":         {{e, n, 0}, {e + 1, n, 0}, {e, n + 1, 0}},
		"random":               random(5000, 1, e, n, 1000),
		"random to the mm":     roundMM(random(20000, 2, e, n, 300)),
		"jittered grid":        jittered,
		"exact grid":           lattice(120, 80, e, n, 10),
		"grid with tenths":     lattice(100, 100, e+0.1, n+0.3, 0.1),
		"turned grid":          rotated,
		"grid nudged by 1e-9":  nudged,
		"duplicated":           duplicated,
		"all but one in line":  collinear,
		"line across the plan": diagonal,
		"floats on a circle":   circle(1000, e, n, 50),
		"exactly on a circle":  pythagoras,
		"two clusters":         clusters,
		"unit square":          random(3000, 6, 0, 0, 1),
		"tiny square":          random(3000, 8, 0, 0, 1e-30),
		"about zero":           random(3000, 9, -0.5, -0.5, 1),
		"two rows":             lattice(400, 2, e, n, 0.5),
		"two columns":          lattice(2, 400, e, n, 0.5),
	}
}

func TestBuildIsDelaunay(t *testing.T) {
	for name, pts := range inputs() {
		t.Run(name, func(t *testing.T) {
			m, err := Build(pts)
			if err != nil {
				t.Fatal(err)
			}
			if err := m.Check(); err != nil {
				t.Fatal(err)
			}
			got, want := m.Area2()
			if math.Abs(got-want) > 1e-12*want {
				t.Errorf("triangles cover %v, hull %v", got/2, want/2)
			}
			for i, p := range pts {
				v := m.Vertex[i]
				if q := m.P[v]; q.X != flush(p.X-m.X0) || q.Y != flush(p.Y-m.Y0) {
					t.Fatalf("input %d at %v became vertex %d at %v", i, p, v, q)
				}
			}
		})
	}
}

// triangleSet lists triangles by the coordinates of their corners, sorted:
// what the triangulation is, apart from numbering.
func triangleSet(m *Mesh) []string {
	var out []string
	for _, tri := range m.Triangles() {
		k := 0
		for i := range 3 {
			if p, q := m.P[tri[i]], m.P[tri[k]]; less(p.X, p.Y, q.X, q.Y) {
				k = i
			}
		}
		s := ""
		for i := range 3 {
			p := m.P[tri[(k+i)%3]]
			s += fmt.Sprint(p.X+m.X0, p.Y+m.Y0, ";")
		}
		out = append(out, s)
	}
	slices.Sort(out)
	return out
}

func TestBuildDependsOnThePointSetAlone(t *testing.T) {
	for name, pts := range inputs() {
		t.Run(name, func(t *testing.T) {
			want, err := Build(pts)
			if err != nil {
				t.Fatal(err)
			}
			for seed := range uint64(4) {
				got, err := Build(shuffled(pts, seed))
				if err != nil {
					t.Fatal(err)
				}
				if !slices.Equal(got.P, want.P) || !slices.Equal(got.Origin, want.Origin) || !slices.Equal(got.Twin, want.Twin) {
					t.Fatalf("seed %d: another numbering", seed)
				}
			}
		})
	}
}

// The symbolic rule must give the same triangles however the plane is cut, so
// turn the cuts by a quarter by swapping which axis goes first.
func TestBuildDoesNotDependOnTheCuts(t *testing.T) {
	for name, pts := range inputs() {
		t.Run(name, func(t *testing.T) {
			want, err := Build(pts)
			if err != nil {
				t.Fatal(err)
			}
			m := &Mesh{}
			work, _ := m.load(pts)
			other := 1 - spread(work)
			partition(work, other, 0)
			m.number(work)
			n := int32(len(work))
			m.Origin, m.Twin = make([]int32, 6*n-6), make([]int32, 6*n-6)
			m.solve(0, n, other, 0)
			if err := m.Check(); err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(triangleSet(m), triangleSet(want)) {
				t.Fatal("other cuts give other triangles")
			}
		})
	}
}

func TestBuildRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	tests := []struct {
		name string
		pts  []Point
		want error
	}{
		{"nothing", nil, ErrTooFew},
		{"two points", []Point{{0, 0, 0}, {1, 1, 0}}, ErrTooFew},
		{"one place three times", []Point{{5, 5, 0}, {5, 5, 1}, {5, 5, 2}}, ErrTooFew},
		{"three in line", []Point{{0, 0, 0}, {1, 2, 0}, {2, 4, 0}}, ErrCollinear},
		{"a thousand in line", lattice(1000, 1, 6e5, 5.5e6, 0.25), ErrCollinear},
		{"a column", lattice(1, 999, 6e5, 5.5e6, 0.25), ErrCollinear},
		{"not a number", []Point{{0, 0, 0}, {nan, 1, 0}, {1, 0, 0}}, new(CoordinateError)},
		{"infinite", []Point{{0, 0, 0}, {0, inf, 0}, {1, 0, 0}}, new(CoordinateError)},
		{"off the earth", []Point{{0, 0, 0}, {0, 1e13, 0}, {1, 0, 0}}, new(CoordinateError)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Build(tt.pts)
			var ce *CoordinateError
			if _, wantCE := tt.want.(*CoordinateError); wantCE {
				if !errors.As(err, &ce) {
					t.Fatalf("got %v, want a coordinate error", err)
				}
			} else if !errors.Is(err, tt.want) {
				t.Fatalf("got %v, want %v", err, tt.want)
			}
		})
	}
}

// A grid's diagonal by the tie rule, worked by hand: of the corners of each
// cell the one up and right is raised, so the diagonal joins the other pair.
func TestGridDiagonal(t *testing.T) {
	m, err := Build(lattice(2, 2, 0, 0, 1))
	if err != nil {
		t.Fatal(err)
	}
	v := func(i int) int32 { return m.Vertex[i] }
	if _, ok := m.Edge(v(1), v(2)); !ok {
		t.Error("no edge from lower right to upper left")
	}
	if _, ok := m.Edge(v(0), v(3)); ok {
		t.Error("edge from lower left to upper right")
	}
}

func BenchmarkBuild(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000, 5_000_000} {
		b.Run(fmt.Sprintf("random-%d", n), func(b *testing.B) { benchBuild(b, random(n, 42, 0, 0, 1000)) })
	}
	b.Run("grid-1000x1000", func(b *testing.B) { benchBuild(b, lattice(1000, 1000, 6e5, 5.5e6, 1)) })
	b.Run("grid-tenths-1000x1000", func(b *testing.B) { benchBuild(b, lattice(1000, 1000, 6e5+0.1, 5.5e6+0.3, 0.1)) })
	b.Run("mm-1000000", func(b *testing.B) { benchBuild(b, roundMM(random(1_000_000, 42, 6e5, 5.5e6, 1000))) })
}

func benchBuild(b *testing.B, pts []Point) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Build(pts); err != nil {
			b.Fatal(err)
		}
	}
}
