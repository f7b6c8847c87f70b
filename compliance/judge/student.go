package judge

import (
	"math"

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
	t := studentQuantile(p.Float()/100, float64(len(list)-1))
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

// studentQuantile returns t with P(T <= t) = p, p of at least one half, by
// halving on the distribution.
func studentQuantile(p, df float64) float64 {
	low, high := 0.0, 1.0
	for studentBelow(high, df) < p && high < 1e9 {
		high *= 2
	}
	for range 200 {
		mid := low + (high-low)/2
		if studentBelow(mid, df) < p {
			low = mid
		} else {
			high = mid
		}
	}
	return low + (high-low)/2
}

// studentBelow is P(T <= t) for t of at least 0.
// Source: Abramowitz and Stegun, 26.7.1, with 26.5.2, from memory.
func studentBelow(t, df float64) float64 {
	return 1 - incompleteBeta(df/2, 0.5, df/(df+float64(t*t)))/2
}

// incompleteBeta is the regularised incomplete beta function, by its continued
// fraction. Source: Abramowitz and Stegun, 26.5.8, from memory.
func incompleteBeta(a, b, x float64) float64 {
	if x <= 0 {
		return 0
	}
	if x >= 1 {
		return 1
	}
	if x > (a+1)/(a+b+2) {
		return 1 - incompleteBeta(b, a, 1-x)
	}
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	front := math.Exp(lab-la-lb+float64(a*math.Log(x))+float64(b*math.Log1p(-x))) / a
	const tiny = 1e-300
	f, c, d := 1.0, 1.0, 0.0
	for i := range 300 {
		m := float64(i / 2)
		var term float64
		switch {
		case i == 0:
			term = 1
		case i%2 == 0:
			term = m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		default:
			term = -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		}
		d = 1 + float64(term*d)
		if math.Abs(d) < tiny {
			d = tiny
		}
		d = 1 / d
		c = 1 + term/c
		if math.Abs(c) < tiny {
			c = tiny
		}
		f *= c * d
		if math.Abs(1-float64(c*d)) < 1e-15 {
			break
		}
	}
	return front * (f - 1)
}
