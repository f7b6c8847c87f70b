package surface

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/tin"
)

// SectionPoint is one point of a section; between two of them the ground is straight.
type SectionPoint struct {
	ChainageM float64 // plan distance from the start of the line
	E, N      float64
	LevelM    float64 // NaN on a Gap
	Gap       bool    // from here to the next point there is no surface
}

// Section returns the levels along a line over the surface: at its ends and
// corners and wherever it crosses an edge between triangles. Places without
// surface begin with a point marked Gap. Distances are plan distances in grid
// metres.
func (s *Surface) Section(line []orb.Point) []SectionPoint {
	var out []SectionPoint
	chainage := 0.0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		if length == 0 {
			continue
		}
		leg := s.leg(a, b, length)
		for k := range leg {
			leg[k].ChainageM += chainage
		}
		if n := len(out); n > 0 && len(leg) > 0 && out[n-1].Gap == leg[0].Gap {
			leg = leg[1:] // the corner stands there already
		}
		out = append(out, leg...)
		chainage += length
	}
	return out
}

// span is the part of a leg over one triangle, as distances along the leg.
type span struct{ from, to, zFrom, zTo float64 }

// nearby is the distance within which two points of a section are one.
const nearby = 1e-9

// leg returns the section along one straight.
func (s *Surface) leg(a, b orb.Point, length float64) []SectionPoint {
	ux, uy := (b[0]-a[0])/length, (b[1]-a[1])/length
	at := func(d float64) (e, n float64) {
		if d == length {
			return b[0], b[1]
		}
		return a[0] + float64(d*ux), a[1] + float64(d*uy)
	}
	spans := s.spans(tin.XY{X: a[0] - s.x0, Y: a[1] - s.y0}, tin.XY{X: b[0] - s.x0, Y: b[1] - s.y0}, length)
	var out []SectionPoint
	gap := func(d float64) {
		e, n := at(d)
		out = append(out, SectionPoint{ChainageM: d, E: e, N: n, LevelM: math.NaN(), Gap: true})
	}
	point := func(d, z float64) {
		e, n := at(d)
		out = append(out, SectionPoint{ChainageM: d, E: e, N: n, LevelM: z + s.z0})
	}
	done := 0.0
	for i, sp := range spans {
		switch {
		case sp.from > done+nearby:
			gap(done)
			point(sp.from, sp.zFrom)
		case i == 0:
			point(0, sp.zFrom)
		case sp.to <= done+nearby:
			continue // runs along an edge, or ends at a corner
		}
		if sp.to > done+nearby {
			point(sp.to, sp.zTo)
			done = sp.to
		}
	}
	if done < length-nearby {
		gap(done)
	}
	return out
}

// spans lists the parts of a straight over each triangle, in order along it.
func (s *Surface) spans(a, b tin.XY, length float64) []span {
	box := tin.Box{MinX: min(a.X, b.X), MinY: min(a.Y, b.Y), MaxX: max(a.X, b.X), MaxY: max(a.Y, b.Y)}
	var out []span
	for _, i := range s.tree.Append(nil, box) {
		t := s.tri[i]
		from, to, ok := s.over(t, a, b)
		if !ok {
			continue
		}
		pl := s.plane(t)
		zAt := func(f float64) float64 {
			return pl.level(tin.XY{X: a.X + float64(f*(b.X-a.X)), Y: a.Y + float64(f*(b.Y-a.Y))})
		}
		out = append(out, span{from * length, to * length, zAt(from), zAt(to)})
	}
	slices.SortFunc(out, func(p, q span) int {
		if c := cmp.Compare(p.from, q.from); c != 0 {
			return c
		}
		return cmp.Compare(p.to, q.to)
	})
	return out
}

// over returns the part of a→b over a triangle as fractions.
func (s *Surface) over(t [3]int32, a, b tin.XY) (from, to float64, ok bool) {
	to = 1
	for k := range 3 {
		p, q := s.p[t[k]], s.p[t[(k+1)%3]]
		sa := tin.Orient(p.X, p.Y, q.X, q.Y, a.X, a.Y)
		sb := tin.Orient(p.X, p.Y, q.X, q.Y, b.X, b.Y)
		switch {
		case sa < 0 && sb < 0:
			return 0, 0, false
		case sa < 0:
			from = max(from, sa/(sa-sb))
		case sb < 0:
			to = min(to, sa/(sa-sb))
		}
	}
	return from, to, from < to
}
