// Package student is Student's distribution, which small samples are judged by.
package student

import "math"

// Quantile returns t with P(T <= t) = p, p of at least one half, for df degrees
// of freedom, by halving on the distribution.
func Quantile(p, df float64) float64 {
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
