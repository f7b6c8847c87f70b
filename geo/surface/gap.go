package surface

import (
	"cmp"
	"math"
	"slices"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/tin"
)

// Gap is the place of the surface that lies farthest from any of its points.
type Gap struct {
	DistanceM float64 // to the nearest point, in plan
	E, N      float64
}

// LargestGap returns the place on the surface, inside within when given, that
// is farthest from a measured point: levels there rest on the least evidence.
// It looks at the centres of the circles through each triangle's corners,
// where the largest empty circle of a Delaunay surface lies, and at the
// middles of triangles and of edges at the rim.
func (s *Surface) LargestGap(within *plan.Polygon) (Gap, bool) {
	type place struct {
		at    tin.XY
		reach float64 // its nearest point is at most this far
	}
	var places []place
	o := s.sides()
	for i, t := range s.tri {
		a, b, c := s.p[t[0]], s.p[t[1]], s.p[t[2]]
		if at, ok := circumcentre(a, b, c); ok {
			places = append(places, place{at, math.Hypot(at.X-a.X, at.Y-a.Y)})
		}
		mid := tin.XY{X: (a.X + b.X + c.X) / 3, Y: (a.Y + b.Y + c.Y) / 3}
		places = append(places, place{mid, min(math.Hypot(mid.X-a.X, mid.Y-a.Y), math.Hypot(mid.X-b.X, mid.Y-b.Y), math.Hypot(mid.X-c.X, mid.Y-c.Y))})
		for k := range 3 {
			if h := int32(3*i + k); o.twin[h] < 0 {
				p, q := s.p[t[k]], s.p[t[(k+1)%3]]
				places = append(places, place{tin.XY{X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}, o.length(s, h) / 2})
			}
		}
	}
	slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(b.reach, a.reach) })
	boxes := make([]tin.Box, len(s.p))
	used := make([]bool, len(s.p))
	for _, t := range s.tri {
		for _, v := range t {
			used[v] = true
		}
	}
	for i, p := range s.p {
		boxes[i] = tin.Box{MinX: p.X, MinY: p.Y, MaxX: p.X, MaxY: p.Y}
		if !used[i] {
			boxes[i] = tin.EmptyBox()
		}
	}
	tree := tin.NewBoxTree(boxes)
	var best Gap
	var found []int32
	for _, p := range places {
		if p.reach <= best.DistanceM {
			break
		}
		e, n := p.at.X+s.x0, p.at.Y+s.y0
		if _, _, on := s.find(e, n); !on || within != nil && !within.Contains(e, n) {
			continue
		}
		nearest := p.reach
		found = tree.Append(found[:0], tin.Box{MinX: p.at.X - nearest, MinY: p.at.Y - nearest, MaxX: p.at.X + nearest, MaxY: p.at.Y + nearest})
		for _, v := range found {
			nearest = min(nearest, math.Hypot(s.p[v].X-p.at.X, s.p[v].Y-p.at.Y))
		}
		if nearest > best.DistanceM {
			best = Gap{nearest, e, n}
		}
	}
	return best, best.DistanceM > 0
}

// circumcentre returns the centre of the circle through three corners.
func circumcentre(a, b, c tin.XY) (tin.XY, bool) {
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, c.X-a.X, c.Y-a.Y
	d := 2 * (float64(ux*vy) - float64(uy*vx))
	if d == 0 {
		return tin.XY{}, false
	}
	u2, v2 := float64(ux*ux)+float64(uy*uy), float64(vx*vx)+float64(vy*vy)
	return tin.XY{X: a.X + (float64(vy*u2)-float64(uy*v2))/d, Y: a.Y + (float64(ux*v2)-float64(vx*u2))/d}, true
}
