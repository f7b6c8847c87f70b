package plan

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/tin"
)

// touch is the distance within which a corner lies on an edge rather than
// crossing it: 1 µm on the ground, and far below any survey in degrees.
const touch = 1e-6

// checkPolygon checks the rings of one polygon and turns the outer one
// anticlockwise and the holes clockwise, in place.
//
// Source: RFC 7946 (2016), 3.1.6.
func checkPolygon(p orb.Polygon, where string, f *faults) {
	before := len(f.list)
	for i, ring := range p {
		checkRing(ring, ringName(where, i), f)
	}
	if len(f.list) > before {
		return
	}
	checkCrossings(p, where, f)
	if len(f.list) > before {
		return
	}
	for i, ring := range p {
		if (ringArea(ring) > 0) != (i == 0) {
			ring.Reverse()
		}
		if i == 0 {
			continue
		}
		if !ringInside(ring, p[0]) {
			f.add(ringName(where, i), fmt.Sprintf("the hole lies outside the outer ring, about %s", place(ring[0])), "remove it or draw it as an area of its own")
		}
		for j := 1; j < i; j++ {
			if ringInside(ring, p[j]) || ringInside(p[j], ring) {
				f.add(ringName(where, i), fmt.Sprintf("overlaps hole %d", j), "join the two holes")
			}
		}
	}
}

func place(p orb.Point) string { return fmt.Sprintf("(%.3f, %.3f)", p[0], p[1]) }

func checkRing(r orb.Ring, where string, f *faults) {
	if r[0] != r[len(r)-1] {
		f.add(where, fmt.Sprintf("not closed: it begins at %s and ends at %s", place(r[0]), place(r[len(r)-1])), "repeat the first position at the end")
		return
	}
	different := map[orb.Point]bool{}
	for _, p := range r {
		different[p] = true
	}
	if len(different) < 3 || ringArea(r) == 0 && len(different) < 4 {
		f.add(where, "encloses no area", "give at least three corners that are not in one line")
	}
}

// ringArea returns the signed area of a closed ring, positive anticlockwise.
func ringArea(r orb.Ring) float64 {
	var twice float64
	for i := 1; i+1 < len(r); i++ {
		ax, ay := r[i][0]-r[0][0], r[i][1]-r[0][1]
		bx, by := r[i+1][0]-r[0][0], r[i+1][1]-r[0][1]
		twice += float64(ax*by) - float64(ay*bx)
	}
	return twice / 2
}

// edge is one side of a ring.
type edge struct {
	a, b orb.Point
	ring int
	pos  int
}

func edgesOf(p orb.Polygon) []edge {
	var out []edge
	for i, r := range p {
		for k := 1; k < len(r); k++ {
			if r[k-1] != r[k] {
				out = append(out, edge{r[k-1], r[k], i, k})
			}
		}
	}
	return out
}

func (e edge) box() tin.Box {
	return tin.Box{MinX: min(e.a[0], e.b[0]), MinY: min(e.a[1], e.b[1]), MaxX: max(e.a[0], e.b[0]), MaxY: max(e.a[1], e.b[1])}
}

// checkCrossings reports where edges cross, with the place. Touching is allowed.
func checkCrossings(p orb.Polygon, where string, f *faults) {
	edges := edgesOf(p)
	boxes := make([]tin.Box, len(edges))
	for i, e := range edges {
		boxes[i] = e.box()
	}
	tree := tin.NewBoxTree(boxes)
	var found []int32
	for i, e := range edges {
		found = tree.Append(found[:0], boxes[i])
		for _, k := range found {
			o := edges[k]
			if int(k) <= i || !crosses(e, o) {
				continue
			}
			at := crossing(e, o)
			if e.ring == o.ring {
				f.add(ringName(where, e.ring), fmt.Sprintf("crosses itself at %s, between corners %d-%d and %d-%d", place(at), e.pos, e.pos+1, o.pos, o.pos+1), "redraw it without crossing")
			} else {
				f.add(ringName(where, o.ring), fmt.Sprintf("crosses the %s at %s", ringName("", e.ring), place(at)), "redraw it inside")
			}
		}
	}
}

// crosses reports whether two edges cross, neither ending on the other.
func crosses(e, o edge) bool {
	apart := func(e, o edge) bool {
		l, r := side(e, o.a), side(e, o.b)
		return (l > 0 && r < 0) || (l < 0 && r > 0)
	}
	if !apart(e, o) || !apart(o, e) {
		return false
	}
	at := crossing(e, o)
	for _, p := range [4]orb.Point{e.a, e.b, o.a, o.b} {
		if math.Hypot(p[0]-at[0], p[1]-at[1]) <= touch {
			return false
		}
	}
	return true
}

// side is the exact orientation of p relative to an edge.
func side(e edge, p orb.Point) float64 {
	return tin.Orient(e.a[0], e.a[1], e.b[0], e.b[1], p[0], p[1])
}

func crossing(e, o edge) orb.Point {
	l, r := side(o, e.a), side(o, e.b)
	t := l / (l - r)
	return orb.Point{e.a[0] + float64(t*(e.b[0]-e.a[0])), e.a[1] + float64(t*(e.b[1]-e.a[1]))}
}

// ringInside reports whether ring r, which does not cross the other, lies
// inside it: told by its first corner not on the other's edge, or by a middle
// of a side.
func ringInside(r, other orb.Ring) bool {
	for k, p := range r {
		probes := []orb.Point{p}
		if k > 0 {
			q := r[k-1]
			probes = append(probes, orb.Point{p[0]/2 + q[0]/2, p[1]/2 + q[1]/2})
		}
		for _, c := range probes {
			if in, on := inRing(other, c); !on {
				return in
			}
		}
	}
	return true // every corner and side on the other's edge: the same ring
}

// inRing reports by even-odd whether a place is inside a ring, or within the
// touch distance of its edge.
func inRing(r orb.Ring, p orb.Point) (in, on bool) {
	for k := 1; k < len(r); k++ {
		a, b := r[k-1], r[k]
		if segmentDistance(a, b, p) <= touch {
			return true, true
		}
		if (a[1] > p[1]) != (b[1] > p[1]) {
			s := tin.Orient(a[0], a[1], b[0], b[1], p[0], p[1])
			if (s > 0) == (b[1] > a[1]) {
				in = !in
			}
		}
	}
	return in, false
}

// segmentDistance returns the distance of p from the segment a-b.
func segmentDistance(a, b, p orb.Point) float64 {
	ux, uy := b[0]-a[0], b[1]-a[1]
	vx, vy := p[0]-a[0], p[1]-a[1]
	length2 := float64(ux*ux) + float64(uy*uy)
	if length2 == 0 {
		return math.Hypot(vx, vy)
	}
	t := min(max((float64(ux*vx)+float64(uy*vy))/length2, 0), 1)
	return math.Hypot(vx-float64(t*ux), vy-float64(t*uy))
}
