package judge

import (
	"math"

	"github.com/swardbook/swardbook/compliance/student"
	"github.com/swardbook/swardbook/compliance/unit"
)

// lowerBounds is the one-sided lower confidence bound of the mean of single
// results, mean − t·s/√n with Student's t for n − 1 degrees of freedom.
// Less-than results give bounds that hold the outcome whatever they are.
//
// Source: any textbook of statistics; the formula of ISO 2602:1980, from memory.
func lowerBounds(list []sample, confidence string) (bounds, error) {
	p, err := unit.ParseDecimal(confidence)
	if err != nil {
		return bounds{}, err
	}
	if len(list) < 2 {
		return bounds{}, &fault{cause: "one result has no spread", remedy: "take at least two samples"}
	}
	t := student.Quantile(p.Float()/100, float64(len(list)-1))
	low, high := ends(list, false), ends(list, true)
	n := float64(len(list))
	if listed(low) == listed(high) {
		mean := plainSum(low) / n
		v := unit.Round9(mean - float64(t*deviation(low, mean)/math.Sqrt(n)))
		return certain(v), nil
	}
	// The spread is greatest somewhere among the ends: no less than the mean of
	// the low ends less t times the widest spread, no more than the mean of the
	// high ends.
	widest := 0.0
	for i := range low {
		widest = math.Max(widest, math.Max(math.Abs(high[i]-plainSum(low)/n), math.Abs(low[i]-plainSum(high)/n)))
	}
	return bounds{unit.Round9(plainSum(low)/n - float64(t*widest*math.Sqrt(n/(n-1))/math.Sqrt(n))), unit.Round9(plainSum(high) / n)}, nil
}

// deviation is the standard deviation of a sample, divided by n − 1.
func deviation(v []float64, mean float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += float64((x - mean) * (x - mean))
	}
	return math.Sqrt(sum / float64(len(v)-1))
}
