package app

import (
	"context"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
)

// Plan is the plan in force at an instant, in metres of the site grid.
type Plan struct {
	Grid, Datum string
	Features    []*plan.Feature
	Extent      orb.Bound
}

// Plan answers the plan in force at an instant (zero = now).
func (s *Service) Plan(ctx context.Context, who Actor, at time.Time) (*Plan, error) {
	snap, err := s.own(ctx, who)
	if err != nil {
		return nil, err
	}
	if at.IsZero() {
		at = snap.At
	}
	site := snap.siteBody()
	out := &Plan{Grid: text(site, "grid"), Datum: text(site, "datum"), Features: snap.Record.Features(at)}
	for i, f := range out.Features {
		if i == 0 {
			out.Extent = f.Geometry.Bound()
			continue
		}
		out.Extent = out.Extent.Union(f.Geometry.Bound())
	}
	return out, nil
}

func (h *Snapshot) siteBody() book.Object {
	for _, e := range h.View.Current("site.1") {
		if e.Body != nil {
			return e.Body
		}
	}
	return book.Object{}
}

func text(o book.Object, key string) string {
	s, _ := o[key].(string)
	return s
}

// Surveys returns the surveys in force, oldest first.
func (s *Service) Surveys(ctx context.Context, who Actor) ([]*book.Entry, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	return snap.View.Current("survey.1"), nil
}

// Pair names two surveys to compare, inside a feature ("" = all that both cover).
type Pair struct {
	Before, After, Within string
	Tolerance, Accuracy   string // decimals in m; Accuracy "" = as the surveys show
}

// Compared is one surface against another.
type Compared struct {
	Pair
	Difference           surface.Difference
	ToleranceM           float64
	AccuracyM            float64
	Warnings             []string
	before, after        *surface.Surface
	within               *plan.Polygon
	BeforeEntry, AfterOf *book.Entry
}

// Compare overlays two surveys' surfaces.
func (s *Service) Compare(ctx context.Context, who Actor, p Pair) (*Compared, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	c, err := snap.pair(p)
	if err != nil {
		return nil, err
	}
	c.Difference, err = surface.Compare(c.before, c.after, c.within, surface.CompareOptions{ToleranceM: c.ToleranceM, AccuracyM: c.AccuracyM})
	if err != nil {
		return nil, &Error{Code: Invalid, Words: "the surveys cannot be compared: " + err.Error(), Cause: err}
	}
	return c, nil
}

func (h *Snapshot) pair(p Pair) (*Compared, error) {
	c := &Compared{Pair: p}
	var err error
	if c.before, c.BeforeEntry, err = h.Record.Surface(p.Before); err != nil {
		return nil, &Error{Code: NotFound, Words: "the survey before: " + err.Error(), Cause: err}
	}
	if c.after, c.AfterOf, err = h.Record.Surface(p.After); err != nil {
		return nil, &Error{Code: NotFound, Words: "the survey after: " + err.Error(), Cause: err}
	}
	if c.ToleranceM, err = metres("tolerance", p.Tolerance, 0); err != nil {
		return nil, err
	}
	if c.AccuracyM, err = metres("accuracy", p.Accuracy, shownAccuracy(c.BeforeEntry, c.AfterOf)); err != nil {
		return nil, err
	}
	if p.Within != "" {
		f := h.Record.Feature(p.Within, h.At)
		if f == nil {
			return nil, fault(NotFound, "there is no feature %q on the plan", p.Within)
		}
		if c.within, err = f.Area("feature " + f.Code); err != nil {
			return nil, &Error{Code: Invalid, Words: err.Error(), Cause: err}
		}
	}
	return c, nil
}

// shownAccuracy combines the shown accuracies of two surveys: independent
// errors add in squares (common practice, GUM 5.1).
func shownAccuracy(a, b *book.Entry) float64 {
	var sum float64
	for _, e := range []*book.Entry{a, b} {
		if e == nil {
			continue
		}
		if d, err := unit.ParseDecimal(text(e.Body, "accuracy_shown")); err == nil {
			v := d.Float()
			sum += v * v
		}
	}
	return unit.Round9(math.Sqrt(sum))
}

func metres(name, value string, otherwise float64) (float64, error) {
	if value == "" {
		return otherwise, nil
	}
	d, err := unit.ParseDecimal(value)
	if err != nil || d.Float() < 0 {
		return 0, fault(Invalid, "%s: %q is no length in metres; write for example 0.15", name, value)
	}
	return d.Float(), nil
}

// Raster is a difference grid for a picture: values sampled at cell centres,
// row 0 at the south; NaN where either surface has no level.
type Raster struct {
	OriginE, OriginN, CellM float64
	Cols, Rows              int
	Values                  []float64
	Edges                   []float64 // class edges in m, ascending, for both signs
	Outline                 []orb.Ring
}

// Raster samples the difference of two surveys on at most cells × cells cells.
func (s *Service) Raster(ctx context.Context, who Actor, p Pair, cells int) (*Raster, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	c, err := snap.pair(p)
	if err != nil {
		return nil, err
	}
	cells = min(max(cells, 20), 1000)
	frame, err := c.frame(cells)
	if err != nil {
		return nil, &Error{Code: Invalid, Words: "the surveys cannot be compared: " + err.Error(), Cause: err}
	}
	g := surface.DifferenceRaster(c.before, c.after, c.within, frame)
	out := &Raster{OriginE: g.E0 - g.DE/2, OriginN: g.N0 - g.DN/2, CellM: g.DE, Cols: g.Cols, Rows: g.Rows, Values: g.Levels, Edges: edges(c.ToleranceM)}
	if c.within != nil {
		for _, part := range c.within.Rings() {
			out.Outline = append(out.Outline, part...)
		}
	}
	return out, nil
}

// frame lays at most cells × cells square cells over what is compared.
func (c *Compared) frame(cells int) (surface.Frame, error) {
	b := c.bound()
	size := max(b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]) / float64(cells)
	if c.within == nil {
		return surface.FrameFor(c.before, c.after, size)
	}
	cols := int(math.Ceil((b.Max[0] - b.Min[0]) / size))
	rows := int(math.Ceil((b.Max[1] - b.Min[1]) / size))
	return surface.Frame{Cols: max(cols, 1), Rows: max(rows, 1), E0: b.Min[0] + size/2, N0: b.Min[1] + size/2, DE: size, DN: size}, nil
}

// bound is the rectangle around what is compared.
func (c *Compared) bound() orb.Bound {
	if c.within != nil {
		return c.within.Rings().Bound()
	}
	minE, minN, maxE, maxN := c.after.Extent()
	return orb.Bound{Min: orb.Point{minE, minN}, Max: orb.Point{maxE, maxN}}
}

// edges are the class edges of a difference picture: fixed, round, symmetric;
// the middle class is the tolerance where one was asked for.
func edges(tolerance float64) []float64 {
	if tolerance > 0 {
		return []float64{tolerance, unit.Round9(2 * tolerance), unit.Round9(4 * tolerance), unit.Round9(8 * tolerance), unit.Round9(16 * tolerance)}
	}
	return []float64{0.05, 0.1, 0.25, 0.5, 1}
}

// Cut is a section through two surfaces along a line.
type Cut struct {
	Line   orb.LineString
	Points []CutPoint
}

// CutPoint is one place on a section; NaN where a surface has no level.
type CutPoint struct{ DistanceM, E, N, Before, After float64 }

// Section cuts both surfaces along "e,n;e,n…"; "" takes a line across the
// middle from west to east.
func (s *Service) Section(ctx context.Context, who Actor, p Pair, line string) (*Cut, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	c, err := snap.pair(p)
	if err != nil {
		return nil, err
	}
	out := &Cut{}
	if out.Line, err = lineOf(line, c); err != nil {
		return nil, err
	}
	out.Points = cutPoints(out.Line, c.before, c.after)
	return out, nil
}

// cutPoints are the places where either surface bends along a line, with the
// levels of both.
func cutPoints(line orb.LineString, before, after *surface.Surface) []CutPoint {
	var out []CutPoint
	for _, s := range []*surface.Surface{before, after} {
		for _, p := range s.Section(line) {
			out = append(out, CutPoint{DistanceM: p.ChainageM, E: p.E, N: p.N})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].DistanceM < out[j].DistanceM })
	out = slices.CompactFunc(out, func(a, b CutPoint) bool { return math.Abs(b.DistanceM-a.DistanceM) < 1e-6 })
	for i := range out {
		out[i].Before, out[i].After = levelOr(before, out[i]), levelOr(after, out[i])
	}
	return out
}

func levelOr(s *surface.Surface, p CutPoint) float64 {
	if z, ok := s.LevelAt(p.E, p.N); ok {
		return z
	}
	return math.NaN()
}

func lineOf(line string, c *Compared) (orb.LineString, error) {
	if line == "" {
		b := c.bound()
		n := (b.Min[1] + b.Max[1]) / 2
		return orb.LineString{{b.Min[0], n}, {b.Max[0], n}}, nil
	}
	var out orb.LineString
	for _, pair := range strings.Split(line, ";") {
		e, n, ok := strings.Cut(pair, ",")
		x, err1 := strconv.ParseFloat(strings.TrimSpace(e), 64)
		y, err2 := strconv.ParseFloat(strings.TrimSpace(n), 64)
		if !ok || err1 != nil || err2 != nil || math.IsInf(x, 0) || math.IsNaN(x) || math.IsInf(y, 0) || math.IsNaN(y) {
			return nil, fault(Invalid, "the line's ends are E and N in metres of the site grid; %q is not", pair)
		}
		out = append(out, orb.Point{x, y})
	}
	if len(out) < 2 || out[0] == out[len(out)-1] {
		return nil, fault(Invalid, "a section needs two different ends")
	}
	return out, nil
}
