package restoration

import (
	"math"

	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/surface"
)

// figure is one number taken from a comparison of two surfaces.
type figure struct {
	code, title, unit, help string
	signed                  bool // may lie below 0
	needsTolerance          bool
	// of returns the value and its bounds: what accuracy and ground not
	// covered leave possible.
	of func(d *surface.Difference, accuracyM float64) (value, low, high float64)
}

func (f *figure) floor() *float64 {
	if f.signed {
		return nil
	}
	return new(float64)
}

// figures in the order shown.
var figures = []figure{
	{code: "restoration.level_difference", title: "share of ground within the level tolerance", unit: "%", needsTolerance: true,
		help: "Share of the area whose level lies within ± the tolerance of the level wanted.", of: share},
	{code: "restoration.level_above", title: "greatest height above the level wanted", unit: "m",
		help: "Greatest height of the ground above the level wanted.",
		of:   func(d *surface.Difference, acc float64) (v, l, h float64) { return farthest(d, d.MaxAboveM, acc) }},
	{code: "restoration.level_below", title: "greatest depth below the level wanted", unit: "m",
		help: "Greatest depth of the ground below the level wanted.",
		of:   func(d *surface.Difference, acc float64) (v, l, h float64) { return farthest(d, d.MaxBelowM, acc) }},
	{code: "restoration.level_mean", title: "mean level difference", unit: "m", signed: true,
		help: "Mean of level less level wanted over the area.", of: mean},
	{code: "restoration.volume_difference", title: "volume against the levels wanted", unit: "m³", signed: true,
		help: "Volume of fill less cut against the levels wanted.", of: volume},
}

// settle sets value and bounds of an observation.
func (f *figure) settle(o *quantity.Observation, d *surface.Difference, accuracyM float64) {
	v, low, high := f.of(d, accuracyM)
	if math.IsNaN(v) {
		o.Mark = series.Blank
		return
	}
	o.Value = unit.Round9(v)
	if low != high {
		o.Low, o.High = unit.Round9(low), unit.Round9(high)
	}
}

// share returns per cent of the compared ground within tolerance. Ground asked
// for and not covered counts as outside for the low bound, inside for the high.
func share(d *surface.Difference, _ float64) (value, low, high float64) {
	whole := d.PlanAreaM2 + d.UncoveredM2
	low = 100 * d.Band.WorstShare * d.PlanAreaM2 / whole
	high = 100 * (float64(d.Band.BestShare*d.PlanAreaM2) + d.UncoveredM2) / whole
	return 100 * d.Band.WithinShare, low, min(high, 100)
}

// LeastCover is the share of the area asked for that surveys must cover for a
// greatest, mean or total figure to be taken for the whole.
//
// Source: common practice, 95 % of the area surveyed.
const LeastCover = 0.95

func covered(d *surface.Difference) bool {
	return d.PlanAreaM2 >= LeastCover*(d.PlanAreaM2+d.UncoveredM2)
}

// farthest bounds a greatest difference: too little ground covered leaves any
// greater one possible.
func farthest(d *surface.Difference, v, acc float64) (value, low, high float64) {
	low, high = max(0, v-acc), v+acc
	if !covered(d) {
		high = math.Inf(1)
	}
	return v, low, high
}

func mean(d *surface.Difference, acc float64) (value, low, high float64) {
	if !covered(d) {
		return math.NaN(), 0, 0
	}
	return d.MeanM, d.MeanM - acc, d.MeanM + acc
}

// volume bounds by a level error common to all points.
func volume(d *surface.Difference, acc float64) (value, low, high float64) {
	if !covered(d) {
		return math.NaN(), 0, 0
	}
	e := acc * d.PlanAreaM2
	return d.NetM3, d.NetM3 - e, d.NetM3 + e
}
