package unit

import (
	"errors"
	"fmt"
	"math/big"
	"math/bits"
)

// ErrTooLong is wrapped when an exact result needs more than 18 digits.
var ErrTooLong = errors.New("more digits than can be kept exactly (18)")

// Tens holds 10^0 to 10^18.
var tens = func() (t [19]int64) {
	t[0] = 1
	for i := 1; i < len(t); i++ {
		t[i] = t[i-1] * 10
	}
	return t
}()

// Cmp compares two decimals exactly, whatever their places: -1, 0 or 1.
func (d Decimal) Cmp(e Decimal) int {
	dn, en := d.Coefficient < 0, e.Coefficient < 0
	if dn != en {
		if dn {
			return -1
		}
		return 1
	}
	c := cmpMagnitude(d, e)
	if dn {
		return -c
	}
	return c
}

func cmpMagnitude(d, e Decimal) int {
	dh, dl := uint64(0), magnitude(d.Coefficient)
	eh, el := uint64(0), magnitude(e.Coefficient)
	if d.Places < e.Places {
		dh, dl = bits.Mul64(dl, uint64(tens[e.Places-d.Places]))
	} else {
		eh, el = bits.Mul64(el, uint64(tens[d.Places-e.Places]))
	}
	switch {
	case dh != eh:
		return less(dh < eh)
	case dl != el:
		return less(dl < el)
	}
	return 0
}

func less(is bool) int {
	if is {
		return -1
	}
	return 1
}

func magnitude(n int64) uint64 {
	if n < 0 {
		return -uint64(n)
	}
	return uint64(n)
}

// Trim returns the same number without trailing zeros after the point.
func (d Decimal) Trim() Decimal {
	for d.Places > 0 && d.Coefficient%10 == 0 {
		d.Coefficient /= 10
		d.Places--
	}
	return d
}

// Rescale returns the same number with the places given, or an error when
// digits would be lost or there are too many.
func (d Decimal) Rescale(places int8) (Decimal, error) {
	if places < 0 || places > 18 {
		return Decimal{}, fmt.Errorf("%s with %d places: %w", d, places, ErrTooLong)
	}
	for d.Places > places {
		if d.Coefficient%10 != 0 {
			return Decimal{}, fmt.Errorf("%s does not fit %d places", d, places)
		}
		d.Coefficient /= 10
		d.Places--
	}
	by := tens[places-d.Places]
	c := d.Coefficient * by
	if c/by != d.Coefficient || magnitude(c) >= uint64(tens[18]) && by != 1 {
		return Decimal{}, fmt.Errorf("%s with %d places: %w", d, places, ErrTooLong)
	}
	return Decimal{Coefficient: c, Places: places}, nil
}

// Add returns the exact sum with the greater places of the two, or wraps
// ErrTooLong.
func (d Decimal) Add(e Decimal) (Decimal, error) { return SumDecimals([]Decimal{d, e}) }

// SumDecimals adds decimals exactly; the sum has the greatest places among
// them. It wraps ErrTooLong when the sum needs more than 18 digits even
// without its trailing zeros.
func SumDecimals(ds []Decimal) (Decimal, error) {
	var t Total
	for _, d := range ds {
		t.Add(d)
	}
	return t.Decimal()
}

// Total adds decimals exactly, in any number, with weights that are whole
// numbers. The zero value is an empty total. It holds 127 bits and passes to
// arbitrary length when these do not do.
type Total struct {
	hi     int64
	lo     uint64
	places int8
	long   *big.Int // set once 128 bits did not do; then holds all
}

// Add adds one decimal.
func (t *Total) Add(d Decimal) { t.AddWeighted(d, 1) }

// AddWeighted adds d × weight.
func (t *Total) AddWeighted(d Decimal, weight int64) {
	if d.Places > t.places {
		t.scale(d.Places)
	}
	if t.long != nil {
		t.addLong(d, weight)
		return
	}
	m, w := magnitude(d.Coefficient), magnitude(weight)
	hi, lo := bits.Mul64(m, w)
	if diff := t.places - d.Places; diff > 0 {
		over, low := bits.Mul64(lo, uint64(tens[diff]))
		h2, mid := bits.Mul64(hi, uint64(tens[diff]))
		sum, carry := bits.Add64(mid, over, 0)
		if h2 != 0 || carry != 0 {
			t.lengthen()
			t.addLong(d, weight)
			return
		}
		hi, lo = sum, low
	}
	if hi >= 1<<62 {
		t.lengthen()
		t.addLong(d, weight)
		return
	}
	t.addWide(int64(hi), lo, (d.Coefficient < 0) != (weight < 0))
}

func (t *Total) addWide(hi int64, lo uint64, negative bool) {
	var carry uint64
	if negative {
		t.lo, carry = bits.Sub64(t.lo, lo, 0)
		t.hi -= hi + int64(carry)
	} else {
		t.lo, carry = bits.Add64(t.lo, lo, 0)
		t.hi += hi + int64(carry)
	}
	if t.hi >= 1<<61 || t.hi <= -(1<<61) {
		t.lengthen()
	}
}

func (t *Total) scale(places int8) {
	by := big.NewInt(tens[places-t.places])
	switch {
	case t.long != nil:
		t.long = new(big.Int).Mul(t.long, by) // copies may share the old one
	case t.hi != 0 || t.lo != 0:
		t.lengthen()
		t.long.Mul(t.long, by)
		t.shorten()
	}
	t.places = places
}

func (t *Total) addLong(d Decimal, weight int64) {
	v := big.NewInt(d.Coefficient)
	v.Mul(v, big.NewInt(weight))
	v.Mul(v, big.NewInt(tens[t.places-d.Places]))
	t.long = v.Add(v, t.long)
}

func (t *Total) lengthen() { t.long = t.int() }

// shorten goes back to 128 bits where the total fits them.
func (t *Total) shorten() {
	if t.long.BitLen() > 120 {
		return
	}
	low := new(big.Int).And(t.long, new(big.Int).SetUint64(1<<64-1))
	t.lo = low.Uint64()
	t.hi = new(big.Int).Rsh(t.long, 64).Int64()
	t.long = nil
}

func (t *Total) int() *big.Int {
	if t.long != nil {
		return new(big.Int).Set(t.long)
	}
	v := big.NewInt(t.hi)
	v.Lsh(v, 64)
	return v.Add(v, new(big.Int).SetUint64(t.lo))
}

// Decimal returns the total as a decimal, or wraps ErrTooLong.
func (t *Total) Decimal() (Decimal, error) {
	v, places := t.int(), t.places
	limit := big.NewInt(tens[18])
	for ten, rest := big.NewInt(10), new(big.Int); places > 0 && v.CmpAbs(limit) >= 0; places-- {
		q, r := new(big.Int).QuoRem(v, ten, rest)
		if r.Sign() != 0 {
			break
		}
		v = q
	}
	if v.CmpAbs(limit) >= 0 {
		return Decimal{}, fmt.Errorf("sum %s × 10^-%d: %w", v, places, ErrTooLong)
	}
	return Decimal{Coefficient: v.Int64(), Places: places}, nil
}

// Float returns the float64 nearest to the exact total.
func (t *Total) Float() float64 { return t.Over(1) }

// Over returns the float64 nearest to the exact total divided by n, which
// must not be 0; it is how means are taken, so that 250/5 is 50 and nothing
// else.
func (t *Total) Over(n int64) float64 {
	if t.long == nil && t.hi == int64(t.lo)>>63 {
		c := int64(t.lo)
		hi, den := bits.Mul64(magnitude(n), uint64(tens[t.places]))
		if magnitude(c) < 1<<53 && hi == 0 && den < 1<<53 && n > 0 {
			return float64(c) / float64(den) // both exact: one rounding
		}
	}
	den := new(big.Int).Mul(big.NewInt(n), big.NewInt(tens[t.places]))
	f, _ := new(big.Rat).SetFrac(t.int(), den).Float64()
	return f
}

// AddTotal adds another total to this one.
func (t *Total) AddTotal(o *Total) {
	sum := o.int()
	if o.places > t.places {
		t.scale(o.places)
	}
	sum.Mul(sum, big.NewInt(tens[t.places-o.places]))
	t.long = t.int().Add(t.int(), sum)
	t.shorten()
}
