package series

import (
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// bracket returns what one reading may be: its value by each rule and bounds.
func bracket(d unit.Decimal, mark Mark) outcome {
	v := d.Float()
	o := exactly(v)
	switch mark {
	case Below:
		o.zero, o.half, o.low = 0, v/2, 0
		if v <= 0 {
			o.low = math.Inf(-1)
		}
	case Above:
		o.high = math.Inf(1)
	}
	return o
}

// singleAcc is the last reading that begins in the window; mostly there is
// one.
type singleAcc struct{ last sample }

func (a *singleAcc) reset() { *a = singleAcc{} }

func (a *singleAcc) add(s *sample) { a.last = *s }

func (a *singleAcc) result(r *Result) outcome {
	r.At = a.last.start
	return bracket(a.last.value, a.last.mark)
}

// changeAcc is the last reading less the first, as of a meter: readings at
// both edges of the window take part.
type changeAcc struct {
	n           int
	first, last sample
}

func (a *changeAcc) reset() { *a = changeAcc{} }

func (a *changeAcc) add(s *sample) {
	if a.n == 0 {
		a.first = *s
	}
	a.last = *s
	a.n++
}

func (a *changeAcc) result(r *Result) outcome {
	if a.n < 2 {
		return none("a difference needs two readings")
	}
	r.At = a.last.start
	if a.first.mark == Valid && a.last.mark == Valid {
		var t unit.Total
		t.AddWeighted(a.last.value, 1)
		t.AddWeighted(a.first.value, -1)
		return exactly(t.Float())
	}
	f, l := bracket(a.first.value, a.first.mark), bracket(a.last.value, a.last.mark)
	return outcome{zero: l.zero - f.zero, half: l.half - f.half, full: l.full - f.full, low: l.low - f.high, high: l.high - f.low}
}

// selectAcc counts readings that meet a comparison, or their time.
//
// Count is a number of readings, Duration seconds, Share per cent of the time
// covered (of the readings, for instants). A Below or Above reading meets it
// surely, perhaps or not at all: Low has the sure ones, High the perhaps too.
type selectAcc struct {
	stat       string
	comparator string
	threshold  *unit.Decimal

	sure, perhaps, zero, half, full, all int64
}

func (a *selectAcc) reset() {
	*a = selectAcc{stat: a.stat, comparator: a.comparator, threshold: a.threshold}
}

func (a *selectAcc) add(s *sample) {
	w := s.weight
	if a.stat == Count {
		w = 1
	}
	a.all += w
	if a.threshold == nil {
		a.sure, a.perhaps, a.zero, a.half, a.full = a.all, a.all, a.all, a.all, a.all
		return
	}
	c := s.value.Cmp(*a.threshold)
	put := func(is bool, to *int64) {
		if is {
			*to += w
		}
	}
	put(a.meets(c), &a.full)
	if s.mark != Below {
		put(a.meets(c), &a.zero)
		put(a.meets(c), &a.half)
	} else {
		put(a.meets(unit.Decimal{}.Cmp(*a.threshold)), &a.zero)
		put(a.meets(unit.Compare(s.value.Float()/2, *a.threshold)), &a.half)
	}
	sure, perhaps := a.certainty(s.mark, c)
	put(sure, &a.sure)
	put(perhaps, &a.perhaps)
}

func (a *selectAcc) meets(c int) bool {
	switch a.comparator {
	case "<=":
		return c <= 0
	case "<":
		return c < 0
	case ">=":
		return c >= 0
	case "=":
		return c == 0
	}
	return c > 0
}

// certainty tells whether a reading surely or perhaps meets the comparison; c
// compares what it shows with the threshold. A Below reading is less than it
// shows, an Above reading more.
func (a *selectAcc) certainty(mark Mark, c int) (sure, perhaps bool) {
	floor := unit.Decimal{}.Cmp(*a.threshold) // no reading Below is taken under 0
	switch {
	case mark == Valid:
		return a.meets(c), a.meets(c)
	case mark == Below && (a.comparator == "<" || a.comparator == "<="):
		return c <= 0, a.meets(floor) || c <= 0
	case mark == Below && a.comparator == "=":
		return false, c > 0
	case mark == Below:
		return a.meets(floor), c > 0 || a.meets(floor)
	case a.comparator == ">" || a.comparator == ">=":
		return c >= 0, true
	}
	return false, c < 0
}

func (a *selectAcc) result(r *Result) outcome {
	scale := func(n int64) float64 { return float64(n) }
	switch {
	case a.stat == Duration && r.Instants:
		return none("instants have no duration")
	case a.stat == Duration:
		scale = func(n int64) float64 { return float64(n) / 1000 }
	case a.stat == Share:
		scale = func(n int64) float64 { return float64(100*n) / float64(a.all) }
	}
	return outcome{zero: scale(a.zero), half: scale(a.half), full: scale(a.full), low: scale(a.sure), high: scale(a.perhaps)}
}
