package surface

import (
	"fmt"
	"math"
	"slices"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/tin"
)

// CompareOptions steer Compare.
type CompareOptions struct {
	// ToleranceM is the level tolerance, ±, metres; 0 asks for no tolerance figures.
	ToleranceM float64
	// AccuracyM is the accuracy of a level difference, ±, metres.
	AccuracyM float64
}

func (o CompareOptions) check() error {
	if !(o.ToleranceM >= 0) || !(o.AccuracyM >= 0) || math.IsInf(o.ToleranceM+o.AccuracyM, 0) {
		return fmt.Errorf("tolerance %v m and accuracy %v m must be 0 or more", o.ToleranceM, o.AccuracyM)
	}
	return nil
}

// Difference is the outcome of comparing a later surface with an earlier one:
// dz = later - earlier, fill where dz > 0, cut where dz < 0, both positive.
// Where |dz| is below 1e-10 m the area counts as neither.
type Difference struct {
	FillM3, CutM3, NetM3  float64 // net = fill - cut
	FillAreaM2, CutAreaM2 float64
	PlanAreaM2            float64 // plan area compared
	MaxAboveM, MaxBelowM  float64 // largest dz and largest -dz, never below 0
	MinDzM, MaxDzM        float64 // the extremes of dz themselves
	MeanM, RMSM           float64 // over the area: mean of dz, root of the mean of dz²
	Band                  *Band   // nil when no tolerance was asked for
	OnlyBeforeM2          float64 // inside the area asked for, on the earlier surface only
	OnlyAfterM2           float64 // on the later surface only
	AskedM2               float64 // plan area asked for; 0 when none was
	UncoveredM2           float64 // of that, not on both surfaces
	Pieces                int     // parts on which dz is linear
}

// Band is how much of the area keeps within a level tolerance.
type Band struct {
	ToleranceM, AccuracyM float64
	WithinAreaM2          float64 // |dz| <= tolerance
	WithinShare           float64 // of PlanAreaM2, 0 to 1
	DoubtfulAreaM2        float64 // |dz| between tolerance - accuracy and tolerance + accuracy
	WorstShare, BestShare float64 // share with |dz| <= tolerance - accuracy, + accuracy
}

// Compare overlays two surfaces, later minus earlier, over their overlap and
// inside within when given. Exchanging the surfaces exchanges fill and cut
// exactly. Without common ground it returns ErrNoOverlap.
func Compare(before, after *Surface, within *plan.Polygon, opts CompareOptions) (Difference, error) {
	if err := opts.check(); err != nil {
		return Difference{}, err
	}
	// One of the two is always the first, whichever is later, so that the
	// arithmetic is the same both ways.
	a, b, sign := after, before, 1.0
	if firstOf(before, after) {
		a, b, sign = before, after, -1.0
	}
	d, err := overlaySurfaces(a, b, sign, within, opts, nil)
	if err != nil {
		return Difference{}, err
	}
	d.OnlyBeforeM2 = remainder(areaIn(before, within), d.PlanAreaM2)
	d.OnlyAfterM2 = remainder(areaIn(after, within), d.PlanAreaM2)
	return d, nil
}

// AboveLevel compares a surface with a level plane: dz = surface - level.
func AboveLevel(s *Surface, levelM float64, within *plan.Polygon) (Difference, error) {
	return CompareLevel(s, levelM, within, CompareOptions{})
}

// CompareLevel is AboveLevel with a tolerance.
func CompareLevel(s *Surface, levelM float64, within *plan.Polygon, opts CompareOptions) (Difference, error) {
	if err := opts.check(); err != nil {
		return Difference{}, err
	}
	if math.IsNaN(levelM) || math.IsInf(levelM, 0) {
		return Difference{}, fmt.Errorf("level %v is not a number", levelM)
	}
	o := &overlay{a: s, sign: 1, dz: s.z0 - levelM, opts: opts}
	return o.difference(within)
}

// overlaySurfaces compares a with b; above, when set, gathers the area over b
// for each triangle of a.
func overlaySurfaces(a, b *Surface, sign float64, within *plan.Polygon, opts CompareOptions, above []float64) (Difference, error) {
	o := &overlay{a: a, b: b, sign: sign, dx: b.x0 - a.x0, dy: b.y0 - a.y0, dz: a.z0 - b.z0, opts: opts, above: above}
	o.bp = b.p
	o.same = identical(a, b)
	if o.dx != 0 || o.dy != 0 {
		o.bp = make([]tin.XY, len(b.p))
		for i, p := range b.p {
			o.bp[i] = tin.XY{X: p.X + o.dx, Y: p.Y + o.dy}
		}
	}
	return o.difference(within)
}

func (o *overlay) difference(within *plan.Polygon) (Difference, error) {
	if within != nil {
		o.clip = newClipper(o.a, within)
	}
	s := o.run()
	area := s.area.value()
	if !(area > 0) {
		return Difference{}, noOverlap(o.a, o.b, within)
	}
	d := Difference{FillM3: s.fill.value(), CutM3: s.cut.value(), FillAreaM2: s.fillArea.value(), CutAreaM2: s.cutArea.value(),
		PlanAreaM2: area, MinDzM: s.low, MaxDzM: s.high, MaxAboveM: max(s.high, 0), MaxBelowM: max(-s.low, 0),
		RMSM: math.Sqrt(max(s.squares.value(), 0) / area), Pieces: s.pieces}
	d.NetM3 = d.FillM3 - d.CutM3
	d.MeanM = d.NetM3 / area
	if within != nil {
		d.AskedM2 = within.AreaM2()
		d.UncoveredM2 = remainder(d.AskedM2, area)
	}
	if t := o.opts.ToleranceM; t > 0 {
		in := min(s.within.value(), area)
		worst, best := min(s.worst.value(), in), max(min(s.best.value(), area), in)
		d.Band = &Band{ToleranceM: t, AccuracyM: o.opts.AccuracyM, WithinAreaM2: in, WithinShare: in / area,
			DoubtfulAreaM2: best - worst, WorstShare: worst / area, BestShare: best / area}
	}
	return d, nil
}

// noOverlap says where the parts lie, which shows a wrong grid at once.
func noOverlap(a, b *Surface, within *plan.Polygon) error {
	text := "the surface lies at " + extentText(a.Extent())
	if b != nil {
		text = "one surface lies at " + extentText(a.Extent()) + ", the other at " + extentText(b.Extent())
	}
	if within != nil {
		bound := within.Rings().Bound()
		text += ", the area at " + extentText(bound.Min[0], bound.Min[1], bound.Max[0], bound.Max[1])
	}
	return fmt.Errorf("%w: %s; check that all are in one grid, in metres", ErrNoOverlap, text)
}

func extentText(minE, minN, maxE, maxN float64) string {
	return fmt.Sprintf("E %.1f to %.1f, N %.1f to %.1f", minE, maxE, minN, maxN)
}

// remainder returns whole - part, without the dust of rounding.
func remainder(whole, part float64) float64 {
	if rest := whole - part; rest > 1e-9*whole {
		return rest
	}
	return 0
}

// identical reports whether two surfaces are the same triangles: then each is
// only compared with itself and the difference is exactly 0.
func identical(a, b *Surface) bool {
	return a == b || (a.x0 == b.x0 && a.y0 == b.y0 && a.z0 == b.z0 && slices.Equal(a.p, b.p) && slices.Equal(a.z, b.z) && slices.Equal(a.tri, b.tri))
}

// areaIn returns the plan area of a surface inside an area.
func areaIn(s *Surface, within *plan.Polygon) float64 {
	if within == nil {
		return s.PlanAreaM2()
	}
	c := newClipper(s, within)
	var sum total
	var w clipped
	for i := range s.tri {
		for _, poly := range c.pieces(i, &w) {
			sum.add(tin.PolygonArea(poly))
		}
	}
	return sum.value()
}

// firstOf reports whether a comes before b in an order of surfaces that only
// rests on what they are.
func firstOf(a, b *Surface) bool {
	if len(a.tri) != len(b.tri) {
		return len(a.tri) > len(b.tri)
	}
	if len(a.p) != len(b.p) {
		return len(a.p) > len(b.p)
	}
	for i := range a.p {
		for _, d := range [3]float64{a.p[i].X + a.x0 - (b.p[i].X + b.x0), a.p[i].Y + a.y0 - (b.p[i].Y + b.y0), a.z[i] + a.z0 - (b.z[i] + b.z0)} {
			if d != 0 {
				return d < 0
			}
		}
	}
	return false
}
