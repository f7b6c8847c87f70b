package surface

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/geo/tin"
)

// Options steer FromSurvey. The zero value holds the defaults named.
type Options struct {
	Breaklines []survey.Breakline  // honoured besides the survey's own
	Conflicts  survey.ConflictRule // two levels at one place; default refuse
	LeaveOut   []int               // rows of the survey a person decided to leave out
	SnapM      float64             // a breakline this near to a point runs through it; default 0.001 m
	LevelGapM  float64             // levels that meet on breaklines may differ by this; default 0.020 m
	NoFlags    bool                // skip the search for spikes, outliers and swapped axes
	AllowFlat  bool                // make a surface of a drawing whose levels are all 0, to look at
}

func (o Options) limits() tin.NodeLimits {
	l := tin.DefaultLimits()
	if o.SnapM > 0 {
		l.SnapM = o.SnapM
	}
	if o.LevelGapM > 0 {
		l.LevelM = o.LevelGapM
	}
	return l
}

// FromSurvey makes the surface of a survey: of its own triangles when it has
// them, of its cells when it is a grid, else by Delaunay triangulation with
// its breaklines. The result is a function of the set of points and
// breaklines, whatever their order in the file. Where the survey has a
// boundary the surface ends there, triangles being cut. The warnings are the
// decisions taken and the rows to look at, besides those of reading.
func FromSurvey(s *survey.Survey, opts Options) (*Surface, []survey.Warning, error) {
	if err := s.Usable(); err != nil && (s.Degrees || !opts.AllowFlat) {
		return nil, nil, err
	}
	out, warnings, err := fromSurvey(s, opts)
	if err != nil {
		return nil, warnings, fmt.Errorf("%s: %w", s.Name, err)
	}
	if len(s.Boundary) == 0 {
		return out, warnings, nil
	}
	boundary, err := boundaryOf(s)
	if err != nil {
		return nil, warnings, err
	}
	if out, err = out.Clip(boundary); err != nil {
		return nil, warnings, fmt.Errorf("%s: boundary: %w", s.Name, err)
	}
	return out, warnings, nil
}

func fromSurvey(s *survey.Survey, opts Options) (*Surface, []survey.Warning, error) {
	lines := append(append([]survey.Breakline(nil), s.Breaklines...), opts.Breaklines...)
	if len(opts.Breaklines) > 0 && (s.Faces != nil || s.Grid != nil) {
		return nil, nil, fmt.Errorf("breaklines cannot be drawn into a survey that has its triangles or cells already; leave them out")
	}
	switch {
	case s.Faces != nil:
		out, err := fromFaces(s.Points, s.Faces)
		return out, nil, err
	case s.Grid != nil:
		out, err := fromFaces(s.Grid.Points(), s.Grid.Faces())
		if err == nil {
			out.loose = false
		}
		return out, nil, err
	}
	withLines := *s
	withLines.Breaklines = lines
	pts, warnings, err := survey.Clean(&withLines, survey.CleanOptions{MergeM: opts.SnapM, Conflicts: opts.Conflicts, LeaveOut: opts.LeaveOut, NoFlags: opts.NoFlags})
	if err != nil {
		return nil, warnings, err
	}
	if err := linesNear(pts, opts.Breaklines); err != nil {
		return nil, warnings, err
	}
	out, notes, err := triangulate(pts, lines, opts.limits())
	return out, append(warnings, notes...), err
}

// fromFaces makes a surface of given triangles, turning them anticlockwise
// and leaving out those without area.
func fromFaces(pts []survey.Point, faces [][3]int32) (*Surface, error) {
	x0, y0, z0 := math.Inf(1), math.Inf(1), math.Inf(1)
	for _, p := range pts {
		if math.IsNaN(p.E+p.N+p.Level) || math.IsInf(p.E+p.N+p.Level, 0) {
			return nil, fmt.Errorf("point in line %d is not finite", p.Row)
		}
		x0, y0, z0 = min(x0, p.E), min(y0, p.N), min(z0, p.Level)
	}
	x0, y0, z0 = math.Floor(x0), math.Floor(y0), math.Floor(z0)
	p, z := make([]tin.XY, len(pts)), make([]float64, len(pts))
	for i, q := range pts {
		p[i], z[i] = tin.XY{X: q.E - x0, Y: q.N - y0}, q.Level-z0
	}
	tri := make([][3]int32, 0, len(faces))
	for i, f := range faces {
		for _, v := range f {
			if v < 0 || int(v) >= len(pts) {
				return nil, fmt.Errorf("triangle %d names point %d of %d", i+1, v+1, len(pts))
			}
		}
		a, b, c := p[f[0]], p[f[1]], p[f[2]]
		switch turn := tin.Orient(a.X, a.Y, b.X, b.Y, c.X, c.Y); {
		case turn > 0:
			tri = append(tri, f)
		case turn < 0:
			tri = append(tri, [3]int32{f[0], f[2], f[1]})
		}
	}
	if len(tri) == 0 {
		return nil, fmt.Errorf("%w: no triangle has an area", ErrNoSurface)
	}
	out := newSurface(x0, y0, z0, p, z, tri)
	out.loose = true
	return out, nil
}

// triangulate makes the Delaunay surface of points that lie apart.
func triangulate(pts []survey.Point, lines []survey.Breakline, limits tin.NodeLimits) (*Surface, []survey.Warning, error) {
	in := make([]tin.Point, len(pts))
	for i, p := range pts {
		in[i] = tin.Point{X: p.E, Y: p.N, Z: p.Level}
	}
	net, err := tin.Node(in, tinLines(lines), limits)
	if err != nil {
		return nil, nil, err
	}
	m, err := tin.BuildConstrained(net.Points, net.Segments)
	if err != nil {
		return nil, nil, err
	}
	return fromMesh(m, net.Points), lineWarnings(net.Notes), nil
}

func tinLines(lines []survey.Breakline) []tin.Line {
	out := make([]tin.Line, len(lines))
	for i, l := range lines {
		for _, v := range l.Vertices {
			out[i] = append(out[i], tin.Point{X: v.E, Y: v.N, Z: v.Level})
		}
	}
	return out
}

// linesNear refuses breaklines that lie nowhere near the points: they are in
// another grid, or in degrees.
func linesNear(pts []survey.Point, lines []survey.Breakline) error {
	if len(pts) == 0 {
		return nil
	}
	b := tin.EmptyBox()
	for _, p := range pts {
		b = b.Extend(tin.Box{MinX: p.E, MinY: p.N, MaxX: p.E, MaxY: p.N})
	}
	b = b.Grow(math.Hypot(b.MaxX-b.MinX, b.MaxY-b.MinY) + 1)
	for _, l := range lines {
		for _, v := range l.Vertices {
			if !b.Overlaps(tin.Box{MinX: v.E, MinY: v.N, MaxX: v.E, MaxY: v.N}) {
				return fmt.Errorf("breakline %s has a corner at E %.3f N %.3f, far from the survey; give breaklines in the survey's own grid", l.Name, v.E, v.N)
			}
		}
	}
	return nil
}

// lineWarnings tells where breaklines met points or each other with a gap.
func lineWarnings(notes []tin.Note) []survey.Warning {
	var out []survey.Warning
	for _, n := range notes {
		what := "a breakline meets a point"
		if n.Crossing {
			what = "two breaklines cross"
		}
		out = append(out, survey.Warning{Kind: survey.KindBreakline, Action: survey.Noted,
			Text: fmt.Sprintf("%s at E %.3f N %.3f: level %.3f m kept, the other is %.3f m", what, n.X, n.Y, n.Level, n.Other)})
	}
	return out
}

// fromMesh takes a triangulation over, in the mesh's own order.
func fromMesh(m *tin.Mesh, pts []tin.Point) *Surface {
	z0 := math.Inf(1)
	for _, p := range pts {
		z0 = min(z0, p.Z)
	}
	z0 = math.Floor(z0)
	z := make([]float64, len(m.P))
	for v, from := range m.Source {
		z[v] = pts[from].Z - z0
	}
	return newSurface(m.X0, m.Y0, z0, m.P, z, m.Triangles())
}

func boundaryOf(s *survey.Survey) (*plan.Polygon, error) {
	var part orb.Polygon
	for _, ring := range s.Boundary {
		var r orb.Ring
		for _, v := range ring {
			r = append(r, orb.Point{v.E, v.N})
		}
		part = append(part, r)
	}
	return plan.NewPolygon(orb.MultiPolygon{part}, s.Name+", boundary")
}

// Clip returns the part of a surface inside an area, triangles being cut at
// its edge.
func (s *Surface) Clip(area *plan.Polygon) (*Surface, error) {
	c := newClipper(s, area)
	out := &Surface{}
	var piece clipped
	for i, t := range s.tri {
		pl := s.plane(t)
		for _, poly := range c.pieces(i, &piece) {
			base := int32(len(out.p))
			for _, v := range poly {
				at := tin.XY{X: v.X + pl.at.X, Y: v.Y + pl.at.Y}
				out.p = append(out.p, at)
				out.z = append(out.z, pl.level(at))
			}
			for k := 1; k+1 < len(poly); k++ {
				f := [3]int32{base, base + int32(k), base + int32(k) + 1}
				a, b, d := out.p[f[0]], out.p[f[1]], out.p[f[2]]
				if tin.Orient(a.X, a.Y, b.X, b.Y, d.X, d.Y) > 0 {
					out.tri = append(out.tri, f)
				}
			}
		}
	}
	if len(out.tri) == 0 {
		return nil, ErrNoOverlap
	}
	cut := newSurface(s.x0, s.y0, s.z0, out.p, out.z, out.tri)
	cut.loose = true
	return cut, nil
}
