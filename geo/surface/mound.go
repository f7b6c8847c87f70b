package surface

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/geo/tin"
)

// Base is what a stockpile stands on.
type Base struct {
	kind    string
	level   float64
	surface *Surface
	toe     []survey.Vertex
}

// LevelBase is a level plane, metres above datum.
func LevelBase(m float64) Base { return Base{kind: "level", level: m} }

// SurfaceBase is the ground as it was.
func SurfaceBase(s *Surface) Base { return Base{kind: "surface", surface: s} }

// ToeBase is the surface spanned by the toe of the mound: its ring with
// levels, triangulated. Only ground inside the ring counts.
func ToeBase(ring []survey.Vertex) Base { return Base{kind: "toe", toe: ring} }

// ToeFromSurface takes the toe from the outline of the area asked for, with
// levels read off the mound's own surface all along it.
func ToeFromSurface() Base { return Base{kind: "toe"} }

// Mound is a stockpile over its base.
type Mound struct {
	VolumeM3          float64 // above the base
	BelowBaseM3       float64 // hollows below the base, not taken off VolumeM3
	HeightM           float64 // largest height over the base
	SteepestFaceRatio float64 // rise over run of the steepest face, 0.5 for 1 in 2
	FootprintM2       float64 // plan area standing above the base
	PlanAreaM2        float64 // plan area compared
	Base              string  // "level", "surface" or "toe"
	Difference        Difference
}

// LeastFaceM2 is the plan area a triangle must stand above the base to count
// for the steepest face: smaller ones show a slip of the staff, not a face.
// Our own choice.
const LeastFaceM2 = 0.05

// Stockpile measures a mound over a base, inside within when given. The
// height is over the base, not over the ground around; neither it nor the
// steepness says whether a mound is stable.
func Stockpile(s *Surface, base Base, within *plan.Polygon) (Mound, error) {
	return StockpileBand(s, base, within, CompareOptions{})
}

// StockpileBand is Stockpile with a tolerance for Mound.Difference.
func StockpileBand(s *Surface, base Base, within *plan.Polygon, opts CompareOptions) (Mound, error) {
	if err := opts.check(); err != nil {
		return Mound{}, err
	}
	above := make([]float64, len(s.tri))
	var d Difference
	var err error
	switch base.kind {
	case "level":
		o := &overlay{a: s, sign: 1, dz: s.z0 - base.level, opts: opts, above: above}
		d, err = o.difference(within)
	case "surface":
		d, err = overlaySurfaces(s, base.surface, 1, within, opts, above)
	case "toe":
		var ground *Surface
		if ground, err = toeSurface(s, base.toe, within); err != nil {
			return Mound{}, err
		}
		d, err = overlaySurfaces(s, ground, 1, within, opts, above)
	default:
		return Mound{}, fmt.Errorf("no base: give a level, a toe or a surface")
	}
	if err != nil {
		return Mound{}, err
	}
	m := Mound{VolumeM3: d.FillM3, BelowBaseM3: d.CutM3, HeightM: d.MaxAboveM, FootprintM2: d.FillAreaM2, PlanAreaM2: d.PlanAreaM2, Base: base.kind, Difference: d}
	for i, a := range above {
		if a >= LeastFaceM2 {
			pl := s.plane(s.tri[i])
			m.SteepestFaceRatio = max(m.SteepestFaceRatio, math.Hypot(pl.gx, pl.gy))
		}
	}
	return m, nil
}

// toeSurface spans the ground under a mound from its toe.
func toeSurface(s *Surface, toe []survey.Vertex, within *plan.Polygon) (*Surface, error) {
	if toe == nil {
		return toeAlong(s, within)
	}
	if n := len(toe); n > 1 && (toe[0].E != toe[n-1].E || toe[0].N != toe[n-1].N) {
		toe = append(append([]survey.Vertex(nil), toe...), toe[0])
	}
	var ring orb.Ring
	var line tin.Line
	for _, v := range toe {
		if math.IsNaN(v.Level) {
			return nil, fmt.Errorf("toe: the corner at E %.3f N %.3f has no level", v.E, v.N)
		}
		ring = append(ring, orb.Point{v.E, v.N})
		line = append(line, tin.Point{X: v.E, Y: v.N, Z: v.Level})
	}
	area, err := plan.NewPolygon(orb.MultiPolygon{{ring}}, "toe")
	if err != nil {
		return nil, err
	}
	return spanned([]tin.Line{line}, area)
}

// toeAlong drapes the outline of an area over the mound's surface.
func toeAlong(s *Surface, within *plan.Polygon) (*Surface, error) {
	if within == nil {
		return nil, fmt.Errorf("toe: give the area whose outline is the toe of the mound")
	}
	var lines []tin.Line
	for _, part := range within.Rings() {
		for _, r := range part {
			section := s.Section(r)
			var l tin.Line
			for _, p := range section {
				if p.Gap {
					return nil, fmt.Errorf("toe: the outline leaves the surveyed surface at E %.3f N %.3f; draw it inside", p.E, p.N)
				}
				l = append(l, tin.Point{X: p.E, Y: p.N, Z: p.LevelM})
			}
			lines = append(lines, l)
		}
	}
	return spanned(lines, within)
}

// spanned triangulates rings with levels and keeps what lies inside the area.
func spanned(lines []tin.Line, area *plan.Polygon) (*Surface, error) {
	limits := tin.DefaultLimits()
	net, err := tin.Node(nil, lines, limits)
	if err != nil {
		return nil, fmt.Errorf("toe: %w", err)
	}
	m, err := tin.BuildConstrained(net.Points, net.Segments)
	if err != nil {
		return nil, fmt.Errorf("toe: %w", err)
	}
	return fromMesh(m, net.Points).Clip(area)
}
