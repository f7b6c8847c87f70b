package unit

import (
	"errors"
	"fmt"
	"strings"
)

// ErrUnknown is wrapped when a unit is not in the table.
var ErrUnknown = errors.New("unit is not known")

// ErrKinds is wrapped when two units do not measure the same thing.
var ErrKinds = errors.New("units do not measure the same thing")

var bySymbol = func() map[string]Unit {
	m := make(map[string]Unit, len(table)+len(spellings))
	for _, u := range table {
		m[u.Symbol] = u
	}
	for _, s := range spellings {
		m[s[0]] = m[s[1]]
	}
	return m
}()

// greekMu is written by many programs for the micro sign.
var greekMu = strings.NewReplacer("\u03bc", "\u00b5")

// Lookup finds a unit by its symbol or one of its other spellings ("ug/m3",
// "m3", "l/s"). The empty symbol is the plain count. Letters keep their case:
// mPa is not MPa.
func Lookup(symbol string) (Unit, bool) {
	u, ok := bySymbol[greekMu.Replace(strings.TrimSpace(symbol))]
	return u, ok
}

// All returns every unit in a fixed order.
func All() []Unit { return append([]Unit(nil), table...) }

// Same tells whether two symbols name the same unit, so that values need no
// conversion. Unknown units are the same only when spelt alike.
func Same(a, b string) bool {
	ua, okA := Lookup(a)
	ub, okB := Lookup(b)
	if okA && okB {
		return ua.Symbol == ub.Symbol
	}
	return a == b
}

// Convert turns v from one unit into another of the same kind, with one
// rounding in float64 for the usual factors. Levels in dB without a weighting
// stand for whatever weighting the quantity names; two different weightings
// are refused. Unknown units wrap ErrUnknown, others that do not agree wrap
// ErrKinds with the reason.
func Convert(v float64, from, to string) (float64, error) {
	a, ok := Lookup(from)
	if !ok {
		return 0, fmt.Errorf("%q: %w", from, ErrUnknown)
	}
	b, ok := Lookup(to)
	if !ok {
		return 0, fmt.Errorf("%q: %w", to, ErrUnknown)
	}
	if why := conflict(a, b); why != "" {
		return 0, fmt.Errorf("%s to %s: %w: %s", show(a), show(b), ErrKinds, why)
	}
	num, den := ratio(a, b)
	return v * float64(num) / float64(den), nil
}

// Convertible says why values in one unit cannot be turned into the other; nil
// when they can.
func Convertible(from, to string) error {
	_, err := Convert(0, from, to)
	return err
}

func show(u Unit) string {
	if u.Symbol == "" {
		return "count"
	}
	return u.Symbol
}

// ratio returns the lowest terms of one a in b.
func ratio(a, b Unit) (num, den int64) {
	g := gcd(a.num, b.num)
	h := gcd(a.den, b.den)
	num, den = (a.num/g)*(b.den/h), (a.den/h)*(b.num/g)
	g = gcd(num, den)
	return num / g, den / g
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// conflict returns why two units cannot be turned into one another, or "".
func conflict(a, b Unit) string {
	if a.Kind == b.Kind {
		return ""
	}
	if isLevel(a.Kind) && isLevel(b.Kind) {
		if a.Kind == SoundLevel || b.Kind == SoundLevel {
			return ""
		}
		return "a weighting cannot be changed without the spectrum"
	}
	for _, r := range reasons {
		if r.a == a.Kind && r.b == b.Kind || r.a == b.Kind && r.b == a.Kind {
			return r.why
		}
	}
	if isLevel(a.Kind) || isLevel(b.Kind) {
		return "a level in dB is a ratio on a logarithmic scale"
	}
	return fmt.Sprintf("one is %s, the other %s", a.Kind, b.Kind)
}

func isLevel(k Kind) bool {
	return k == SoundLevel || k == SoundLevelA || k == SoundLevelC || k == SoundLevelZ
}

var reasons = []struct {
	a, b Kind
	why  string
}{
	{Settled, Concentration, "settled volume says nothing of the mass of solids; the sample must be weighed"},
	{NephNTU, NephFNU, "the two are measured with different light and agree only on the calibration standard"},
	{NephNTU, Concentration, "turbidity gives solids only through a relation found for this water"},
	{NephFNU, Concentration, "turbidity gives solids only through a relation found for this water"},
	{Mass, Volume, "mass and volume need a density, and whether the volume is in bank, loose or compacted"},
	{Pressure, SoundLevel, "a level needs its reference pressure and whether it is a peak"},
	{Pressure, SoundLevelZ, "a level needs its reference pressure and whether it is a peak"},
	{Ratio, Number, "per cent of what is not said"},
	{BulkDensity, Concentration, "one is the density of ground, the other a content of water or air"},
}
