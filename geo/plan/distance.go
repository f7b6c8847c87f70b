package plan

import (
	"math"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/tin"
)

// Distance returns the shortest plane distance between two shapes in metres,
// 0 where they touch or overlap, +Inf when either is empty. Both are in site
// grid metres; grid distance differs from ground distance by the grid's scale
// factor.
func Distance(a, b orb.Geometry) float64 {
	pa, pb := piecesOf(a), piecesOf(b)
	if len(pa) == 0 || len(pb) == 0 {
		return math.Inf(1)
	}
	// Any part may lie wholly inside the other shape.
	for _, s := range pa {
		if s.first && within(s.a, b) {
			return 0
		}
	}
	for _, s := range pb {
		if s.first && within(s.a, a) {
			return 0
		}
	}
	best := math.Inf(1)
	for _, s := range pa {
		for _, t := range pb {
			best = min(best, s.distance(t))
		}
	}
	return best
}

// shapePiece is a side or, with equal ends, a point of a shape.
type shapePiece struct {
	a, b  orb.Point
	first bool // begins a part
}

func piecesOf(g orb.Geometry) []shapePiece {
	var out []shapePiece
	line := func(ps []orb.Point) {
		for i, p := range ps {
			if i == 0 && len(ps) == 1 {
				out = append(out, shapePiece{p, p, true})
			} else if i > 0 {
				out = append(out, shapePiece{ps[i-1], p, i == 1})
			}
		}
	}
	switch g := g.(type) {
	case orb.Point:
		line([]orb.Point{g})
	case orb.MultiPoint:
		for _, p := range g {
			line([]orb.Point{p})
		}
	case orb.LineString:
		line(g)
	case orb.MultiLineString:
		for _, l := range g {
			line(l)
		}
	case orb.Ring:
		line(g)
	case orb.Polygon:
		for _, r := range g {
			line(r)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			out = append(out, piecesOf(p)...)
		}
	case orb.Collection:
		for _, part := range g {
			out = append(out, piecesOf(part)...)
		}
	case orb.Bound:
		line(g.ToRing())
	}
	return out
}

// within reports whether a place lies inside or on the edge of an area.
func within(p orb.Point, g orb.Geometry) bool {
	areas, ok := areasOf(g)
	if c, collection := g.(orb.Collection); !ok && collection {
		for _, part := range c {
			if within(p, part) {
				return true
			}
		}
		return false
	}
	return (&Polygon{rings: areas}).Contains(p[0], p[1])
}

func (s shapePiece) distance(t shapePiece) float64 {
	if s.crosses(t) {
		return 0
	}
	return min(segmentDistance(s.a, s.b, t.a), segmentDistance(s.a, s.b, t.b),
		segmentDistance(t.a, t.b, s.a), segmentDistance(t.a, t.b, s.b))
}

func (s shapePiece) crosses(t shapePiece) bool {
	turn := func(a, b, p orb.Point) float64 { return tin.Orient(a[0], a[1], b[0], b[1], p[0], p[1]) }
	l, r := turn(s.a, s.b, t.a), turn(s.a, s.b, t.b)
	u, v := turn(t.a, t.b, s.a), turn(t.a, t.b, s.b)
	return ((l > 0 && r < 0) || (l < 0 && r > 0)) && ((u > 0 && v < 0) || (u < 0 && v > 0))
}

// ReachesOut returns how far a shape reaches out of an area at its farthest
// corner, metres; 0 when every corner lies inside or on the edge. Corners
// decide: a side between two corners inside a concave area may run outside.
func ReachesOut(shape, area orb.Geometry) float64 {
	farthest := 0.0
	for _, p := range cornersOf(shape, nil) {
		if !within(p, area) {
			farthest = max(farthest, Distance(p, area))
		}
	}
	return farthest
}

func cornersOf(g orb.Geometry, out []orb.Point) []orb.Point {
	switch g := g.(type) {
	case orb.Point:
		return append(out, g)
	case orb.MultiPoint:
		return append(out, g...)
	case orb.Ring:
		return append(out, g...)
	case orb.Collection:
		for _, p := range g {
			out = cornersOf(p, out)
		}
		return out
	}
	eachLine(g, func(_ string, l []orb.Point) { out = append(out, l...) })
	return out
}
