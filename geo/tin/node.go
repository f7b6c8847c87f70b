package tin

import (
	"fmt"
	"math"
	"slices"
)

// Line is a breakline: a polyline with levels, metres.
type Line []Point

// NodeLimits say how near is the same place and how far apart levels may be.
// A zero LevelM allows only equal levels; callers state their limits.
type NodeLimits struct {
	SnapM  float64 // a line passing a point within this distance runs through it
	LevelM float64 // largest gap between levels meeting at one place
	Flat   bool    // levels do not matter
}

// DefaultLimits are 1 mm in plan and 20 mm in level; our own defaults, common
// practice for ground surveys to the centimetre.
func DefaultLimits() NodeLimits { return NodeLimits{SnapM: 0.001, LevelM: 0.020} }

// Network is a set of points and segments that only meet at points.
type Network struct {
	Points   []Point // the points given, then those the lines added
	Segments []Segment
	Count    []int // how many of the given lines run along each segment
	Notes    []Note
}

// Note is something done where a line meets a point or another line.
type Note struct {
	X, Y         float64
	Level, Other float64 // level kept, and the other one
	Crossing     bool    // made where two lines cross
}

// LevelGapError tells where two levels that should be one differ too much.
type LevelGapError struct {
	X, Y     float64
	Level    float64 // of the point, or of one line
	Other    float64 // of the line, or of the other line
	LimitM   float64
	Crossing bool // two lines cross; else a line meets a point
}

func (e *LevelGapError) Error() string {
	what := "a breakline runs through a point of another level"
	if e.Crossing {
		what = "two breaklines cross at different levels"
	}
	return fmt.Sprintf("%s at E %.3f N %.3f: %.3f m and %.3f m, %.0f mm apart (limit %.0f mm); correct one of the levels or leave one out",
		what, e.X, e.Y, e.Level, e.Other, 1000*math.Abs(e.Level-e.Other), 1000*e.LimitM)
}

// LevelGapErrors lists every place where levels disagree.
type LevelGapErrors []*LevelGapError

func (e LevelGapErrors) Error() string {
	s := ""
	for i, g := range e {
		if i > 0 {
			s += "\n"
		}
		s += g.Error()
	}
	return s
}

// Node turns breaklines into segments that only meet at points. Line corners
// and passing lines snap to points within the limit and take the point's
// level; where lines cross a point is added, its level interpolated along the
// line that comes first by coordinates. Levels that differ by more than the
// limit are refused, all places at once. The result does not depend on the
// order or direction of the lines.
func Node(pts []Point, lines []Line, limits NodeLimits) (*Network, error) {
	n := &noder{limits: limits}
	n.net.Points = slices.Clone(pts)
	if len(lines) == 0 {
		return &n.net, nil
	}
	n.near = newNearGrid(limits.SnapM, len(pts))
	for i, p := range pts {
		if err := n.holds(i, p); err != nil {
			return nil, err
		}
		n.near.add(n.net.Points, int32(i))
	}
	if err := n.spaced(); err != nil {
		return nil, err
	}
	segs, err := n.corners(lines)
	if err != nil {
		return nil, err
	}
	// Splitting moves a line by up to the snap distance, which can make it
	// pass another point; two or three rounds settle everything real.
	for range 12 {
		cuts := n.find(segs)
		if len(n.gaps) > 0 {
			return nil, n.gaps.sorted()
		}
		if cuts == nil {
			n.finish(segs)
			return &n.net, nil
		}
		if segs = n.tidy(split(segs, cuts)); len(segs) > maxPieces {
			return nil, fmt.Errorf("breaklines cross more than %d times", maxPieces)
		}
	}
	return nil, fmt.Errorf("breaklines cross each other so closely that they cannot be separated at %g m", limits.SnapM)
}

// holds refuses coordinates so large that float64 cannot place a crossing to
// well within the snap distance: beyond 70,000 km for 1 µm.
func (n *noder) holds(i int, p Point) error {
	limit := min(MaxCoordinate, n.limits.SnapM*0x1p46)
	if !(math.Abs(p.X) <= limit && math.Abs(p.Y) <= limit) {
		return &CoordinateError{i, p.X, p.Y}
	}
	return nil
}

// maxPieces bounds the memory of a run.
const maxPieces = 20_000_000

// CloseError tells that two given points are nearer than the snap distance.
type CloseError struct {
	A, B          int // indices in the input
	X, Y          float64
	DistM, LimitM float64
}

func (e *CloseError) Error() string {
	return fmt.Sprintf("points %d and %d near E %.3f N %.3f are %g m apart: merge points nearer than %g m before drawing lines",
		e.A+1, e.B+1, e.X, e.Y, e.DistM, e.LimitM)
}

// spaced refuses points nearer to each other than the snap distance.
func (n *noder) spaced() error {
	for i, p := range n.net.Points {
		if j, d := n.near.other(n.net.Points, int32(i)); j >= 0 {
			return &CloseError{i, int(j), p.X, p.Y, d, n.limits.SnapM}
		}
	}
	return nil
}

// noder is one run of Node.
type noder struct {
	limits NodeLimits
	net    Network
	near   *nearGrid
	gaps   LevelGapErrors
}

// piece is a segment on its way, with the number of lines along it.
type piece struct {
	a, b  int32
	count int
}

// corners gives every line corner its point and returns the pieces, each
// once, in order of their points' coordinates.
func (n *noder) corners(lines []Line) ([]piece, error) {
	type corner struct {
		p         Point
		line, pos int
	}
	var all []corner
	for i, l := range lines {
		for j, p := range l {
			if err := n.holds(j, p); err != nil {
				return nil, err
			}
			all = append(all, corner{p, i, j})
		}
	}
	slices.SortStableFunc(all, func(a, b corner) int { return comparePoints(a.p, b.p) })
	at := make([][]int32, len(lines))
	for i, l := range lines {
		at[i] = make([]int32, len(l))
	}
	for _, c := range all {
		at[c.line][c.pos] = n.place(c.p)
	}
	if len(n.gaps) > 0 {
		return nil, n.gaps.sorted()
	}
	var segs []piece
	for _, l := range at {
		for j := 1; j < len(l); j++ {
			segs = append(segs, piece{l[j-1], l[j], 1})
		}
	}
	return n.tidy(segs), nil
}

// place returns the point for a line corner: one within the snap distance,
// or a new one.
func (n *noder) place(p Point) int32 {
	if i, ok := n.near.nearest(n.net.Points, p); ok {
		n.meet(i, p.Z)
		return i
	}
	n.net.Points = append(n.net.Points, p)
	i := int32(len(n.net.Points) - 1)
	n.near.add(n.net.Points, i)
	return i
}

// meet records that a line of the given level comes to a point.
func (n *noder) meet(i int32, level float64) {
	p := n.net.Points[i]
	if n.limits.Flat || p.Z == level {
		return
	}
	if math.Abs(p.Z-level) > n.limits.LevelM {
		n.gaps = append(n.gaps, &LevelGapError{X: p.X, Y: p.Y, Level: p.Z, Other: level, LimitM: n.limits.LevelM})
		return
	}
	n.net.Notes = append(n.net.Notes, Note{X: p.X, Y: p.Y, Level: p.Z, Other: level})
}

// tidy puts pieces in canonical direction and order, adds up doubles and
// drops those without length.
func (n *noder) tidy(segs []piece) []piece {
	pts := n.net.Points
	out := segs[:0]
	for _, s := range segs {
		switch c := comparePlaces(pts[s.a], pts[s.b]); {
		case s.a == s.b || c == 0:
			continue
		case c > 0:
			s.a, s.b = s.b, s.a
		}
		out = append(out, s)
	}
	slices.SortFunc(out, func(p, q piece) int {
		if c := comparePlaces(pts[p.a], pts[q.a]); c != 0 {
			return c
		}
		return comparePlaces(pts[p.b], pts[q.b])
	})
	kept := out[:0]
	for _, s := range out {
		if k := len(kept); k > 0 && kept[k-1].a == s.a && kept[k-1].b == s.b {
			kept[k-1].count += s.count
			continue
		}
		kept = append(kept, s)
	}
	return kept
}

func (n *noder) finish(segs []piece) {
	for _, s := range segs {
		n.net.Segments = append(n.net.Segments, Segment{s.a, s.b})
		n.net.Count = append(n.net.Count, s.count)
	}
	slices.SortFunc(n.net.Notes, func(a, b Note) int {
		return comparePoints(Point{a.X, a.Y, a.Other}, Point{b.X, b.Y, b.Other})
	})
	n.net.Notes = slices.Compact(n.net.Notes)
}

func (e LevelGapErrors) sorted() error {
	slices.SortFunc(e, func(a, b *LevelGapError) int {
		return comparePoints(Point{a.X, a.Y, a.Other}, Point{b.X, b.Y, b.Other})
	})
	return e
}

func comparePlaces(a, b Point) int {
	if a.X != b.X {
		return compareFloats(a.X, b.X)
	}
	return compareFloats(a.Y, b.Y)
}

func comparePoints(a, b Point) int {
	if c := comparePlaces(a, b); c != 0 {
		return c
	}
	return compareFloats(a.Z, b.Z)
}

func compareFloats(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
