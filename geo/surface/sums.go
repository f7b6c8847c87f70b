package surface

import "math"

// levelDust, in metres, is what rounding can make of a level difference of 0:
// smaller ones count as none, and a difference this near to a tolerance edge
// lies on it. A tenth of the last digit that is ever shown.
const levelDust = 1e-10

// total is a compensated sum: its error does not grow with the number of terms.
// Source: A. Neumaier (1974), from memory.
type total struct{ sum, rest float64 }

func (t *total) add(v float64) {
	v = float64(v) // a product handed in is rounded before it is added
	s := t.sum + v
	if math.Abs(t.sum) >= math.Abs(v) {
		t.rest += (t.sum - s) + v
	} else {
		t.rest += (v - s) + t.sum
	}
	t.sum = s
}

func (t *total) value() float64 { return t.sum + t.rest }

// merge adds another sum.
func (t *total) merge(o total) {
	t.add(o.sum)
	t.add(o.rest)
}

// sums gathers what is wanted of dz over pieces on which it is linear.
type sums struct {
	fill, cut           total
	fillArea, cutArea   total
	area, squares       total
	within, worst, best total
	low, high           float64
	pieces              int
	tolerance, accuracy float64 // tolerance 0: no band
}

func newSums(opts CompareOptions) sums {
	return sums{low: math.Inf(1), high: math.Inf(-1), tolerance: opts.ToleranceM, accuracy: opts.AccuracyM}
}

func (s *sums) merge(o *sums) {
	s.fill.merge(o.fill)
	s.cut.merge(o.cut)
	s.fillArea.merge(o.fillArea)
	s.cutArea.merge(o.cutArea)
	s.area.merge(o.area)
	s.squares.merge(o.squares)
	s.within.merge(o.within)
	s.worst.merge(o.worst)
	s.best.merge(o.best)
	s.low, s.high = min(s.low, o.low), max(s.high, o.high)
	s.pieces += o.pieces
}

// triangle adds a triangle of plan area a with dz h0, h1, h2 at its corners.
// Exact for linear dz.
func (s *sums) triangle(a, h0, h1, h2 float64) {
	s.area.add(a)
	s.low, s.high = min(s.low, h0, h1, h2), max(s.high, h0, h1, h2)
	sum := h0 + h1 + h2
	s.squares.add(a / 12 * (float64(h0*h0) + float64(h1*h1) + float64(h2*h2) + float64(sum*sum)))
	if s.tolerance > 0 {
		s.band(a, h0, h1, h2)
	}
	if math.Abs(h0) < levelDust {
		h0 = 0
	}
	if math.Abs(h1) < levelDust {
		h1 = 0
	}
	if math.Abs(h2) < levelDust {
		h2 = 0
	}
	sum = h0 + h1 + h2
	switch low, high := min(h0, h1, h2), max(h0, h1, h2); {
	case low >= 0:
		if high > 0 {
			s.fill.add(a * sum / 3)
			s.fillArea.add(a)
		}
	case high <= 0:
		s.cut.add(-a * sum / 3)
		s.cutArea.add(a)
	default:
		s.mixed(a, h0, h1, h2, sum)
	}
}

// mixed splits a triangle at dz = 0. The corner alone on its side, at height
// n against p and q, cuts off a share n²/((p-n)(q-n)) of the area.
func (s *sums) mixed(a, h0, h1, h2, sum float64) {
	n, p, q := alone(h0, h1, h2)
	share := n / (n - p) * (n / (n - q))
	tip := a * share * math.Abs(n) / 3 // volume over the tip
	net := a * sum / 3
	if n < 0 {
		s.cut.add(tip)
		s.cutArea.add(a * share)
		s.fill.add(max(net+tip, 0))
		s.fillArea.add(a - float64(a*share))
	} else {
		s.fill.add(tip)
		s.fillArea.add(a * share)
		s.cut.add(max(tip-net, 0))
		s.cutArea.add(a - float64(a*share))
	}
}

// alone returns the corner that has its sign alone, and the other two. With
// one corner at 0 either of the others will do.
func alone(h0, h1, h2 float64) (n, p, q float64) {
	switch {
	case (h0 < 0) == (h1 < 0) && (h0 > 0) == (h1 > 0):
		return h2, h0, h1
	case (h0 < 0) == (h2 < 0) && (h0 > 0) == (h2 > 0):
		return h1, h0, h2
	case (h1 < 0) == (h2 < 0) && (h1 > 0) == (h2 > 0):
		return h0, h1, h2
	case h0 == 0:
		return h1, h0, h2
	case h1 == 0:
		return h2, h0, h1
	}
	return h0, h1, h2
}

// band adds the areas that keep within the tolerance, surely and possibly.
func (s *sums) band(a, h0, h1, h2 float64) {
	t, e := s.tolerance, s.accuracy
	low, high := min(h0, h1, h2), max(h0, h1, h2)
	if low > t+e+levelDust || high < -t-e-levelDust {
		return
	}
	if high <= t-e-levelDust && low >= e-t+levelDust {
		s.within.add(a)
		s.worst.add(a)
		s.best.add(a)
		return
	}
	s.within.add(bandArea(a, h0, h1, h2, t))
	s.best.add(bandArea(a, h0, h1, h2, t+e))
	if t >= e {
		s.worst.add(bandArea(a, h0, h1, h2, t-e))
	}
}

// bandArea returns the part of area a with |dz| <= t, edges included: what is
// neither above nor below.
func bandArea(a, h0, h1, h2, t float64) float64 {
	return max(a-(areaBelow(a, t-h0, t-h1, t-h2)+areaBelow(a, t+h0, t+h1, t+h2)), 0)
}

// areaBelow returns the part of area a with h < 0.
func areaBelow(a, h0, h1, h2 float64) float64 {
	if math.Abs(h0) < levelDust {
		h0 = 0
	}
	if math.Abs(h1) < levelDust {
		h1 = 0
	}
	if math.Abs(h2) < levelDust {
		h2 = 0
	}
	low, high := min(h0, h1, h2), max(h0, h1, h2)
	switch {
	case low >= 0:
		return 0
	case high <= 0:
		return a
	}
	n, p, q := alone(h0, h1, h2)
	share := n / (n - p) * (n / (n - q))
	if n < 0 {
		return float64(a * share)
	}
	return a - float64(a*share)
}
