package series

import (
	"math"
	"slices"

	"github.com/swardbook/swardbook/compliance/unit"
)

// extremeAcc is the least or greatest reading.
type extremeAcc struct {
	largest bool
	valid   extreme
	below   extreme // of the limits of Below readings
	above   extreme // of what Above readings show
	under   bool    // a Below limit is 0 or less
}

type extreme struct {
	any   bool
	value unit.Decimal
	at    int64
}

func (a *extremeAcc) reset() { *a = extremeAcc{largest: a.largest} }

func (a *extremeAcc) add(s *sample) {
	e := &a.valid
	switch s.mark {
	case Below:
		e = &a.below
		a.under = a.under || s.value.Coefficient <= 0
	case Above:
		e = &a.above
	}
	if !e.any || a.beats(s.value.Cmp(e.value)) {
		*e = extreme{true, s.value, s.start}
	}
}

func (a *extremeAcc) beats(c int) bool { return c > 0 && a.largest || c < 0 && !a.largest }

func (a *extremeAcc) result(r *Result) outcome {
	a.place(r)
	limit := a.below.value.Float()
	least := 0.0
	if a.under && !a.largest || limit <= 0 {
		least = math.Inf(-1)
	}
	shown := a.above.value.Float()
	return outcome{
		zero: a.of(0, shown), half: a.of(limit/2, shown), full: a.of(limit, shown),
		low: a.of(least, shown), high: a.of(limit, math.Inf(1)),
	}
}

// of takes Below readings and Above readings as the values given.
func (a *extremeAcc) of(below, above float64) float64 {
	v := math.Inf(1)
	pick := math.Min
	if a.largest {
		v, pick = math.Inf(-1), math.Max
	}
	if a.valid.any {
		v = pick(v, a.valid.value.Float())
	}
	if a.below.any {
		v = pick(v, below)
	}
	if a.above.any {
		v = pick(v, above)
	}
	return v
}

// place finds which reading gives the value.
func (a *extremeAcc) place(r *Result) {
	var best extreme
	for _, e := range []extreme{a.valid, a.below, a.above} {
		if e.any && (!best.any || a.beats(e.value.Cmp(best.value))) {
			best = e
		}
	}
	r.At = best.at
}

// orderAcc is a median or a percentile.
type orderAcc struct {
	median     bool
	linear     bool
	millionths int64 // of a per cent
	values     []float64
	below      []float64
	above      []float64
	under      bool
	span       int64
	mixed      bool
}

func (a *orderAcc) reset() {
	a.values, a.below, a.above = a.values[:0], a.below[:0], a.above[:0]
	a.under, a.mixed, a.span = false, false, -1
}

func (a *orderAcc) add(s *sample) {
	if a.span >= 0 && a.span != s.span {
		a.mixed = true
	}
	a.span = s.span
	switch v := s.value.Float(); s.mark {
	case Below:
		a.below = append(a.below, v)
		a.under = a.under || v <= 0
	case Above:
		a.above = append(a.above, v)
	default:
		a.values = append(a.values, v)
	}
}

func (a *orderAcc) result(r *Result) outcome {
	if a.mixed {
		return none("readings of unequal length have no common percentile")
	}
	same := func(v float64) float64 { return v }
	if len(a.below)+len(a.above) == 0 {
		return exactly(a.of(same, same))
	}
	zero := func(float64) float64 { return 0 }
	half := func(v float64) float64 { return v / 2 }
	least := zero
	if a.under {
		least = func(float64) float64 { return math.Inf(-1) }
	}
	most := func(float64) float64 { return math.Inf(1) }
	return outcome{
		zero: a.of(zero, same), half: a.of(half, same), full: a.of(same, same),
		low: a.of(least, same), high: a.of(same, most),
	}
}

// of ranks the values, those below and above taken as the functions say.
func (a *orderAcc) of(below, above func(float64) float64) float64 {
	all := slices.Clone(a.values)
	for _, v := range a.below {
		all = append(all, below(v))
	}
	for _, v := range a.above {
		all = append(all, above(v))
	}
	slices.Sort(all)
	n := int64(len(all))
	const whole = 100 * 1_000_000
	switch {
	case a.median:
		return between(all, (n-1)/2, n/2, 0.5)
	case a.linear:
		at := (n - 1) * a.millionths
		i := at / whole
		return between(all, i, min(i+1, n-1), float64(at%whole)/whole)
	}
	k := (n*a.millionths + whole - 1) / whole
	return all[max(k, 1)-1]
}

// between goes a part of the way from value i to value j.
func between(all []float64, i, j int64, part float64) float64 {
	if i == j || part == 0 || all[i] == all[j] {
		return all[i]
	}
	return all[i] + float64(part*(all[j]-all[i]))
}
