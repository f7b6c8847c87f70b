// Package surface makes ground surfaces from surveys and computes with them:
// level and slope at a place, volumes between two surfaces, stockpiles, share
// within a level tolerance, sections, pictures of differences. Surfaces are
// triangles; every figure is exact for the triangles given, up to floating
// point with compensated sums. All metres, in the plane grid of the survey.
//
// What a figure is worth depends on the survey, not on this arithmetic: a
// systematic level error b makes a volume error of b times the area.
package surface

import (
	"errors"
	"math"

	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/geo/tin"
)

// Surface is a ground surface made of triangles over the plan. It is not
// changed after it is made and may be used by several goroutines.
type Surface struct {
	x0, y0, z0 float64    // whole metres, taken off every coordinate
	p          []tin.XY   // corners
	z          []float64  // their levels
	tri        [][3]int32 // anticlockwise
	tree       *tin.BoxTree
	boxes      []tin.Box // of the triangles
	loose      bool      // corners at one place may be several
}

// Errors of making and comparing surfaces.
var (
	// ErrNoOverlap is returned when two surfaces, or a surface and the area
	// asked for, have no common ground.
	ErrNoOverlap = errors.New("no common ground")
	// ErrNoSurface is returned when no triangle can be made.
	ErrNoSurface = errors.New("no surface")
)

// newSurface indexes triangles. The coordinates are relative to x0, y0, z0.
func newSurface(x0, y0, z0 float64, p []tin.XY, z []float64, tri [][3]int32) *Surface {
	s := &Surface{x0: x0, y0: y0, z0: z0, p: p, z: z, tri: tri, boxes: make([]tin.Box, len(tri))}
	for i, t := range tri {
		a, b, c := p[t[0]], p[t[1]], p[t[2]]
		s.boxes[i] = tin.Box{MinX: min(a.X, b.X, c.X), MinY: min(a.Y, b.Y, c.Y), MaxX: max(a.X, b.X, c.X), MaxY: max(a.Y, b.Y, c.Y)}
	}
	s.tree = tin.NewBoxTree(s.boxes)
	return s
}

// Points returns the corners as survey points without names, in the surface's
// own order, metres.
func (s *Surface) Points() []survey.Point {
	out := make([]survey.Point, len(s.p))
	for i, p := range s.p {
		out[i] = survey.Point{E: p.X + s.x0, N: p.Y + s.y0, Level: s.z[i] + s.z0}
	}
	return out
}

// Triangles returns the triangles as indices of Points, anticlockwise. Not to
// be changed.
func (s *Surface) Triangles() [][3]int32 { return s.tri }

// Extent returns the smallest upright rectangle around the surface, metres.
func (s *Surface) Extent() (minE, minN, maxE, maxN float64) {
	b := tin.EmptyBox()
	for _, t := range s.boxes {
		b = b.Extend(t)
	}
	return b.MinX + s.x0, b.MinY + s.y0, b.MaxX + s.x0, b.MaxY + s.y0
}

// Levels returns the lowest and highest level, metres.
func (s *Surface) Levels() (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, t := range s.tri {
		for _, v := range t {
			low, high = min(low, s.z[v]), max(high, s.z[v])
		}
	}
	return low + s.z0, high + s.z0
}

// PlanAreaM2 returns the area the surface covers on the plan, square metres.
func (s *Surface) PlanAreaM2() float64 {
	var sum total
	for _, t := range s.tri {
		sum.add(s.area(t))
	}
	return sum.value()
}

// SlopeAreaM2 returns the area measured along the slope, square metres.
func (s *Surface) SlopeAreaM2() float64 {
	var sum total
	for _, t := range s.tri {
		a := s.area(t)
		if a <= 0 {
			continue
		}
		pl := s.plane(t)
		sum.add(a * math.Sqrt(1+float64(pl.gx*pl.gx)+float64(pl.gy*pl.gy)))
	}
	return sum.value()
}

// area returns the plan area of a triangle.
func (s *Surface) area(t [3]int32) float64 {
	a, b, c := s.p[t[0]], s.p[t[1]], s.p[t[2]]
	return (float64((b.X-a.X)*(c.Y-a.Y)) - float64((b.Y-a.Y)*(c.X-a.X))) / 2
}

// plane is the level over one triangle as a linear function of the place
// relative to its first corner, held between its corners' levels: in a sliver
// the slope has few true digits, but a level between the corners is never far off.
type plane struct {
	at        tin.XY
	z, gx, gy float64
	low, high float64
}

func (s *Surface) plane(t [3]int32) plane {
	a, b, c := s.p[t[0]], s.p[t[1]], s.p[t[2]]
	za, zb, zc := s.z[t[0]], s.z[t[1]], s.z[t[2]]
	pl := plane{at: a, z: za, low: min(za, zb, zc), high: max(za, zb, zc)}
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, c.X-a.X, c.Y-a.Y
	if det := float64(ux*vy) - float64(uy*vx); det > 0 {
		pl.gx = (float64((zb-za)*vy) - float64((zc-za)*uy)) / det
		pl.gy = (float64((zc-za)*ux) - float64((zb-za)*vx)) / det
	}
	return pl
}

// level returns the level at a place relative to the same origin as pl.at.
func (pl *plane) level(p tin.XY) float64 {
	z := pl.z + float64(pl.gx*(p.X-pl.at.X)) + float64(pl.gy*(p.Y-pl.at.Y))
	return min(max(z, pl.low), pl.high)
}

// LevelAt returns the level at a place, metres; ok is false off the surface.
// On an edge or corner all triangles agree.
func (s *Surface) LevelAt(e, n float64) (levelM float64, ok bool) {
	t, p, ok := s.find(e, n)
	if !ok {
		return 0, false
	}
	pl := s.plane(t)
	return pl.level(p) + s.z0, true
}

// SlopeAt returns the slope at a place as rise over run, and the direction in
// which the ground falls, in degrees clockwise from grid north; ok is false off
// the surface. On level ground the direction is 0.
func (s *Surface) SlopeAt(e, n float64) (ratio, fallDeg float64, ok bool) {
	t, _, ok := s.find(e, n)
	if !ok {
		return 0, 0, false
	}
	pl := s.plane(t)
	ratio = math.Hypot(pl.gx, pl.gy)
	if ratio == 0 {
		return 0, 0, true
	}
	return ratio, math.Mod(math.Atan2(-pl.gx, -pl.gy)*180/math.Pi+360, 360), true
}

// find returns the triangle over a place, and the place relative to the
// origin; of several that meet there, the first in the tree's order.
func (s *Surface) find(e, n float64) ([3]int32, tin.XY, bool) {
	p := tin.XY{X: e - s.x0, Y: n - s.y0}
	var buf [32]int32
	for _, i := range s.tree.Append(buf[:0], tin.Box{MinX: p.X, MinY: p.Y, MaxX: p.X, MaxY: p.Y}) {
		t := s.tri[i]
		a, b, c := s.p[t[0]], s.p[t[1]], s.p[t[2]]
		if tin.Orient(a.X, a.Y, b.X, b.Y, p.X, p.Y) >= 0 && tin.Orient(b.X, b.Y, c.X, c.Y, p.X, p.Y) >= 0 &&
			tin.Orient(c.X, c.Y, a.X, a.Y, p.X, p.Y) >= 0 {
			return t, p, true
		}
	}
	return [3]int32{}, p, false
}
