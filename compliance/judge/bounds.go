package judge

import (
	"math"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// bounds is what is known of a value: it lies in [low, high]. A certain value
// has both equal; what a gap or a less-than result leaves open may be infinite.
type bounds struct{ low, high float64 }

// certain is the bounds of a value that is known.
func certain(v float64) bounds { return bounds{v, v} }

// anything is the bounds of a value of which nothing is known.
func anything() bounds { return bounds{math.Inf(-1), math.Inf(1)} }

// known tells whether the bounds leave one value only.
func (b bounds) known() bool { return b.low == b.high }

// map applies a function that never falls to both ends.
func (b bounds) rising(f func(float64) float64) bounds { return bounds{f(b.low), f(b.high)} }

// fit says whether a limit is kept: surely, surely not, or not to be told.
type fit uint8

const (
	open fit = iota // the bounds leave both possible
	kept
	broken
)

// fits compares bounds with one limit whose number stands.
func fits(b bounds, l *permit.Limit) fit {
	switch l.Comparator {
	case permit.AtMostLimit, permit.Below:
		return rank(l.Holds(b.high), l.Holds(b.low))
	case permit.AtLeastLimit, permit.Above:
		return rank(l.Holds(b.low), l.Holds(b.high))
	case permit.Between:
		return between(b, l)
	}
	if b.known() {
		return rank(l.Holds(b.low), l.Holds(b.low))
	}
	if unit.Compare(b.low, l.Value) > 0 || unit.Compare(b.high, l.Value) < 0 {
		return broken
	}
	return open
}

func rank(worst, best bool) fit {
	switch {
	case worst:
		return kept
	case !best:
		return broken
	}
	return open
}

func between(b bounds, l *permit.Limit) fit {
	if l.Holds(b.low) && l.Holds(b.high) {
		return kept
	}
	low, high := unit.Compare(b.high, l.Value), unit.Compare(b.low, l.Upper)
	if low < 0 || low == 0 && l.OpenLow || high > 0 || high == 0 && l.OpenHigh {
		return broken
	}
	return open
}

// joined takes several fits together.
func joined(fs []fit, join permit.Join) fit {
	wins, loses := broken, kept
	if join == permit.AnyOf {
		wins, loses = kept, broken
	}
	out := loses
	for _, f := range fs {
		if f == wins {
			return wins
		}
		if f == open {
			out = open
		}
	}
	return out
}

// margin is how far a value is on the safe side of a limit, below 0 when it
// is over. Of "=" it is minus the distance.
func margin(v float64, l *permit.Limit) float64 {
	switch l.Comparator {
	case permit.AtMostLimit, permit.Below:
		return unit.Round9(l.Value.Float() - v)
	case permit.AtLeastLimit, permit.Above:
		return unit.Round9(v - l.Value.Float())
	case permit.Between:
		return unit.Round9(math.Min(v-l.Value.Float(), l.Upper.Float()-v))
	}
	return unit.Round9(-math.Abs(v - l.Value.Float()))
}

// rounded rounds a value to a multiple of step, halves away from zero, as
// figures are rounded by hand. Values beyond 15 digits come back as they are.
//
// Source: common practice; the rule is printed with every judgement it touches.
func rounded(v float64, step unit.Decimal) float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) || math.Abs(v) >= 1<<53/1e9 || step.Places > 9 || step.Coefficient <= 0 {
		return v
	}
	nines := int64(math.RoundToEven(v * 1e9))
	by := step.Coefficient
	for i := step.Places; i < 9; i++ {
		if by > math.MaxInt64/10 {
			return v
		}
		by *= 10
	}
	q, r := nines/by, nines%by
	if r >= by-r && r > 0 {
		q++
	} else if -r >= by+r && r < 0 {
		q--
	}
	return unit.Decimal{Coefficient: q * by, Places: 9}.Float()
}

// roundingStep returns the step a condition rounds to, and whether it does.
func roundingStep(r permit.Rounding, l *permit.Limit) (unit.Decimal, bool) {
	switch r.Mode {
	case permit.ToLimitDecimals:
		return unit.Decimal{Coefficient: 1, Places: l.Value.Places}, true
	case permit.ToStep:
		d, err := unit.ParseDecimal(r.To)
		return d, err == nil && d.Coefficient > 0
	}
	return unit.Decimal{}, false
}
