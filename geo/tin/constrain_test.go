package tin

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// randomLines draws short and long lines among and between points.
func randomLines(n int, seed uint64, x0, y0, size float64) []Line {
	r := rand.New(rand.NewPCG(seed, 5))
	var lines []Line
	for range n {
		x, y := r.Float64()*size, r.Float64()*size
		l := Line{}
		for range 2 + r.IntN(4) {
			l = append(l, Point{x0 + x, y0 + y, 10})
			x += (r.Float64() - 0.5) * size / 3
			y += (r.Float64() - 0.5) * size / 3
		}
		lines = append(lines, l)
	}
	return lines
}

func constrained(t *testing.T, pts []Point, lines []Line, limits NodeLimits) (*Mesh, *Network) {
	t.Helper()
	net, err := Node(pts, lines, limits)
	if err != nil {
		t.Fatal(err)
	}
	m, err := BuildConstrained(net.Points, net.Segments)
	if err != nil {
		t.Fatal(err)
	}
	return m, net
}

func TestConstrainedMesh(t *testing.T) {
	for name, pts := range inputs() {
		limits := NodeLimits{SnapM: 1e-6, Flat: true}
		if name == "tiny square" || name == "grid nudged by 1e-9" || name == "two clusters" {
			continue // nearer than the snap distance
		}
		b := Box{math.Inf(1), math.Inf(1), 0, 0}
		far := Box{MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
		for _, p := range pts {
			b.MinX, b.MinY = min(b.MinX, p.X), min(b.MinY, p.Y)
			far.MaxX, far.MaxY = max(far.MaxX, p.X), max(far.MaxY, p.Y)
		}
		size := max(far.MaxX-b.MinX, far.MaxY-b.MinY)
		lines := randomLines(25, 11, b.MinX, b.MinY, size)
		lines = append(lines, Line{{b.MinX, b.MinY, 10}, {b.MinX + size, b.MinY + size, 10}}) // through the grids' points
		t.Run(name, func(t *testing.T) {
			m, net := constrained(t, pts, lines, limits)
			if err := m.Check(); err != nil {
				t.Fatal(err)
			}
			checkChains(t, m, net)
			want := triangleSet(m)
			r := rand.New(rand.NewPCG(3, 3))
			for range 3 {
				again := slices.Clone(lines)
				r.Shuffle(len(again), func(i, j int) { again[i], again[j] = again[j], again[i] })
				for i := range again {
					if r.IntN(2) == 0 {
						again[i] = slices.Clone(again[i])
						slices.Reverse(again[i])
					}
				}
				other, _ := constrained(t, shuffled(pts, r.Uint64()), again, limits)
				if !slices.Equal(triangleSet(other), want) {
					t.Fatal("the order of points or lines changes the triangles")
				}
				if !slices.Equal(other.Origin, m.Origin) {
					t.Fatal("the order of points or lines changes the numbering")
				}
			}
		})
	}
}

// checkChains verifies that every segment is made of fixed edges.
func checkChains(t *testing.T, m *Mesh, net *Network) {
	t.Helper()
	for _, s := range net.Segments {
		a, b := m.Vertex[s[0]], m.Vertex[s[1]]
		for a != b {
			h, end, ok := (&constrainer{Mesh: m}).leave(a, b)
			if !ok || end == Outside || !m.Fixed(h) {
				t.Fatalf("segment %v is not an edge at vertex %d", s, a)
			}
			a = end
		}
	}
}

func TestBuildConstrainedRefusesACrossing(t *testing.T) {
	pts := lattice(2, 2, 0, 0, 1)
	_, err := BuildConstrained(pts, []Segment{{0, 3}, {1, 2}})
	var ce *CrossingError
	if !errors.As(err, &ce) {
		t.Fatalf("got %v, want a crossing error", err)
	}
}

func TestNodeLevels(t *testing.T) {
	corner := []Point{{0, 0, 0}, {10, 0, 0}, {10, 10, 0}, {0, 10, 0}}
	tests := []struct {
		name     string
		points   []Point
		lines    []Line
		level    float64 // of the point at 5, 5
		gap      float64 // refused with this gap when not 0
		crossing bool
	}{
		{"two lines cross at one level", corner, []Line{{{0, 5, 1}, {10, 5, 3}}, {{5, 0, 0}, {5, 10, 4}}}, 2, 0, false},
		{"15 mm apart: the line first by coordinates", corner, []Line{{{5, 0, 0}, {5, 10, 4}}, {{0, 5, 1.015}, {10, 5, 3.015}}}, 2.015, 0, false},
		{"25 mm apart is refused", corner, []Line{{{0, 5, 1}, {10, 5, 3}}, {{5, 0, 0}, {5, 10, 4.05}}}, 0, 0.025, true},
		{"a line through a point takes its level", append(corner, Point{5, 5, 2.010}), []Line{{{0, 5, 1}, {10, 5, 3}}}, 2.010, 0, false},
		{"a point 0.9 mm beside the line", append(corner, Point{5, 5.0009, 2.010}), []Line{{{0, 5, 1}, {10, 5, 3}}}, 2.010, 0, false},
		{"a line through a point 30 mm higher", append(corner, Point{5, 5, 2.03}), []Line{{{0, 5, 1}, {10, 5, 3}}}, 0, 0.03, false},
		{"a line's corner on a point 30 mm lower", append(corner, Point{5, 5, 1.97}), []Line{{{0, 5, 1}, {5, 5, 2}, {10, 5, 3}}}, 0, 0.03, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			net, err := Node(tt.points, tt.lines, DefaultLimits())
			var gaps LevelGapErrors
			if tt.gap != 0 {
				if !errors.As(err, &gaps) || len(gaps) != 1 {
					t.Fatalf("got %v, want one gap", err)
				}
				g := gaps[0]
				if math.Abs(math.Abs(g.Level-g.Other)-tt.gap) > 1e-12 || g.Crossing != tt.crossing || math.Hypot(g.X-5, g.Y-5) > 1e-12 {
					t.Fatalf("got %+v", g)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			near := newNearGrid(0.001, 10)
			for i := range net.Points {
				near.add(net.Points, int32(i))
			}
			i, ok := near.nearest(net.Points, Point{X: 5, Y: 5})
			if !ok || math.Abs(net.Points[i].Z-tt.level) > 1e-12 {
				t.Fatalf("level at 5, 5: %v %v, want %v", ok, net.Points[i], tt.level)
			}
		})
	}
}

func TestNodeListsEveryGap(t *testing.T) {
	var lines []Line
	for i := range 5 {
		y := float64(i)
		lines = append(lines, Line{{0, y, y}, {10, y, y}})
	}
	lines = append(lines, Line{{5, -1, 2}, {5, 9, 2}})
	_, err := Node(nil, lines, DefaultLimits())
	var gaps LevelGapErrors
	if !errors.As(err, &gaps) || len(gaps) != 4 {
		t.Fatalf("got %v, want the four lines at another level than 2", err)
	}
}

func TestLocate(t *testing.T) {
	for name, pts := range inputs() {
		t.Run(name, func(t *testing.T) {
			m, err := Build(pts)
			if err != nil {
				t.Fatal(err)
			}
			from := 0
			for _, p := range pts {
				tri, ok := m.Locate(p.X, p.Y, from)
				if !ok {
					t.Fatalf("input point %v not found", p)
				}
				if _, out := m.exit(tri, 0, flush(p.X-m.X0), flush(p.Y-m.Y0)); out {
					t.Fatalf("point %v is outside the triangle found", p)
				}
				from = tri
			}
			if _, ok := m.Locate(pts[0].X-1e6, pts[0].Y, 0); ok {
				t.Error("a place far away was found")
			}
		})
	}
}

func BenchmarkConstrained(b *testing.B) {
	// A million jittered points, every tenth row a line: 99,900 edges.
	pts := lattice(1000, 1000, 6e5, 5.5e6, 1)
	r := rand.New(rand.NewPCG(42, 0))
	for i := range pts {
		pts[i].X += (r.Float64() - 0.5) * 0.8
		pts[i].Y += (r.Float64() - 0.5) * 0.8
	}
	var segs []Segment
	var lines []Line
	for row := 5; row < 1000; row += 10 {
		l := Line{pts[row*1000]}
		for i := 1; i < 1000; i++ {
			segs = append(segs, Segment{int32(row*1000 + i - 1), int32(row*1000 + i)})
			l = append(l, pts[row*1000+i])
		}
		lines = append(lines, l)
	}
	b.Run("insert", func(b *testing.B) {
		for b.Loop() {
			if _, err := BuildConstrained(pts, segs); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("node", func(b *testing.B) {
		for b.Loop() {
			if _, err := Node(pts, lines, DefaultLimits()); err != nil {
				b.Fatal(err)
			}
		}
	})
}
