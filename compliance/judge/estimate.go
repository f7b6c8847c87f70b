package judge

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Methods by which a notice may have a mean estimated over less-than results.
const (
	kaplanMeier = "kaplan-meier"
	orderStats  = "regression on order statistics"
)

// leastDetected is how many results above their limits a regression needs: common
// practice, as is that not more than four in five may lie below.
const (
	leastDetected = 5
	mostBelow     = 0.8
)

// estimated is the mean of results of which some are less than a limit, by the
// method that the condition names. The single results stay what they are.
func estimated(values []sample, method string) (bounds, error) {
	e, err := estimate(values, method)
	if err != nil {
		return bounds{}, err
	}
	return certain(unit.Round9(e.mean)), nil
}

// estimation is an estimated mean and how it came about.
type estimation struct {
	mean  float64
	steps []Step
}

func estimate(values []sample, method string) (estimation, error) {
	var detected, below []float64
	for i := range values {
		v := &values[i]
		switch {
		case v.b.known():
			detected = append(detected, v.b.high)
		case math.IsInf(v.b.high, 1):
			return estimation{}, &fault{cause: "a result above what could be measured cannot be estimated", remedy: "find the result, or judge it by hand"}
		default:
			below = append(below, v.b.high)
		}
	}
	sort.Float64s(detected)
	sort.Float64s(below)
	switch strings.ReplaceAll(strings.ToLower(strings.TrimSpace(method)), "–", "-") {
	case kaplanMeier:
		return byKaplanMeier(detected, below), nil
	case orderStats:
		return byOrderStatistics(detected, below)
	}
	return estimation{}, &fault{cause: fmt.Sprintf("estimate %q is not known", method), remedy: "name Kaplan–Meier or regression on order statistics in with: {estimate: …}"}
}

// byKaplanMeier gives each result the share of all that the product-limit
// estimate leaves it, counted from the greatest down: a result at v takes one of
// those at risk, the results and limits up to v. What is left below the least
// result lies at the least limit.
//
// Source: Kaplan and Meier (1958), turned about for limits below as in Helsel,
// Statistics for Censored Environmental Data (2nd ed., 2012), from memory.
func byKaplanMeier(detected, below []float64) estimation {
	var e estimation
	left := 1.0
	risk := func(v float64) float64 {
		n := sort.SearchFloat64s(detected, math.Nextafter(v, math.Inf(1))) + sort.SearchFloat64s(below, math.Nextafter(v, math.Inf(1)))
		return float64(n)
	}
	for i := len(detected) - 1; i >= 0; {
		v, k := detected[i], 0
		for ; i >= 0 && detected[i] == v; i-- {
			k++
		}
		share := left * float64(k) / risk(v)
		left -= share
		e.mean += float64(share * v)
		e.steps = append(e.steps, step("share of "+exact(v), exact(unit.Round9(share))))
	}
	if len(below) > 0 && left > 1e-12 {
		e.mean += float64(left * below[0])
		e.steps = append(e.steps, step("share left at the least limit, "+exact(below[0]), exact(unit.Round9(left))))
	}
	return e
}

// byOrderStatistics puts the logarithms of the results above their limits on a
// line against normal scores, and reads from it what stands for each result
// below: a robust mean of these and of the results as measured. Plotting positions
// are those of Helsel and Cohn (1988) for several limits.
//
// Source: Helsel and Cohn, Water Resources Research 24(12), 1988, from memory.
func byOrderStatistics(detected, below []float64) (estimation, error) {
	n := len(detected) + len(below)
	if len(below) == 0 {
		return estimation{mean: plainSum(detected) / float64(n)}, nil
	}
	if len(detected) < leastDetected || float64(len(below)) > mostBelow*float64(n) || detected[0] <= 0 {
		return estimation{}, &fault{
			cause:  fmt.Sprintf("%d results above their limit of %d are too few for an estimate", len(detected), n),
			remedy: "judge by what the less-than results may be, or take more samples",
		}
	}
	limits := []float64{0}
	for _, b := range below {
		if b != limits[len(limits)-1] {
			limits = append(limits, b)
		}
	}
	// exceeded[j] is the chance to lie at or above limit j, from the top down.
	exceeded := make([]float64, len(limits)+1)
	above := make([][]float64, len(limits))
	for j := len(limits) - 1; j >= 0; j-- {
		from := sort.SearchFloat64s(detected, limits[j])
		to := len(detected)
		if j+1 < len(limits) {
			to = sort.SearchFloat64s(detected, limits[j+1])
		}
		above[j] = detected[from:to]
		under := from + sort.SearchFloat64s(below, math.Nextafter(limits[j], math.Inf(1)))
		exceeded[j] = exceeded[j+1]
		if a := float64(to - from); a > 0 {
			exceeded[j] += float64(a / (a + float64(under)) * (1 - exceeded[j+1]))
		}
	}
	exceeded[0] = 1
	var x, y []float64
	for j := range limits {
		for i, v := range above[j] {
			p := 1 - exceeded[j] + float64((exceeded[j]-exceeded[j+1])*float64(i+1)/float64(len(above[j])+1))
			x, y = append(x, normalScore(p)), append(y, math.Log(v))
		}
	}
	a, b := fitted(x, y)
	sum := plainSum(detected)
	var stands []string
	for j := 1; j < len(limits); j++ {
		c := sort.SearchFloat64s(below, math.Nextafter(limits[j], math.Inf(1))) - sort.SearchFloat64s(below, limits[j])
		for i := range c {
			v := math.Exp(a + float64(b*normalScore(float64((1-exceeded[j])*float64(i+1)/float64(c+1)))))
			sum += v
			stands = append(stands, exact(unit.Round9(v)))
		}
	}
	return estimation{mean: sum / float64(n), steps: []Step{
		step("ln of a result = a + b·normal score, a", exact(unit.Round9(a))), step("b", exact(unit.Round9(b))),
		step("what stands for the results below", strings.Join(stands, " ")), step("divided by their number, "+strconv.Itoa(n), exact(unit.Round9(sum/float64(n)))),
	}}, nil
}

// normalScore is the normal quantile.
func normalScore(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// fitted is the least-squares line y = a + b·x.
func fitted(x, y []float64) (a, b float64) {
	n := float64(len(x))
	mx, my := plainSum(x)/n, plainSum(y)/n
	var sxy, sxx float64
	for i := range x {
		sxy += float64((x[i] - mx) * (y[i] - my))
		sxx += float64((x[i] - mx) * (x[i] - mx))
	}
	b = sxy / sxx
	return my - float64(b*mx), b
}

// estimates tells whether a statistic of results is estimated where some lie
// below their limits: only the mean is.
func estimates(c *permit.Condition, name permit.StatisticName, values []sample) bool {
	if c.Nondetect != permit.Estimated || name != permit.ArithmeticMean {
		return false
	}
	for i := range values {
		if !values[i].b.known() {
			return true
		}
	}
	return false
}
