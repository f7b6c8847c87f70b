package tin

import "math"

// An expansion is an exact number written as a sum of float64 parts that do
// not overlap, smallest first, none of them zero; the empty slice is 0.
// Source: Shewchuk 1997. Products use a fused multiply-add for their error,
// which is exact on every platform, in hardware or not.

// twoSum returns a+b as rounded sum and error.
func twoSum(a, b float64) (sum, err float64) {
	sum = a + b
	bv := sum - a
	av := sum - bv
	return sum, (a - av) + (b - bv)
}

// twoProduct returns a*b as rounded product and error.
func twoProduct(a, b float64) (product, err float64) {
	product = float64(a * b)
	return product, math.FMA(a, b, -product)
}

// diff returns a-b as an expansion of one or two parts in buf.
func diff(a, b float64, buf *[2]float64) []float64 {
	s, e := twoSum(a, -b)
	n := 0
	if e != 0 {
		buf[n] = e
		n++
	}
	if s != 0 {
		buf[n] = s
		n++
	}
	return buf[:n]
}

func negate(e []float64) {
	for i := range e {
		e[i] = -e[i]
	}
}

// estimate returns the value of an expansion rounded; its sign is exact,
// since the last part outweighs all others.
func estimate(e []float64) float64 {
	var s float64
	for _, v := range e {
		s += v
	}
	return s
}

// expSum appends e+f to out, which must be empty and not share memory with them.
func expSum(out, e, f []float64) []float64 {
	if len(e) == 0 {
		return append(out, f...)
	}
	if len(f) == 0 {
		return append(out, e...)
	}
	i, j := 0, 0
	take := func() float64 {
		if j == len(f) || (i < len(e) && math.Abs(e[i]) < math.Abs(f[j])) {
			i++
			return e[i-1]
		}
		j++
		return f[j-1]
	}
	q := take()
	var h float64
	for n := len(e) + len(f) - 1; n > 0; n-- {
		q, h = twoSum(q, take())
		if h != 0 {
			out = append(out, h)
		}
	}
	if q != 0 {
		out = append(out, q)
	}
	return out
}

// expScale appends e*b to out, which must be empty.
func expScale(out, e []float64, b float64) []float64 {
	if len(e) == 0 || b == 0 {
		return out
	}
	q, h := twoProduct(e[0], b)
	if h != 0 {
		out = append(out, h)
	}
	for _, v := range e[1:] {
		p, pe := twoProduct(v, b)
		s, h1 := twoSum(q, pe)
		if h1 != 0 {
			out = append(out, h1)
		}
		q, h = twoSum(p, s)
		if h != 0 {
			out = append(out, h)
		}
	}
	if q != 0 {
		out = append(out, q)
	}
	return out
}

// expMul appends e*f to out, which must be empty; at most 16 parts in each.
func expMul(out, e, f []float64) []float64 {
	if len(e) < len(f) {
		e, f = f, e
	}
	if len(f) == 0 {
		return out
	}
	if len(f) == 1 {
		return expScale(out, e, f[0])
	}
	var bufA, bufB [512]float64
	var scaled [32]float64
	acc := expScale(bufA[:0], e, f[0])
	inA := true
	for _, v := range f[1:] {
		row := expScale(scaled[:0], e, v)
		if inA {
			acc = expSum(bufB[:0], acc, row)
		} else {
			acc = expSum(bufA[:0], acc, row)
		}
		inA = !inA
	}
	return append(out, acc...)
}
