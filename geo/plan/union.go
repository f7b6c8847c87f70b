package plan

import (
	"fmt"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/tin"
)

// Overlap is ground that two areas both cover.
type Overlap struct {
	A, B   string // names of the areas
	AreaM2 float64
	E, N   float64 // a place in it, metres
}

// leastOverlapM2 is below any drawing's meaning: neighbours that share a side
// drawn twice overlap by dust. Our own choice.
const leastOverlapM2 = 0.01

// Overlaps names every two areas that cover the same ground, in the order of
// the list.
func Overlaps(names []string, areas []*Polygon) []Overlap {
	boxes := make([]tin.Box, len(areas))
	for i, a := range areas {
		b := a.rings.Bound()
		boxes[i] = tin.Box{MinX: b.Min[0], MinY: b.Min[1], MaxX: b.Max[0], MaxY: b.Max[1]}
	}
	var out []Overlap
	for i, a := range areas {
		for k := i + 1; k < len(areas); k++ {
			if !boxes[i].Overlaps(boxes[k]) {
				continue
			}
			b := areas[k]
			area, at := overlap(a.tris, shifted(b.tris, b.x0-a.x0, b.y0-a.y0))
			if area >= leastOverlapM2 {
				out = append(out, Overlap{names[i], names[k], area, at.X + a.x0, at.Y + a.y0})
			}
		}
	}
	return out
}

func shifted(tris [][3]tin.XY, dx, dy float64) [][3]tin.XY {
	if dx == 0 && dy == 0 {
		return tris
	}
	out := make([][3]tin.XY, len(tris))
	for i, t := range tris {
		for k, v := range t {
			out[i][k] = tin.XY{X: v.X + dx, Y: v.Y + dy}
		}
	}
	return out
}

// UnionM2 returns the area that the polygons cover together, square metres:
// ground covered by several counts once. All sides are drawn into one
// triangulation, whose triangles lie each wholly inside or outside every area.
func UnionM2(areas ...*Polygon) (float64, error) {
	if len(areas) == 0 {
		return 0, nil
	}
	x0, y0 := areas[0].x0, areas[0].y0
	var lines []tin.Line
	for _, a := range areas {
		for _, part := range a.rings {
			for _, r := range part {
				lines = append(lines, ringLine(r, x0, y0))
			}
		}
	}
	net, err := tin.Node(nil, lines, tin.NodeLimits{SnapM: touch, Flat: true})
	if err != nil {
		return 0, fmt.Errorf("union of areas: %w", err)
	}
	m, err := tin.BuildConstrained(net.Points, net.Segments)
	if err != nil {
		return 0, fmt.Errorf("union of areas: %w", err)
	}
	var sum, rest float64 // with the part that rounding leaves
	for t := range m.Slots() {
		if !m.Real(t) {
			continue
		}
		a, b, c := m.P[m.Origin[3*t]], m.P[m.Origin[3*t+1]], m.P[m.Origin[3*t+2]]
		e, n := (a.X+b.X+c.X)/3+m.X0+x0, (a.Y+b.Y+c.Y)/3+m.Y0+y0
		for _, p := range areas {
			if p.Contains(e, n) {
				v := tin.PolygonArea([]tin.XY{a, b, c}) - rest
				next := sum + v
				sum, rest = next, (next-sum)-v
				break
			}
		}
	}
	return sum, nil
}

func ringLine(r orb.Ring, x0, y0 float64) tin.Line {
	var l tin.Line
	for _, v := range r {
		l = append(l, tin.Point{X: v[0] - x0, Y: v[1] - y0})
	}
	return l
}
