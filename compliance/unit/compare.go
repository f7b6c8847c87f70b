package unit

import (
	"errors"
	"fmt"
	"math"
)

// Compare compares a derived value with a limit as written: -1 below, 0
// equal, 1 above. The value passes Round9 first, so a mean of equal readings
// equals a limit of that number whatever binary dust the mean carries. Minus
// and plus infinity compare as such; a value that is not a number compares
// as above, so that it never passes for kept.
func Compare(v float64, limit Decimal) int {
	v = Round9(v)
	switch {
	case math.IsNaN(v) || math.IsInf(v, 1):
		return 1
	case math.IsInf(v, -1):
		return -1
	}
	if d, ok := nines(v); ok {
		return d.Cmp(limit)
	}
	f := limit.Float()
	switch {
	case v < f:
		return -1
	case v > f:
		return 1
	}
	return 0
}

// nines returns the rounded value as a decimal with nine places, where it is
// small enough to hold them.
func nines(v float64) (Decimal, bool) {
	k := math.RoundToEven(v * 1e9)
	if math.IsNaN(k) || math.Abs(k) >= 1<<53 {
		return Decimal{}, false
	}
	return Decimal{Coefficient: int64(k), Places: 9}, true
}

// RoundHalfEven rounds a derived value half to even at 0 to 9 decimals. It
// rounds the value of Round9 as a decimal number, so 2.675 at two decimals is
// a tie and gives 2.68, though no float64 is exactly 2.675. Values too large
// to hold nine decimals are rounded as floats.
func RoundHalfEven(v float64, places int) float64 {
	places = min(max(places, 0), 9)
	d, ok := nines(v)
	if !ok {
		p := math.Pow10(places)
		if r := math.RoundToEven(v*p) / p; !math.IsInf(r, 0) {
			return r
		}
		return v
	}
	return roundTo(d, tens[9-places]).Float()
}

// roundTo rounds the coefficient half to even to a multiple of step.
func roundTo(d Decimal, step int64) Decimal {
	q, r := d.Coefficient/step, d.Coefficient%step
	twice := magnitude(r) * 2
	if twice > uint64(step) || (twice == uint64(step) && q%2 != 0) {
		if d.Coefficient < 0 {
			q--
		} else {
			q++
		}
	}
	d.Coefficient = q * step
	return d
}

// ErrStep is wrapped when a rounding step is not above zero or finer than
// 1e-9.
var ErrStep = errors.New("rounding step must be above zero and no finer than 1e-9")

// RoundToStep rounds a derived value half to even to a multiple of step, such
// as 0.1 or 5.
func RoundToStep(v float64, step Decimal) (float64, error) {
	s, err := step.Trim().Rescale(9)
	if err != nil || s.Coefficient <= 0 {
		return 0, fmt.Errorf("step %s: %w", step, ErrStep)
	}
	d, ok := nines(v)
	if !ok {
		return math.RoundToEven(v/step.Float()) * step.Float(), nil
	}
	return roundTo(d, s.Coefficient).Float(), nil
}
