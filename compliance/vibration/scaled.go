package vibration

import (
	"errors"
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Exact units: international foot and pound, and the inch of a velocity in in/s.
const (
	MetresPerFoot      = 0.3048
	KilogramsPerPound  = 0.45359237
	MillimetresPerInch = 25.4
)

// SquareRootFactor turns a scaled distance in m/kg½ into ft/lb½, CubeRootFactor one
// in m/kg⅓ into ft/lb⅓.
var (
	SquareRootFactor = math.Sqrt(KilogramsPerPound) / MetresPerFoot
	CubeRootFactor   = math.Cbrt(KilogramsPerPound) / MetresPerFoot
)

// CubeRootDistance is D/∛W in m/kg⅓ of a charge W in one delay [kg] and a distance
// D [m] through the air: what air overpressure goes with (California DOT, 2013,
// chapter 11).
func CubeRootDistance(kg, m float64) float64 { return m / math.Cbrt(kg) }

// PowerLaw is a velocity or pressure that falls with scaled distance as
// K·SD^-N. The unit of K is that of the result where SD is 1 in the law's own
// units of distance and charge.
type PowerLaw struct{ K, N float64 }

// At is what the law gives at a scaled distance above 0.
func (l PowerLaw) At(scaled float64) float64 { return l.K * math.Pow(scaled, -l.N) }

// Published laws, in ft and lb. California DOT, Transportation and Construction
// Vibration Guidance Manual, 2013, chapter 11: equation 13 in in/s on the square
// root, equation 14 in psi on the cube root. The two last are of US Bureau of
// Mines RI 8507, from memory: a site's own shots replace any of them.
var (
	PPVLeast        = PowerLaw{24, 1.6}  // little confined
	PPVUpper        = PowerLaw{242, 1.6} // confined as usual
	PPVVeryConfined = PowerLaw{605, 1.6}
	AirLeast        = PowerLaw{0.78, 1.2} // confined, least
	AirConfined     = PowerLaw{2.5, 1.2}  // confined, greatest
	AirUnconfined   = PowerLaw{82, 1.2}
	CoalMean        = PowerLaw{119, 1.52}
	CoalUpper       = PowerLaw{438, 1.52}
)

// Metric turns a law of velocity in in/s, ft and lb into one in mm/s, m and kg.
func (l PowerLaw) Metric() PowerLaw {
	return PowerLaw{K: MillimetresPerInch * l.K * math.Pow(SquareRootFactor, -l.N), N: l.N}
}

// ErrCharge is for a rule that allows no charge there.
var ErrCharge = errors.New("the rule names no charge there")

// LargestCharge is the largest charge in one delay at a distance for a least
// scaled distance, (D/SD)², in the units of both. A charge is shown by RoundDown.
func LargestCharge(distance, scaled float64) (float64, error) {
	if !(distance > 0) || !(scaled > 0) || math.IsInf(distance, 0) || math.IsInf(scaled, 0) {
		return 0, fmt.Errorf("%w: distance and scaled distance must be above 0", ErrCharge)
	}
	r := distance / scaled
	return unit.Round9(r * r), nil
}

// RoundDown is a charge as it is shown: to two decimals, never up.
func RoundDown(charge float64) float64 { return math.Floor(unit.Round9(charge*100)) / 100 }

// VectorBound is the root of the sum of squares of component peaks in mm/s. The
// peaks need not fall together, so it is an upper bound of the peak vector sum and
// never that sum; criteria name single axes (California DOT, 2013).
func VectorBound(components ...float64) float64 {
	s := 0.0
	for _, c := range components {
		s += float64(c * c)
	}
	return unit.Round9(math.Sqrt(s))
}
