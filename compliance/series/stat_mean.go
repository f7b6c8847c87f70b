package series

import (
	"math"
	"sort"

	"github.com/swardbook/swardbook/compliance/unit"
)

// energyAcc is the mean of levels by energy, weighted by duration:
// L = 10·lg(Σ 10^(Lᵢ/10)·tᵢ / Σ tᵢ), dB. Below readings have from no energy to
// that of their limit.
// Source: definition of the equivalent continuous sound level, ISO 1996-1;
// unequal durations as in ISO 1996-2.
type energyAcc struct {
	base, nd float64 // Σ energy × weight of readings with a value; of Below at the full limit
	weight   int64
}

func (a *energyAcc) reset() { *a = energyAcc{} }

func (a *energyAcc) add(s *sample) {
	e := float64(unit.Energy(s.value.Float()) * float64(s.weight))
	if s.mark == Below {
		a.nd += e
	} else {
		a.base += e
	}
	a.weight += s.weight
}

// addRun adds valid readings i to j, each with the whole span of the block.
func (a *energyAcc) addRun(b *Block, i, j int) {
	weight := float64(b.Span)
	a.weight += int64(j-i) * b.Span
	for ; i < j; i++ {
		a.base += float64(unit.Energy(b.Value(i).Float()) * weight)
	}
}

func (a *energyAcc) result(r *Result) outcome {
	r.energyMs = a.base
	if r.WindowMs > 0 && !r.Instants {
		r.LeastEnergyMean = unit.Round9(unit.Level(a.base / float64(r.WindowMs)))
	}
	level := func(energy float64) float64 { return unit.Level(energy / float64(a.weight)) }
	o := outcome{zero: level(a.base), half: level(a.base + float64(a.nd/2)), full: level(a.base + a.nd)}
	return o.bounds(r, o.zero)
}

// bounds sets low, and high to infinity where a reading is Above.
func (o outcome) bounds(r *Result, low float64) outcome {
	o.low, o.high = low, o.full
	if r.Above > 0 {
		o.high = math.Inf(1)
	}
	return o
}

// linearAcc holds exact sums of readings and of Below limits, each weighted.
type linearAcc struct {
	base, nd unit.Total
	weight   int64
	under    bool // a Below limit is 0 or less, so the value has no lower bound
}

func (a *linearAcc) reset() { *a = linearAcc{} }

func (a *linearAcc) take(s *sample, weight int64) {
	if s.mark == Below {
		a.nd.AddWeighted(s.value, weight)
		a.under = a.under || s.value.Coefficient <= 0
	} else {
		a.base.AddWeighted(s.value, weight)
	}
	a.weight += weight
}

// over divides the sums by n.
func (a *linearAcc) over(r *Result, n int64) outcome {
	o := exactly(a.base.Over(n))
	if r.Below > 0 {
		full, half := a.base, a.base
		full.AddTotal(&a.nd)
		half.AddTotal(&a.base)
		half.AddTotal(&a.nd)
		o.full, o.half = full.Over(n), half.Over(2*n)
	}
	low := o.zero
	if a.under {
		low = math.Inf(-1)
	}
	return o.bounds(r, low)
}

// meanAcc is the arithmetic mean, weighted by duration: exact sums of
// decimals, divided once.
type meanAcc struct{ linearAcc }

func (a *meanAcc) add(s *sample) { a.take(s, s.weight) }

func (a *meanAcc) result(r *Result) outcome { return a.over(r, a.weight) }

// sumAcc is the sum of readings in the window they begin in.
type sumAcc struct{ linearAcc }

func (a *sumAcc) add(s *sample) { a.take(s, 1) }

func (a *sumAcc) result(r *Result) outcome {
	full := a.base
	full.AddTotal(&a.nd)
	sum, err := full.Decimal()
	r.Sum, r.SumExact = sum, err == nil
	return a.over(r, 1)
}

// geometricAcc is the geometric mean, weighted by duration. Values must be
// above zero; with Below readings as zero it is zero.
type geometricAcc struct {
	base, full, half float64 // Σ lg × weight
	weight           int64
	nd               bool
	bad              bool
}

func (a *geometricAcc) reset() { *a = geometricAcc{} }

func (a *geometricAcc) add(s *sample) {
	v := s.value.Float()
	w := float64(s.weight)
	switch {
	case v <= 0:
		a.bad = true
	case s.mark == Below:
		a.nd = true
		a.full += float64(unit.Level(v) * w)
		a.half += float64(unit.Level(v/2) * w)
	default:
		a.base += float64(unit.Level(v) * w)
	}
	a.weight += s.weight
}

func (a *geometricAcc) result(r *Result) outcome {
	if a.bad {
		return none("a geometric mean needs values above zero")
	}
	w := float64(a.weight)
	o := exactly(unit.Energy((a.base + a.full) / w))
	if a.nd {
		o.zero, o.half = 0, unit.Energy((a.base+a.half)/w)
	}
	return o.bounds(r, o.zero)
}

// flowAcc is the mean weighted by the flow at each reading: Σ cᵢ·qᵢ / Σ qᵢ,
// qᵢ the flow over the time of the reading, or at it for an instant. A
// reading without flow makes the mean impossible.
type flowAcc struct {
	flow         []*Block
	base, nd     float64
	weight       float64
	under        bool
	blind, minus int
}

func (a *flowAcc) reset() { *a = flowAcc{flow: a.flow} }

func (a *flowAcc) add(s *sample) {
	q, ok := a.at(s)
	switch {
	case !ok:
		a.blind++
		return
	case q < 0:
		a.minus++
		return
	}
	load := float64(s.value.Float() * q)
	if s.mark == Below {
		a.nd += load
		a.under = a.under || s.value.Coefficient <= 0
	} else {
		a.base += load
	}
	a.weight += q
}

// at returns the flow that weighs a sample: flow × ms over its time, or the
// flow at an instant. ok is false where a part of it has no flow reading.
func (a *flowAcc) at(s *sample) (q float64, ok bool) {
	from, to := s.start, s.start+max(s.span, 1)
	covered := int64(0)
	k := sort.Search(len(a.flow), func(k int) bool { b := a.flow[k]; return b.Len() > 0 && b.last() >= from })
	for ; k < len(a.flow) && (a.flow[k].Len() == 0 || a.flow[k].Start[0] < to); k++ {
		b := a.flow[k]
		i, j := b.Touching(from, to)
		for ; i < j; i++ {
			if !b.Mark[i].Counts() {
				continue
			}
			ms := to - from // an instant of flow weighs its sample alone
			if b.Span > 0 {
				ms = min(b.Start[i]+b.Span, to) - max(b.Start[i], from)
			}
			covered += ms
			q += float64(b.Value(i).Float() * float64(ms))
		}
	}
	return q, covered == to-from
}

func (a *flowAcc) result(r *Result) outcome {
	switch {
	case a.blind > 0:
		return none("some readings have no flow beside them")
	case a.minus > 0:
		return none("the flow runs backwards at some readings")
	case a.weight == 0:
		return none("there was no flow")
	}
	o := outcome{zero: a.base / a.weight, half: (a.base + float64(a.nd/2)) / a.weight, full: (a.base + a.nd) / a.weight}
	low := o.zero
	if a.under {
		low = math.Inf(-1)
	}
	return o.bounds(r, low)
}
