package judge

import (
	"fmt"
	"math"
	"sort"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// statOf computes an inner statistic of single results. Less-than results and
// uncertain figures give bounds: every statistic here but the difference rises
// with each result, so the ends of the bounds come from the ends of the
// results. Sums and means of exact decimals are exact before their one
// rounding.
func statOf(name permit.StatisticName, list []sample, percentile string) (bounds, error) {
	switch name {
	case permit.Value, "":
		if len(list) != 1 {
			return bounds{}, notBuilt("single value of several results in one window")
		}
		return list[0].b.rising(unit.Round9), nil
	case permit.Count:
		return certain(float64(len(list))), nil
	case permit.Change:
		first, last := list[0].b, list[len(list)-1].b
		return bounds{unit.Round9(last.low - first.high), unit.Round9(last.high - first.low)}, nil
	case permit.Sum, permit.ArithmeticMean:
		return totals(list, name == permit.ArithmeticMean), nil
	}
	f, err := statFunc(name, percentile)
	if err != nil {
		return bounds{}, err
	}
	return bounds{unit.Round9(f(ends(list, false))), unit.Round9(f(ends(list, true)))}, nil
}

func statFunc(name permit.StatisticName, percentile string) (func([]float64) float64, error) {
	switch name {
	case permit.EnergyMean:
		return energyMean, nil
	case permit.GeometricMean:
		return geometricMean, nil
	case permit.Median:
		return median, nil
	case permit.Minimum:
		return func(v []float64) float64 { return extreme(v, math.Min) }, nil
	case permit.Maximum:
		return func(v []float64) float64 { return extreme(v, math.Max) }, nil
	case permit.Percentile:
		p, err := unit.ParseDecimal(percentile)
		if err != nil {
			return nil, fmt.Errorf("percentile %q: %w", percentile, err)
		}
		return func(v []float64) float64 { return nearestRank(v, p.Float()) }, nil
	}
	return nil, notBuilt(string(name) + " of single results")
}

// ends returns the upper or lower ends of the results, in order of time.
func ends(list []sample, high bool) []float64 {
	out := make([]float64, len(list))
	for i := range list {
		out[i] = list[i].b.low
		if high {
			out[i] = list[i].b.high
		}
	}
	return out
}

// totals adds results, exactly where all are exact, and divides by their
// number for the mean.
func totals(list []sample, mean bool) bounds {
	n := int64(1)
	if mean {
		n = int64(len(list))
	}
	exact := true
	for i := range list {
		exact = exact && list[i].exact
	}
	if !exact {
		return bounds{unit.Round9(plainSum(ends(list, false)) / float64(n)), unit.Round9(plainSum(ends(list, true)) / float64(n))}
	}
	var low, high unit.Total
	for i := range list {
		low.Add(list[i].low)
		high.Add(list[i].high)
	}
	return bounds{unit.Round9(low.Over(n)), unit.Round9(high.Over(n))}
}

func plainSum(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum
}

// energyMean is 10·lg of the mean of 10^(L/10), levels in dB in order of time.
// Source: definition of the equivalent level, ISO 1996-1.
func energyMean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += unit.Energy(x)
	}
	return unit.Level(sum / float64(len(v)))
}

// geometricMean is the n-th root of the product; 0 when one value is 0.
func geometricMean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		if x <= 0 {
			return 0
		}
		sum += math.Log(x)
	}
	return math.Exp(sum / float64(len(v)))
}

func sortedCopy(v []float64) []float64 {
	out := append([]float64(nil), v...)
	sort.Float64s(out)
	return out
}

// median is the middle value, or the mean of the two in the middle.
func median(v []float64) float64 {
	s := sortedCopy(v)
	n := len(s)
	if n%2 == 1 {
		return s[n/2]
	}
	return (s[n/2-1] + s[n/2]) / 2
}

// nearestRank is the value at rank ceil(p/100·n) of the sorted values.
func nearestRank(v []float64, p float64) float64 {
	s := sortedCopy(v)
	k := int(math.Ceil(unit.Round9(p / 100 * float64(len(s)))))
	return s[min(max(k, 1), len(s))-1]
}

func extreme(v []float64, pick func(a, b float64) float64) float64 {
	out := v[0]
	for _, x := range v[1:] {
		out = pick(out, x)
	}
	return out
}
