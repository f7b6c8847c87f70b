package tin

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"sync"
)

// Point is an input place with its level, metres. Levels do not influence the
// triangulation.
type Point struct{ X, Y, Z float64 }

// Errors of Build.
var (
	ErrTooFew    = errors.New("fewer than 3 different points: no surface")
	ErrCollinear = errors.New("all points lie on one straight line: no surface")
)

// Limits of Build: coordinates and number of points.
const (
	MaxCoordinate = 1e12 // metres, either way
	MaxPoints     = 300_000_000
)

// CoordinateError names a point that cannot be triangulated.
type CoordinateError struct {
	Index int // in the input
	X, Y  float64
}

func (e *CoordinateError) Error() string {
	return fmt.Sprintf("point %d has coordinates %v, %v: not finite or too large", e.Index+1, e.X, e.Y)
}

// tiny is flushed to zero so that products of four differences cannot underflow.
const tiny = 1.0 / (1 << 62) / (1 << 38) // 2^-100 m

// Build returns the Delaunay triangulation of the points. Points at exactly
// the same place share a vertex.
func Build(pts []Point) (*Mesh, error) {
	if len(pts) > MaxPoints {
		return nil, fmt.Errorf("%d points: the limit is %d", len(pts), MaxPoints)
	}
	m := &Mesh{}
	work, err := m.load(pts)
	if err != nil {
		return nil, err
	}
	if len(work) < 3 {
		return nil, ErrTooFew
	}
	wide := spread(work)
	partition(work, wide, forks(len(work)))
	m.number(work)
	n := int32(len(work))
	m.Origin = make([]int32, 3*(2*n-2))
	m.Twin = make([]int32, 3*(2*n-2))
	m.solve(0, n, wide, forks(len(work)))
	for t := 0; t < m.Slots(); t++ {
		if m.Real(t) {
			return m, nil
		}
	}
	return nil, ErrCollinear
}

// site is a point on its way into the mesh.
type site struct {
	x, y float64
	from int32
}

// load shifts the origin and leaves one site for each different place.
func (m *Mesh) load(pts []Point) ([]site, error) {
	minX, minY := math.Inf(1), math.Inf(1)
	for i, p := range pts {
		if !(math.Abs(p.X) <= MaxCoordinate && math.Abs(p.Y) <= MaxCoordinate) {
			return nil, &CoordinateError{i, p.X, p.Y}
		}
		minX, minY = math.Min(minX, p.X), math.Min(minY, p.Y)
	}
	if len(pts) == 0 {
		return nil, ErrTooFew
	}
	m.X0, m.Y0 = math.Floor(minX), math.Floor(minY)
	m.Vertex = make([]int32, len(pts))
	work := make([]site, 0, len(pts))
	seen := newPlaceSet(len(pts))
	for i, p := range pts {
		s := site{flush(p.X - m.X0), flush(p.Y - m.Y0), int32(i)}
		at, fresh := seen.add(work, s)
		if fresh {
			work = append(work, s)
		}
		m.Vertex[i] = at // position in work for now; number turns it into a vertex
	}
	return work, nil
}

func flush(v float64) float64 {
	if math.Abs(v) < tiny {
		return 0 // also turns -0 into 0
	}
	return v
}

// placeSet is an open-addressed set of places.
type placeSet struct {
	slots []int32 // position + 1
	shift uint
}

func newPlaceSet(n int) *placeSet {
	width := uint(bits.Len(uint(n))) + 1
	return &placeSet{make([]int32, 1<<width), 64 - width}
}

// add returns the position of the place in work, and whether it is new, in
// which case the caller appends it.
func (p *placeSet) add(work []site, s site) (int32, bool) {
	k := math.Float64bits(s.x)*0x9E3779B97F4A7C15 ^ bits.RotateLeft64(math.Float64bits(s.y)*0xC2B2AE3D27D4EB4F, 31)
	k *= 0x9E3779B97F4A7C15
	mask := uint64(len(p.slots) - 1)
	for i := k >> p.shift; ; i = (i + 1) & mask {
		at := p.slots[i]
		if at == 0 {
			p.slots[i] = int32(len(work)) + 1
			return int32(len(work)), true
		}
		if w := &work[at-1]; w.x == s.x && w.y == s.y {
			return at - 1, false
		}
	}
}

// number takes the partitioned sites over as vertices.
func (m *Mesh) number(work []site) {
	m.P = make([]XY, len(work))
	m.Source = make([]int32, len(work))
	// Every place remembers its first input index; through it the input
	// points that share it find their vertex.
	place := make([]int32, len(m.Vertex))
	for v, s := range work {
		m.P[v] = XY{s.x, s.y}
		m.Source[v] = s.from
		place[s.from] = int32(v)
	}
	first := make([]int32, 0, len(work))
	for i, at := range m.Vertex {
		if int(at) == len(first) { // positions appear in order of their first input
			first = append(first, int32(i))
		}
		m.Vertex[i] = place[first[at]]
	}
}

// spread returns the axis in which the sites reach farther.
func spread(work []site) int {
	minX, maxX := math.Inf(1), math.Inf(-1)
	minY, maxY := minX, maxX
	for _, s := range work {
		minX, maxX = math.Min(minX, s.x), math.Max(maxX, s.x)
		minY, maxY = math.Min(minY, s.y), math.Max(maxY, s.y)
	}
	if maxY-minY > maxX-minX {
		return 1
	}
	return 0
}

// forks returns how often the work is halved for goroutines. The result does
// not depend on it.
func forks(n int) int {
	if n < 20_000 {
		return 0
	}
	return 2
}

// both runs left and right, together while forks remain.
func both(forks int, left, right func(forks int)) {
	if forks == 0 {
		left(0)
		right(0)
		return
	}
	var wg sync.WaitGroup
	wg.Add(1)
	go func() {
		defer wg.Done()
		left(forks - 1)
	}()
	right(forks - 1)
	wg.Wait()
}
