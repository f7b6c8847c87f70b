package surface

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Contour is a line on which the surface has one level, lower ground on its
// right hand. It ends at the edge of the surface or is closed.
type Contour struct {
	LevelM float64
	Closed bool
	Line   []orb.Point // grid metres; a closed line repeats its first place at its end
}

// LengthM returns the plan length of the line.
func (c *Contour) LengthM() float64 {
	var sum total
	for i := 1; i < len(c.Line); i++ {
		sum.add(math.Hypot(c.Line[i][0]-c.Line[i-1][0], c.Line[i][1]-c.Line[i-1][1]))
	}
	return sum.value()
}

// maxContourLevels bounds one drawing.
const maxContourLevels = 10_000

// ContourLevels returns the whole multiples of an interval, in metres, between
// the lowest and the highest level of the surface.
func (s *Surface) ContourLevels(intervalM float64) ([]float64, error) {
	low, high := s.Levels()
	if !(intervalM > 0) || (high-low)/intervalM > maxContourLevels {
		return nil, fmt.Errorf("contour interval %v m: must be above 0 and give at most %d levels between %.3f and %.3f m", intervalM, maxContourLevels, low, high)
	}
	var out []float64
	for k := math.Ceil(low / intervalM); k*intervalM <= high; k++ {
		out = append(out, k*intervalM)
	}
	return out, nil
}

// crossing is a piece of a contour over one triangle, from edge to edge.
type crossing struct{ from, to [2]int32 }

// Contours returns the lines of the levels given, metres, in their order. A
// corner counts as below a level only when it is lower, so that lines never
// branch, cross or break, whatever corners lie on the level; flat ground at
// the level is bounded on its lower side.
func (s *Surface) Contours(levelsM []float64) []Contour {
	id := s.welded()
	var out []Contour
	for _, level := range levelsM {
		var pieces []crossing
		z := level - s.z0
		for _, t := range s.tri {
			if c, ok := s.crossingOf(t, id, z); ok {
				pieces = append(pieces, c)
			}
		}
		out = append(out, s.chain(pieces, id, z, level)...)
	}
	return out
}

// crossingOf returns where the level enters and leaves a triangle: from the
// edge that falls below it to the one that rises above, anticlockwise.
func (s *Surface) crossingOf(t [3]int32, id []int32, z float64) (c crossing, ok bool) {
	for k := range 3 {
		a, b := t[k], t[(k+1)%3]
		switch below, next := s.z[id[a]] < z, s.z[id[b]] < z; {
		case !below && next:
			c.from, ok = edgeKey(id[a], id[b]), true
		case below && !next:
			c.to = edgeKey(id[a], id[b])
		}
	}
	return c, ok && c.from != c.to
}

func edgeKey(a, b int32) [2]int32 { return [2]int32{min(a, b), max(a, b)} }

// chain joins pieces into lines: each piece begins on the edge where the one
// before it ended.
func (s *Surface) chain(pieces []crossing, id []int32, z, level float64) []Contour {
	next := make(map[[2]int32]int32, len(pieces))
	ends := make(map[[2]int32]bool, len(pieces))
	for i, p := range pieces {
		next[p.from] = int32(i)
		ends[p.to] = true
	}
	used := make([]bool, len(pieces))
	var out []Contour
	follow := func(i int32) {
		c := Contour{LevelM: level}
		c.add(s.onEdge(pieces[i].from, z))
		for first := i; ; {
			used[i] = true
			c.add(s.onEdge(pieces[i].to, z))
			j, more := next[pieces[i].to]
			if !more || used[j] {
				c.Closed = more && j == first
				break
			}
			i = j
		}
		if len(c.Line) > 1 {
			out = append(out, c)
		}
	}
	for i, p := range pieces { // lines that begin at the edge of the surface
		if !ends[p.from] && !used[i] {
			follow(int32(i))
		}
	}
	for i := range pieces {
		if !used[i] {
			follow(int32(i))
		}
	}
	return out
}

// add appends a place unless the line stands there already.
func (c *Contour) add(p orb.Point) {
	if n := len(c.Line); n == 0 || c.Line[n-1] != p {
		c.Line = append(c.Line, p)
	}
}

// onEdge returns where an edge has a level relative to z0, reckoned from the
// same corner whichever triangle asks.
func (s *Surface) onEdge(e [2]int32, z float64) orb.Point {
	a, b := e[0], e[1]
	f := (z - s.z[a]) / (s.z[b] - s.z[a])
	f = min(max(f, 0), 1)
	p, q := s.p[a], s.p[b]
	if f == 1 {
		return orb.Point{q.X + s.x0, q.Y + s.y0}
	}
	return orb.Point{p.X + float64(f*(q.X-p.X)) + s.x0, p.Y + float64(f*(q.Y-p.Y)) + s.y0}
}
