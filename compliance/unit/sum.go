package unit

// Cmp compares two decimals exactly: -1, 0 or 1.
func (d Decimal) Cmp(e Decimal) int { return 0 }

// Add returns the exact sum, or an error when it needs more than 18 digits.
func (d Decimal) Add(e Decimal) (Decimal, error) { return Decimal{}, errNotBuilt }

// SumDecimals adds decimals exactly, or says that the sum needs more than 18
// digits.
func SumDecimals(ds []Decimal) (Decimal, error) { return Decimal{}, errNotBuilt }

// Compare compares a derived value, rounded by Round9, with a limit as
// written: -1 below, 0 equal, 1 above.
func Compare(v float64, limit Decimal) int { return 0 }

// RoundHalfEven rounds a derived value half to even at places decimals.
func RoundHalfEven(v float64, places int) float64 { return v }

// RoundToStep rounds a derived value half to even to a multiple of step.
func RoundToStep(v float64, step Decimal) (float64, error) { return 0, errNotBuilt }

// Energy returns 10^(level/10), the same on every platform.
func Energy(levelDB float64) float64 { return 0 }

// Level returns 10·lg(energy) in dB, the same on every platform.
func Level(energy float64) float64 { return 0 }
