// Package surface makes ground surfaces from surveys and computes with them:
// level and slope at a place, volumes between two surfaces, stockpiles, share
// within a level tolerance, sections. Surfaces are triangles; every figure is
// exact for the triangles given, up to floating point. All metres.
package surface

import (
	"errors"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
)

// Surface is a ground surface made of triangles over the plan.
type Surface struct{}

// Options steer FromSurvey. The zero value holds the defaults named.
type Options struct {
	Breaklines []survey.Breakline  // honoured besides the survey's own
	Conflicts  survey.ConflictRule // two levels at one place; default refuse
}

// FromSurvey makes the surface of a survey. The result is a function of the
// set of points and breaklines, whatever their order in the file.
func FromSurvey(s *survey.Survey, opts Options) (*Surface, []survey.Warning, error) {
	return nil, nil, errors.New("surface: being built")
}

// CompareOptions steer Compare.
type CompareOptions struct {
	// ToleranceM is the level tolerance, ±, metres; 0 asks for no tolerance figures.
	ToleranceM float64
	// AccuracyM is the accuracy of a level difference, ±, metres.
	AccuracyM float64
}

// Difference is the outcome of comparing a later surface with an earlier one:
// dz = later - earlier, fill where dz > 0, cut where dz < 0, both positive.
// Where |dz| is below 1e-9 m the area counts as neither.
type Difference struct {
	FillM3, CutM3, NetM3  float64 // net = fill - cut
	FillAreaM2, CutAreaM2 float64
	PlanAreaM2            float64 // plan area compared
	MaxAboveM, MaxBelowM  float64 // max(dz) and -min(dz), never below 0
	MeanM, RMSM           float64 // area means of dz and of its square's root
	Band                  *Band   // nil when no tolerance was asked for
	OnlyBeforeM2          float64 // inside the area asked for, covered by the earlier surface only
	OnlyAfterM2           float64 // covered by the later surface only
	UncoveredM2           float64 // of the area asked for, not covered by both; 0 without one
}

// Band is how much of the area keeps within a level tolerance.
type Band struct {
	ToleranceM, AccuracyM float64
	WithinAreaM2          float64 // |dz| <= tolerance
	WithinShare           float64 // of PlanAreaM2, 0 to 1
	DoubtfulAreaM2        float64 // |dz| between tolerance - accuracy and tolerance + accuracy
	WorstShare, BestShare float64 // share with |dz| <= tolerance -/+ accuracy
}

// Compare overlays two surfaces, later minus earlier, over their overlap and
// inside within when given.
func Compare(before, after *Surface, within *plan.Polygon, opts CompareOptions) (Difference, error) {
	return Difference{}, errors.New("surface: being built")
}

// AboveLevel compares a surface with a level plane: dz = surface - level.
func AboveLevel(s *Surface, levelM float64, within *plan.Polygon) (Difference, error) {
	return Difference{}, errors.New("surface: being built")
}

// Base is what a stockpile stands on.
type Base struct {
	level   float64
	surface *Surface
	toe     []survey.Vertex
	kind    string
}

// LevelBase is a level plane, metres above datum.
func LevelBase(m float64) Base { return Base{kind: "level", level: m} }

// SurfaceBase is the ground as it was.
func SurfaceBase(s *Surface) Base { return Base{kind: "surface", surface: s} }

// ToeBase is the surface spanned by the toe of the mound: its ring with levels.
func ToeBase(ring []survey.Vertex) Base { return Base{kind: "toe", toe: ring} }

// ToeFromSurface takes the toe from the area's outline, with levels read off
// the mound's own surface along it.
func ToeFromSurface() Base { return Base{kind: "toe"} }

// Mound is a stockpile over its base.
type Mound struct {
	VolumeM3          float64 // above the base
	BelowBaseM3       float64 // hollows below the base, not subtracted from VolumeM3
	HeightM           float64 // largest height over the base
	SteepestFaceRatio float64 // rise over run of the steepest face, e.g. 0.5 for 1 in 2
	FootprintM2       float64 // plan area standing above the base
	PlanAreaM2        float64 // plan area compared
	Base              string  // "level", "surface" or "toe"
}

// Stockpile measures a mound over a base, inside within when given.
func Stockpile(s *Surface, base Base, within *plan.Polygon) (Mound, error) {
	return Mound{}, errors.New("surface: being built")
}
