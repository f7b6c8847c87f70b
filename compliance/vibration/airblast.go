package vibration

import (
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// referencePa is the reference sound pressure, 20 µPa.
const referencePa = 20e-6

// pascalsPerPSI is exact by the pound-force and the inch.
const pascalsPerPSI = 6894.757293168

// PeakLevel is the level in dB(lin, peak) of a peak pressure in Pa, 20 lg(p/20 µPa);
// it fails for a pressure that is not above 0.
func PeakLevel(pa float64) (float64, error) {
	if !(pa > 0) || math.IsInf(pa, 0) {
		return 0, fmt.Errorf("a pressure of %v Pa has no level", pa)
	}
	return unit.Round9(20 * math.Log10(pa/referencePa)), nil
}

// PeakPressure is the peak pressure in Pa of a level in dB(lin, peak).
func PeakPressure(db float64) float64 { return referencePa * math.Pow(10, db/20) }

// PSI and FromPSI turn Pa into pounds-force a square inch and back.
func PSI(pa float64) float64      { return pa / pascalsPerPSI }
func FromPSI(psi float64) float64 { return psi * pascalsPerPSI }

// AirLimit is the limit of air overpressure at a building for instruments of one
// lower limiting frequency. A level taken with one instrument is never held
// against the limit for another: the higher the limiting frequency, the more of
// the blast the instrument does not see.
type AirLimit struct {
	LowestHz float64 // at which its response is flat
	DB       float64
	Approval bool // holds only where the authority has approved it
}

// AirLimitsCFR are those of 30 CFR 816.67(b)(1), peak, linear. The one at 0.1 Hz
// needs approval, as does 105 dB C-weighted with slow response, which is another
// quantity and not held here.
var AirLimitsCFR = []AirLimit{{0.1, 134, true}, {2, 133, false}, {6, 129, false}}

// AirAnswer is what comes of a level held against a limit.
type AirAnswer struct {
	Limit  float64 // dB
	Margin float64 // dB left; below 0 when over
}

// HoldAir holds a peak level against the limit for the instrument it was taken
// with: the one whose lowest frequency is not below the instrument's own, without
// approval the next that needs none. It fails where the instrument's response is
// not known, no limit is for it, or the level is no figure.
func HoldAir(db, lowestHz float64, approved bool, limits []AirLimit) (AirAnswer, error) {
	if math.IsNaN(db) || math.IsInf(db, 0) {
		return AirAnswer{}, fmt.Errorf("%v dB is no level", db)
	}
	if !(lowestHz > 0) {
		return AirAnswer{}, fmt.Errorf("the lowest frequency of the instrument is not on record: %.1f dB cannot be held against a limit", db)
	}
	for _, l := range limits {
		if lowestHz <= l.LowestHz && (approved || !l.Approval) {
			return AirAnswer{l.DB, unit.Round9(l.DB - db)}, nil
		}
	}
	return AirAnswer{}, fmt.Errorf("no limit is for an instrument that responds from %v Hz up: the reading may lack most of the blast", lowestHz)
}
