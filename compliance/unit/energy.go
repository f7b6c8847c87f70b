package unit

import "math"

// Energy returns 10^(level/10), the energy of a level relative to its
// reference; level in dB, any size. Minus infinity gives 0.
//
// The standard library's exponential differs in the last bit between
// processors, so the power is taken here from a table of tenths of a decibel
// and a short series, with no fused operation: the same bits everywhere.
// Relative error below 1e-14, which is 4e-14 dB. Levels beyond ±3000 dB, which
// do not occur, go by the standard library.
// Source: definition of the level, ISO 80000-8.
func Energy(levelDB float64) float64 {
	if math.IsNaN(levelDB) || levelDB > 3000 || levelDB < -3000 {
		return math.Pow(10, levelDB/10)
	}
	tenths := math.Floor(levelDB * 10)
	rest := levelDB - float64(tenths/10) // [0, 0.1) up to rounding
	decade := math.Floor(tenths / 100)
	step := int(tenths - float64(decade*100))
	x := float64(rest * (math.Ln10 / 10)) // |x| < 0.0231
	series := 1.0
	for n := 7; n >= 1 && x != 0; n-- {
		series = 1 + float64(x*series)/float64(n)
	}
	return float64(float64(energySteps[step]*series) * math.Pow10(int(decade)))
}

// Level returns 10·lg(energy) in dB. Energy 0 gives minus infinity, below 0
// not a number. Like Energy it is the same on every platform.
// Source: definition of the level, ISO 80000-8.
func Level(energy float64) float64 {
	switch {
	case math.IsNaN(energy) || energy < 0:
		return math.NaN()
	case energy == 0:
		return math.Inf(-1)
	case math.IsInf(energy, 1):
		return energy
	}
	m, e := math.Frexp(energy)
	if m < math.Sqrt2/2 {
		m, e = m*2, e-1
	}
	// ln m = 2·artanh(s), s = (m-1)/(m+1), |s| < 0.172.
	s := (m - 1) / (m + 1)
	ss := float64(s * s)
	sum := 0.0
	for n := 23; n >= 1; n -= 2 {
		sum = float64(sum*ss) + 1/float64(n)
	}
	ln := float64(float64(2*s) * sum)
	return float64(ln*(10/math.Ln10)) + float64(float64(e)*(10*math.Ln2/math.Ln10))
}
