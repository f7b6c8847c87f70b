package permit

import "github.com/swardbook/swardbook/compliance/unit"

// Holds tells whether one value, in the limit's unit, keeps a limit whose
// number is its own. Equality is decided on decimals, so that a mean of equal
// readings equals a limit of that number.
func (l *Limit) Holds(v float64) bool {
	c := unit.Compare(v, l.Value)
	switch l.Comparator {
	case AtMostLimit:
		return c <= 0
	case Below:
		return c < 0
	case AtLeastLimit:
		return c >= 0
	case Above:
		return c > 0
	case Equal:
		return c == 0
	}
	u := unit.Compare(v, l.Upper)
	return (c > 0 || c == 0 && !l.OpenLow) && (u < 0 || u == 0 && !l.OpenHigh)
}
