package tin

import (
	"math"
	"slices"
)

// cut is a point on a piece and how far along it lies, 0 to 1.
type cut struct {
	t  float64
	at int32
}

// find returns for each piece where it must be cut: at points within the snap
// distance and at crossings. It returns nil when nothing is left to cut.
func (n *noder) find(segs []piece) [][]cut {
	boxes := make([]Box, len(segs))
	for i, s := range segs {
		boxes[i] = n.box(s).Grow(n.limits.SnapM)
	}
	tree := NewBoxTree(boxes)
	cuts := make([][]cut, len(segs))
	// Crossings only when no point has to be taken in first: a line drawn to
	// a point moves, and its crossings with it.
	if n.passing(segs, tree, cuts) || n.crossing(segs, boxes, tree, cuts) {
		return cuts
	}
	return nil
}

func (n *noder) box(s piece) Box {
	a, b := n.net.Points[s.a], n.net.Points[s.b]
	return Box{min(a.X, b.X), min(a.Y, b.Y), max(a.X, b.X), max(a.Y, b.Y)}
}

// passing finds points close to the inside of a piece.
func (n *noder) passing(segs []piece, tree *BoxTree, cuts [][]cut) bool {
	any := false
	var found []int32
	for i, p := range n.net.Points {
		found = tree.Append(found[:0], Box{p.X, p.Y, p.X, p.Y})
		for _, k := range found {
			s := segs[k]
			if int32(i) == s.a || int32(i) == s.b {
				continue
			}
			a, b := n.net.Points[s.a], n.net.Points[s.b]
			t, d := along(a, b, p)
			if d > n.limits.SnapM || !bends(a, b, t, d) {
				continue
			}
			n.meet(int32(i), interpolate(a.Z, b.Z, t))
			cuts[k] = append(cuts[k], cut{t, int32(i)})
			any = true
		}
	}
	return any
}

// bends reports whether a line may be drawn over to a point beside it: the
// foot lies between the ends and the line turns by a few degrees at most.
// Without this, points a few millimetres apart would pull the line to and fro.
func bends(a, b Point, t, d float64) bool {
	length := math.Hypot(b.X-a.X, b.Y-a.Y)
	return t > 0 && t < 1 && d <= 0.1*length*min(t, 1-t)
}

// along returns where the foot of p lies on a→b, and its distance from there.
func along(a, b, p Point) (t, d float64) {
	ux, uy := b.X-a.X, b.Y-a.Y
	vx, vy := p.X-a.X, p.Y-a.Y
	t = (float64(ux*vx) + float64(uy*vy)) / (float64(ux*ux) + float64(uy*uy))
	return t, math.Hypot(vx-float64(t*ux), vy-float64(t*uy))
}

func interpolate(a, b, t float64) float64 {
	if a == b {
		return a
	}
	return a + float64(t*(b-a))
}

// crossing finds pieces that cross between their ends, adding a point for each.
func (n *noder) crossing(segs []piece, boxes []Box, tree *BoxTree, cuts [][]cut) bool {
	any := false
	var found []int32
	for i, s := range segs {
		found = tree.Append(found[:0], boxes[i])
		slices.Sort(found)
		for _, k := range found {
			// Canonical order of pieces makes i the line that comes first.
			if int(k) <= i || !n.properly(s, segs[k]) {
				continue
			}
			at, ok := n.cross(s, segs[k])
			if !ok {
				continue
			}
			ti, _ := along(n.net.Points[s.a], n.net.Points[s.b], n.net.Points[at])
			tk, _ := along(n.net.Points[segs[k].a], n.net.Points[segs[k].b], n.net.Points[at])
			cuts[i] = append(cuts[i], cut{ti, at})
			cuts[k] = append(cuts[k], cut{tk, at})
			any = true
		}
	}
	return any
}

// properly reports whether two pieces cross, each with its ends strictly on
// both sides of the other; exact.
func (n *noder) properly(s, q piece) bool {
	p := n.net.Points
	if s.a == q.a || s.a == q.b || s.b == q.a || s.b == q.b {
		return false
	}
	apart := func(a, b, c, d int32) bool { // c and d lie strictly on both sides of a-b
		l := Orient(p[a].X, p[a].Y, p[b].X, p[b].Y, p[c].X, p[c].Y)
		r := Orient(p[a].X, p[a].Y, p[b].X, p[b].Y, p[d].X, p[d].Y)
		return (l > 0 && r < 0) || (l < 0 && r > 0)
	}
	return apart(s.a, s.b, q.a, q.b) && apart(q.a, q.b, s.a, s.b)
}

// cross returns the point where two pieces cross, or false when their levels
// there disagree.
func (n *noder) cross(s, q piece) (int32, bool) {
	a, b := n.net.Points[s.a], n.net.Points[s.b]
	c, d := n.net.Points[q.a], n.net.Points[q.b]
	t := crossingAt(a, b, c, d)
	x, y := a.X+float64(t*(b.X-a.X)), a.Y+float64(t*(b.Y-a.Y))
	u, _ := along(c, d, Point{X: x, Y: y})
	z, other := interpolate(a.Z, b.Z, t), interpolate(c.Z, d.Z, u)
	if !n.limits.Flat && math.Abs(z-other) > n.limits.LevelM {
		n.gaps = append(n.gaps, &LevelGapError{X: x, Y: y, Level: z, Other: other, LimitM: n.limits.LevelM, Crossing: true})
		return 0, false
	}
	if i, ok := n.near.nearest(n.net.Points, Point{X: x, Y: y}); ok && !slices.Contains([]int32{s.a, s.b, q.a, q.b}, i) {
		n.meet(i, z)
		return i, true
	}
	if !n.limits.Flat && math.Abs(z-other) > 1e-9 {
		n.net.Notes = append(n.net.Notes, Note{X: x, Y: y, Level: z, Other: other, Crossing: true})
	}
	n.net.Points = append(n.net.Points, Point{x, y, z})
	i := int32(len(n.net.Points) - 1)
	n.near.add(n.net.Points, i)
	return i, true
}

// crossingAt returns how far along a→b the line c→d crosses it.
func crossingAt(a, b, c, d Point) float64 {
	sa := Orient(c.X, c.Y, d.X, d.Y, a.X, a.Y)
	sb := Orient(c.X, c.Y, d.X, d.Y, b.X, b.Y)
	return sa / (sa - sb)
}

// split cuts the pieces at their cuts.
func split(segs []piece, cuts [][]cut) []piece {
	var out []piece
	for i, s := range segs {
		slices.SortFunc(cuts[i], func(a, b cut) int {
			if a.t != b.t {
				return compareFloats(a.t, b.t)
			}
			return int(a.at - b.at)
		})
		from := s.a
		for _, c := range cuts[i] {
			out = append(out, piece{from, c.at, s.count})
			from = c.at
		}
		out = append(out, piece{from, s.b, s.count})
	}
	return out
}
