package plan

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/tin"
)

// Polygon is a checked area of one or more parts, each with holes: rings
// closed, not crossing themselves or each other, parts not overlapping.
// Coordinates are metres of the site grid.
type Polygon struct {
	rings  orb.MultiPolygon
	levels []float64 // of the positions of all rings in order, nil when none
	x0, y0 float64
	tris   [][3]tin.XY // relative to x0, y0, anticlockwise
}

// ParsePolygon reads an area from a GeoJSON geometry, feature or collection
// (all its polygons together) and checks it. The file must be in site grid
// metres, or opts must say how to project it.
func ParsePolygon(data []byte, opts Options) (*Polygon, error) {
	features, err := readFeatures(data, opts)
	if err != nil {
		return nil, err
	}
	var all orb.MultiPolygon
	var levels []float64
	for _, f := range features {
		areas, ok := areasOf(f.Geometry)
		if !ok {
			return nil, &Error{opts.name(), []Problem{{Where: f.Code, Text: fmt.Sprintf("a %s is not an area", f.Geometry.GeoJSONType()), Remedy: "keep only the polygons"}}}
		}
		all = append(all, areas...)
		levels = append(levels, f.Levels...)
	}
	if len(features) > 0 && features[0].Frame == FrameWGS84 {
		if opts.Project == nil {
			return nil, &Error{opts.name(), []Problem{{Text: "the area is in longitude and latitude, where site grid metres are needed", Remedy: "project the file to the site's grid"}}}
		}
		if err := project(all, opts.Project); err != nil {
			return nil, fmt.Errorf("%s: %w", opts.name(), err)
		}
	}
	p, err := newPolygon(all, opts.name())
	if err != nil {
		return nil, err
	}
	if positions(all) == len(levels) {
		p.levels = levels
	}
	return p, nil
}

// NewPolygon checks rings in site grid metres. name is used in messages. The
// rings are taken over.
func NewPolygon(rings orb.MultiPolygon, name string) (*Polygon, error) {
	var f faults
	for i, part := range rings {
		where := ""
		if len(rings) > 1 {
			where = fmt.Sprintf("part %d", i+1)
		}
		ok := len(part) > 0
		for k, r := range part {
			if len(r) < 4 {
				f.add(ringName(where, k), "fewer than four positions", "give at least three corners and the first again")
				ok = false
			}
		}
		if ok {
			checkPolygon(part, where, &f)
		}
	}
	if err := f.err(name); err != nil {
		return nil, err
	}
	return newPolygon(rings, name)
}

func areasOf(g orb.Geometry) (orb.MultiPolygon, bool) {
	switch g := g.(type) {
	case orb.Polygon:
		return orb.MultiPolygon{g}, true
	case orb.MultiPolygon:
		return g, true
	case orb.Collection:
		var out orb.MultiPolygon
		for _, part := range g {
			areas, ok := areasOf(part)
			if !ok {
				return nil, false
			}
			out = append(out, areas...)
		}
		return out, true
	}
	return nil, false
}

func positions(mp orb.MultiPolygon) int {
	n := 0
	for _, p := range mp {
		for _, r := range p {
			n += len(r)
		}
	}
	return n
}

// project turns degrees into metres, to the nearest 0.1 mm: far below what any
// way between datums is good for, and the same on every processor.
func project(mp orb.MultiPolygon, to func(lon, lat float64) (e, n float64, err error)) error {
	for _, p := range mp {
		for _, r := range p {
			for i := range r {
				e, n, err := to(r[i][0], r[i][1])
				if err != nil {
					return err
				}
				r[i] = orb.Point{math.Round(e*1e4) / 1e4, math.Round(n*1e4) / 1e4}
			}
		}
	}
	return nil
}

func partName(rings orb.MultiPolygon, i int) string {
	if len(rings) == 1 {
		return ""
	}
	return fmt.Sprintf("part %d", i+1)
}

// ringsCross tells whether the triangles of a part cover another area than its
// outer ring less its holes: rings that cross through corners on each other's
// edges have no side crossing a side, and show only here. Corners move by up
// to the touch distance where rings touch, so areas may differ by that much
// along their length.
func ringsCross(part orb.Polygon, tris [][3]tin.XY) bool {
	var covered, length float64
	for _, t := range tris {
		covered += ((t[1].X-t[0].X)*(t[2].Y-t[0].Y) - (t[1].Y-t[0].Y)*(t[2].X-t[0].X)) / 2
	}
	area := 0.0
	for i, r := range part {
		if i == 0 {
			area = math.Abs(ringArea(r))
		} else {
			area -= math.Abs(ringArea(r))
		}
		for k := 1; k < len(r); k++ {
			length += math.Hypot(r[k][0]-r[k-1][0], r[k][1]-r[k-1][1])
		}
	}
	return math.Abs(covered-area) > 10*touch*(1+length)+1e-9*math.Abs(area)
}

// newPolygon triangulates checked rings and refuses overlapping parts.
func newPolygon(rings orb.MultiPolygon, name string) (*Polygon, error) {
	if len(rings) == 0 {
		return nil, &Error{name, []Problem{{Text: "no area"}}}
	}
	b := rings.Bound()
	p := &Polygon{rings: rings, x0: math.Floor(b.Min[0]), y0: math.Floor(b.Min[1])}
	parts := make([][][3]tin.XY, len(rings))
	for i, part := range rings {
		tris, err := p.triangulate(part)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		if ringsCross(part, tris) {
			return nil, &Error{name, []Problem{{Where: ringName(partName(rings, i), 0), Text: "a hole leaves its outer ring, or enters another hole, through a corner where they touch",
				Remedy: "draw the hole wholly inside, apart from the others"}}}
		}
		parts[i] = tris
		for j := range i {
			if area, at := overlap(parts[j], tris); area > touch {
				return nil, &Error{name, []Problem{{Where: fmt.Sprintf("part %d", i+1),
					Text:   fmt.Sprintf("overlaps part %d by %.3f m² near %s", j+1, area, place(orb.Point{at.X + p.x0, at.Y + p.y0})),
					Remedy: "join the parts, or draw them without overlap"}}}
			}
		}
		p.tris = append(p.tris, tris...)
	}
	return p, nil
}

// triangulate cuts one polygon into triangles, even-odd.
func (p *Polygon) triangulate(part orb.Polygon) ([][3]tin.XY, error) {
	var lines []tin.Line
	for _, r := range part {
		lines = append(lines, ringLine(r, p.x0, p.y0))
	}
	net, err := tin.Node(nil, lines, tin.NodeLimits{SnapM: touch, Flat: true})
	if err != nil {
		return nil, err
	}
	m, err := tin.BuildConstrained(net.Points, net.Segments)
	if errors.Is(err, tin.ErrCollinear) || errors.Is(err, tin.ErrTooFew) {
		return nil, errors.New("a ring encloses no area")
	}
	if err != nil {
		return nil, err
	}
	odd := map[[2]int32]bool{} // edges that part inside from outside
	for i, s := range net.Segments {
		a, b := m.Vertex[s[0]], m.Vertex[s[1]]
		odd[[2]int32{min(a, b), max(a, b)}] = net.Count[i]%2 == 1
	}
	inside := flood(m, odd)
	var out [][3]tin.XY
	for t, in := range inside {
		if in > 0 && m.Real(t) {
			var tri [3]tin.XY
			for k := range 3 {
				v := m.P[m.Origin[3*t+k]]
				tri[k] = tin.XY{X: v.X + m.X0, Y: v.Y + m.Y0}
			}
			out = append(out, tri)
		}
	}
	return out, nil
}

// flood marks the triangles inside by +1 and those outside by -1, starting
// beyond the hull.
func flood(m *tin.Mesh, odd map[[2]int32]bool) []int8 {
	mark := make([]int8, m.Slots())
	var stack []int32
	for t := range mark {
		if !m.Real(t) {
			mark[t] = -1
			stack = append(stack, int32(t))
		}
	}
	for len(stack) > 0 {
		t := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for h := 3 * t; h < 3*t+3; h++ {
			n := m.Twin[h] / 3
			if mark[n] != 0 {
				continue
			}
			a, b := m.Origin[h], m.Origin[m.Twin[h]]
			mark[n] = mark[t]
			if odd[[2]int32{min(a, b), max(a, b)}] {
				mark[n] = -mark[t]
			}
			stack = append(stack, n)
		}
	}
	return mark
}

// overlap returns the area two sets of triangles share and a place in it.
func overlap(a, b [][3]tin.XY) (area float64, at tin.XY) {
	boxes := make([]tin.Box, len(a))
	for i, t := range a {
		boxes[i] = triBox(t)
	}
	tree := tin.NewBoxTree(boxes)
	var found []int32
	var buf, spare [8]tin.XY
	for _, t := range b {
		found = tree.Append(found[:0], triBox(t))
		for _, k := range found {
			o := a[k]
			piece := tin.ClipTriangle(t[:], o[0], o[1], o[2], buf[:0], spare[:0])
			if len(piece) < 3 {
				continue
			}
			if s := tin.PolygonArea(piece); s > 0 {
				area += s
				at = piece[0]
			}
		}
	}
	return area, at
}

func triBox(t [3]tin.XY) tin.Box {
	return tin.Box{MinX: min(t[0].X, t[1].X, t[2].X), MinY: min(t[0].Y, t[1].Y, t[2].Y),
		MaxX: max(t[0].X, t[1].X, t[2].X), MaxY: max(t[0].Y, t[1].Y, t[2].Y)}
}

// Rings returns the rings: outer ones anticlockwise, holes clockwise. Not to
// be changed.
func (p *Polygon) Rings() orb.MultiPolygon { return p.rings }

// Levels returns the third number of every position of the rings in order,
// metres, NaN where there was none; nil when the file had no levels.
func (p *Polygon) Levels() []float64 { return p.levels }

// Triangles returns the area as triangles, anticlockwise, relative to the
// origin x0, y0. Not to be changed.
func (p *Polygon) Triangles() (x0, y0 float64, tris [][3]tin.XY) { return p.x0, p.y0, p.tris }

// AreaM2 returns the plane area in square metres, holes taken out. It is grid
// area: ground area differs by the grid's scale factor.
func (p *Polygon) AreaM2() float64 {
	var sum float64
	for _, part := range p.rings {
		for _, r := range part {
			sum += ringArea(r)
		}
	}
	return sum
}

// Contains reports whether a place lies inside or on the edge, metres.
func (p *Polygon) Contains(e, n float64) bool {
	at := orb.Point{e, n}
	for _, part := range p.rings {
		odd := false
		for _, r := range part {
			in, on := inRing(r, at)
			if on {
				return true
			}
			odd = odd != in
		}
		if odd {
			return true
		}
	}
	return false
}
