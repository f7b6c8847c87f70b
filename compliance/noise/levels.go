package noise

import (
	"errors"
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Levels here are in dB, A-weighted unless the caller says otherwise, re 20 µPa.
// Levels of different weightings or responses are different quantities: nothing
// here turns one into another.

// power is 10^(L/10), the energy a level stands for relative to 0 dB.
func power(level float64) float64 { return math.Pow(10, level/10) }

// levelOf turns relative energy back into dB.
func levelOf(energy float64) float64 { return 10 * math.Log10(energy) }

// Sum adds the levels of sources that sound together: 10 lg Σ 10^(L/10) (US FTA
// manual of 2006, table 6-11). It fails for no level and for one that is none.
func Sum(levels ...float64) (float64, error) {
	if len(levels) == 0 {
		return 0, errors.New("no level to add")
	}
	e := 0.0
	for _, l := range levels {
		if math.IsNaN(l) || math.IsInf(l, 0) {
			return 0, fmt.Errorf("%v is no level in dB", l)
		}
		e += power(l)
	}
	return unit.Round9(levelOf(e)), nil
}

// Correction says what taking a background out of a level came to.
type Correction string

// The answers there are. Where the difference is small the result is mostly
// error, so none is given (common practice with BS 4142 and ISO 1996-2; clauses
// not checked).
const (
	Corrected       Correction = "corrected"        // background at least 3 dB lower, not more than 10 dB
	NothingToTake   Correction = "not needed"       // background more than 10 dB lower
	NotDeterminable Correction = "not determinable" // background less than 3 dB lower, or as high
)

// How many dB the background must lie lower for a correction, and beyond how
// many none is needed.
const (
	leastBelow = 3
	mostBelow  = 10
)

// Without takes a background level out of a total level, both over the same time
// and in the same conditions: 10 lg(10^(Lt/10) - 10^(Lb/10)) (FTA manual, table
// 6-11, turned round). The value is meaningful unless the answer is
// NotDeterminable, when it is 0 and must not be shown.
func Without(total, background float64) (float64, Correction) {
	difference := unit.Round9(total - background)
	if math.IsNaN(difference) || difference < leastBelow {
		return 0, NotDeterminable
	}
	site := unit.Round9(levelOf(power(total) - power(background)))
	if difference > mostBelow {
		return site, NothingToTake
	}
	return site, Corrected
}

// Facade is what a level is higher by 1 m before a wall than in the open (END,
// Directive 2002/49/EC, annex I: 3 dB).
const Facade = 3.0

// SlopeDistance is the straight distance over a horizontal distance and a
// difference of height, all in m.
func SlopeDistance(horizontal, height float64) float64 {
	return unit.Round9(math.Hypot(horizontal, height))
}

// CombinedUncertainty is the root of the sum of squares of standard
// uncertainties in dB, and that expanded by the coverage factor 2, for about
// 95 % (ISO 1996-2, annex G, worked example).
func CombinedUncertainty(parts ...float64) (standard, expanded float64) {
	s := 0.0
	for _, p := range parts {
		s += float64(p * p)
	}
	standard = math.Sqrt(s)
	return unit.Round9(standard), unit.Round9(2 * standard)
}

// ImpulseProminence of one impulse by its onset rate in dB/s and the difference
// between its end and its start in dB: P = 3 lg(OR) + 2 lg(LD); the adjustment
// is 1.8(P - 5) dB where P is more than 5, else none (NT ACOU 112:2002, taken up
// in ISO/PAS 1996-3:2022).
func ImpulseProminence(onsetRate, difference float64) (prominence, adjustment float64, err error) {
	if !(onsetRate > 0) || !(difference > 0) || math.IsInf(onsetRate, 0) || math.IsInf(difference, 0) {
		return 0, 0, errors.New("onset rate in dB/s and level difference in dB must both be above 0")
	}
	p := float64(3*math.Log10(onsetRate)) + float64(2*math.Log10(difference))
	return unit.Round9(p), unit.Round9(math.Max(0, 1.8*(p-5))), nil
}

// Rated is a rating level held against a background.
type Rated struct {
	Specific   float64 // dB, the source alone over the reference time
	Rating     float64 // dB, with what is added for its character
	Excess     float64 // dB over the background
	Correction Correction
}

// Rate follows the outline of BS 4142:2014+A1:2019 (common practice, clauses not
// checked; it is not meant for construction sites): the ambient level less the
// residual, with adjustments in dB for tones, impulses and the like added, against
// the background LA90. It fails where the specific level is not determinable.
func Rate(ambient, residual, background float64, adjustments ...float64) (Rated, error) {
	specific, how := Without(ambient, residual)
	if how == NotDeterminable {
		return Rated{Correction: how}, fmt.Errorf("the ambient level is only %.1f dB above the residual: the level of the source alone cannot be determined", ambient-residual)
	}
	r := Rated{Specific: specific, Rating: specific, Correction: how}
	for _, a := range adjustments {
		r.Rating += a
	}
	r.Rating = unit.Round9(r.Rating)
	r.Excess = unit.Round9(r.Rating - background)
	return r, nil
}

// LimitFromBackground is a limit that follows a background level: the background
// and a margin, but not above a cap nor below a floor, all in dB. Mineral sites in
// England commonly have LA90,1h + 10, at most 55 dB LAeq,1h; an older rule kept
// it at 45 dB where the background is below 35 (planning guidance from memory;
// MPG 11 of 1993 as transcribed). The permit's own words rule. A floor of 0 is
// none.
func LimitFromBackground(background, margin, most, floor float64) float64 {
	return unit.Round9(math.Max(math.Min(background+margin, most), floor))
}
