package unit

import "math"

// Round9 rounds half to even at 1e-9 of the value's own unit. Every derived
// value passes through it once, before it is compared, stored or printed;
// "unrounded" in a judgement means this. Values too large to hold nine
// decimals come back as they are.
func Round9(v float64) float64 {
	const scale = 1e9
	if math.Abs(v) >= 1<<53/scale {
		return v
	}
	return math.RoundToEven(v*scale) / scale
}
