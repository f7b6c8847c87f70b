package series

import (
	"errors"
	"fmt"
	"math/bits"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Statistics by their names in the condition language.
const (
	Single         = "value"
	EnergyMean     = "energy mean"
	ArithmeticMean = "arithmetic mean"
	FlowWeighted   = "flow-weighted mean"
	GeometricMean  = "geometric mean"
	Median         = "median"
	Percentile     = "percentile"
	Minimum        = "min"
	Maximum        = "max"
	Sum            = "sum"
	Count          = "count"
	Change         = "difference"
	Duration       = "duration"
	Share          = "share"
)

// Rules for a percentile of n values in ascending order.
const (
	// NearestRank takes value number k = ⌈p·n⌉, k from 1. The default.
	NearestRank = "nearest rank"
	// Linear interpolates at 1 + (n-1)·p, as spreadsheets and common numeric
	// libraries do.
	Linear = "linear"
)

// What a result below its reporting limit counts as.
const (
	Bracket = "bracket" // anything from nothing to the limit: see Low and High. The default
	AsZero  = "zero"
	AsHalf  = "half" // of a level in dB: half the energy
	AsFull  = "full"
)

// Request says what is computed of each window.
type Request struct {
	Stat       string       // one of the names above
	Percentile unit.Decimal // of Percentile: per cent of the values at or below, so L90 is the 10th
	Rank       string       // of Percentile: NearestRank or Linear; "" = NearestRank
	// Comparator and Threshold select readings for Count, Duration and Share:
	// "<=", "<", ">=", ">", "="; "" = ">". Without a threshold Count and
	// Duration take every reading that counts; Share needs one.
	Comparator string
	Threshold  *unit.Decimal
	Nondetect  string   // "" = Bracket
	Weights    []*Block // of FlowWeighted: the flow
}

// Result is the statistic of one window.
//
// A reading counts when its mark does. For means, extremes, durations and
// shares of time it counts by the part of it that lies inside the window; for
// sums, counts, percentiles, medians, single values and differences it counts
// whole in the window it begins in. Coverage always goes by the part inside.
type Result struct {
	OK    bool   // there is a value
	Why   string // why there is none; "" with OK
	Value float64
	// Low and High bound Value: readings Below their limit anywhere from
	// nothing to the limit, readings Above theirs from it to plus infinity.
	// With a rule of Nondetect other than Bracket, Below readings are fixed by
	// it. All values are rounded by unit.Round9.
	Low, High              float64
	AsZero, AsHalf, AsFull float64 // Value by each rule; with Bracket Value is AsFull
	N                      int     // readings that counted
	Below, Above           int     // of these
	// LeastEnergyMean, of EnergyMean, takes missing time as silence: the
	// energy known of, over the whole window.
	LeastEnergyMean float64
	// Sum is the exact sum of a Sum, Below readings at the full limit;
	// SumExact is false when it has more than 18 digits.
	Sum      unit.Decimal
	SumExact bool

	CoveredMs int64       // time of the window that readings cover which count
	WindowMs  int64       // length of the window
	Coverage  float64     // CoveredMs / WindowMs; 0 for instants
	Instants  bool        // the readings are instants and cover no time
	Excluded  []Exclusion // what was left out, by mark in their order
	GapMs     int64       // time with no reading at all, of whatever mark

	First, Last int64 // start of the first and last reading that counted, ms; 0 when N is 0
	At          int64 // start of the reading that gives Minimum, Maximum, Single; the last of Change

	energyMs float64 // Σ energy × ms of EnergyMean, Below as nothing
}

// Exclusion is how much was left out for one reason.
type Exclusion struct {
	Mark Mark
	N    int
	Ms   int64
}

// Covers tells whether at least so many per cent of the window are covered,
// compared in whole numbers: 45 minutes are 75 % of an hour.
func (r Result) Covers(percent unit.Decimal) bool {
	if percent.Coefficient <= 0 {
		return true
	}
	scale := int64(1)
	for i := int8(0); i < percent.Places; i++ {
		scale *= 10
	}
	hi, lo := bits.Mul64(uint64(r.CoveredMs)*100, uint64(scale))
	needHi, needLo := bits.Mul64(uint64(percent.Coefficient), uint64(r.WindowMs))
	return hi > needHi || hi == needHi && lo >= needLo
}

// GapMustReach returns the level, dB, that the time not covered would have to
// exceed on average for the energy mean of the whole window to exceed limit.
// ok is false when nothing is missing or the limit is exceeded whatever the
// gap held.
func (r Result) GapMustReach(limit unit.Decimal) (level float64, ok bool) {
	missing := r.WindowMs - r.CoveredMs
	need := float64(unit.Energy(limit.Float())*float64(r.WindowMs)) - r.energyMs
	if missing <= 0 || need <= 0 || r.Instants {
		return 0, false
	}
	return unit.Round9(unit.Level(need / float64(missing))), true
}

// ErrRequest is wrapped when a request cannot be met whatever the readings.
var ErrRequest = errors.New("statistic cannot be computed")

// accumulator takes the readings of a window in time order.
type accumulator interface {
	reset()
	add(s *sample)
	result(r *Result) outcome
}

// outcome is a value by each rule for readings below their limits, and its
// bounds.
type outcome struct {
	zero, half, full, low, high float64
	why                         string
}

// exactly is the outcome where no rule matters.
func exactly(v float64) outcome { return outcome{zero: v, half: v, full: v, low: v, high: v} }

func none(why string) outcome { return outcome{why: why} }

// noReadings is the reason most often given.
const noReadings = "no readings that count"

func (q *Request) accumulator() (accumulator, error) {
	fail := func(format string, args ...any) (accumulator, error) {
		return nil, fmt.Errorf("%s: %w: "+format, append([]any{q.Stat, ErrRequest}, args...)...)
	}
	switch q.Nondetect {
	case "", Bracket, AsZero, AsHalf, AsFull:
	default:
		return fail("rule %q for results below their limit is not known", q.Nondetect)
	}
	switch q.Stat {
	case EnergyMean:
		return &energyAcc{}, nil
	case ArithmeticMean:
		return &meanAcc{}, nil
	case GeometricMean:
		return &geometricAcc{}, nil
	case FlowWeighted:
		if len(q.Weights) == 0 {
			return fail("it needs readings of the flow")
		}
		return &flowAcc{flow: q.Weights}, nil
	case Minimum, Maximum:
		return &extremeAcc{largest: q.Stat == Maximum}, nil
	case Sum:
		return &sumAcc{}, nil
	case Single:
		return &singleAcc{}, nil
	case Change:
		return &changeAcc{}, nil
	case Median:
		return &orderAcc{median: true}, nil
	case Percentile:
		return q.percentile()
	case Count, Duration, Share:
		return q.selection()
	}
	return fail("no such statistic is known")
}

func (q *Request) percentile() (accumulator, error) {
	hundred := unit.Decimal{Coefficient: 100}
	if q.Percentile.Coefficient < 0 || q.Percentile.Cmp(hundred) > 0 {
		return nil, fmt.Errorf("%s %s: %w: 0 to 100 is needed", q.Stat, q.Percentile, ErrRequest)
	}
	if p, err := q.Percentile.Trim().Rescale(6); err == nil && (q.Rank == "" || q.Rank == NearestRank || q.Rank == Linear) {
		return &orderAcc{millionths: p.Coefficient, linear: q.Rank == Linear}, nil
	}
	return nil, fmt.Errorf("%s %s by rule %q: %w: up to 6 decimals, nearest rank or linear", q.Stat, q.Percentile, q.Rank, ErrRequest)
}

func (q *Request) selection() (accumulator, error) {
	a := &selectAcc{stat: q.Stat, threshold: q.Threshold}
	switch q.Comparator {
	case "":
		a.comparator = ">"
	case "<=", "<", ">=", ">", "=":
		a.comparator = q.Comparator
	default:
		return nil, fmt.Errorf("%s: %w: comparator %q is not known", q.Stat, ErrRequest, q.Comparator)
	}
	if q.Threshold == nil && (q.Stat == Share || q.Comparator != "") {
		return nil, fmt.Errorf("%s: %w: it needs a threshold", q.Stat, ErrRequest)
	}
	return a, nil
}
