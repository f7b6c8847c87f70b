package surface

import (
	"fmt"
	"math"

	"github.com/swardbook/swardbook/geo/plan"
)

// LevelError is what is known of the errors of a difference of levels, as
// standard deviations in metres.
type LevelError struct {
	PointM float64 // of one point's difference, by chance: √(σ₁² + σ₂²) of the two surveys
	BiasM  float64 // common to all points: control, datum; it never shrinks with their number
	RangeM float64 // distance within which the points' errors go together; 0: each for itself
	Points int     // points that carry the surface inside the area
}

// VolumeUncertainty is the standard deviation of a volume, and twice it.
type VolumeUncertainty struct {
	RandomM3, BiasM3, SigmaM3 float64
	ExpandedM3                float64 // coverage factor 2, about 95 %
	EffectivePoints           float64 // points that count as independent
}

// coverageFactor is the factor from standard to expanded uncertainty.
// Source: JCGM 100:2008, Guide to the expression of uncertainty in
// measurement, 6.3.
const coverageFactor = 2

// UncertaintyOf returns the uncertainty of a volume over a plan area in square
// metres: by chance area × σ / √n, from the common part area × bias, joined by
// the root of their squares. With a correlation range R, n is at most
// area / (π R² / 5), the effective number under a spherical model.
//
// Source: common practice of error propagation for surface differences; the
// effective area of the spherical model from memory.
func UncertaintyOf(areaM2 float64, e LevelError) (VolumeUncertainty, error) {
	for _, v := range [4]float64{areaM2, e.PointM, e.BiasM, e.RangeM} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return VolumeUncertainty{}, fmt.Errorf("area %v m², errors %v m and %v m, range %v m: all must be 0 or more", areaM2, e.PointM, e.BiasM, e.RangeM)
		}
	}
	if e.Points < 1 {
		return VolumeUncertainty{}, fmt.Errorf("the number of points is needed")
	}
	n := float64(e.Points)
	if e.RangeM > 0 {
		n = min(n, max(areaM2/(math.Pi*e.RangeM*e.RangeM/5), 1))
	}
	u := VolumeUncertainty{RandomM3: areaM2 * e.PointM / math.Sqrt(n), BiasM3: areaM2 * e.BiasM, EffectivePoints: n}
	u.SigmaM3 = math.Hypot(u.RandomM3, u.BiasM3)
	u.ExpandedM3 = coverageFactor * u.SigmaM3
	return u, nil
}

// DetectionLimitM returns the least difference of level at one place, metres,
// that tells from none at 95 %, of the standard deviation of a difference.
func DetectionLimitM(differenceM float64) float64 {
	const normal95 = 1.959963984540054
	return normal95 * differenceM
}

// PointsInside counts the corners of the surface inside an area, or all.
func (s *Surface) PointsInside(within *plan.Polygon) int {
	used := make([]bool, len(s.p))
	for _, t := range s.tri {
		for _, v := range t {
			used[v] = true
		}
	}
	n := 0
	for i, p := range s.p {
		if used[i] && (within == nil || within.Contains(p.X+s.x0, p.Y+s.y0)) {
			n++
		}
	}
	return n
}
