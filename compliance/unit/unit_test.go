package unit

import (
	"errors"
	"math"
	"math/big"
	"strings"
	"testing"
)

func mustDecimal(t *testing.T, s string) Decimal {
	t.Helper()
	d, err := ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestConvert(t *testing.T) {
	// Sources: definitions of the SI and its prefixes; foot, inch and pound by
	// the international yard and pound agreement of 1959.
	cases := []struct {
		name     string
		v        float64
		from, to string
		want     float64
	}{
		{"micrograms to milligrams per litre", 50, "µg/L", "mg/L", 0.05},
		{"milligrams to micrograms per litre", 0.05, "mg/l", "ug/l", 50},
		{"greek mu", 1500, "\u03bcg/l", "mg/L", 1.5},
		{"litre per second to cubic metres per hour", 1.2, "l/s", "m³/h", 4.32},
		{"litre per second to cubic metres per day", 1.2, "L/s", "m3/d", 103.68},
		{"hours to minutes", 1.5, "h", "min", 90},
		{"tonnes to kilograms", 0.25, "t", "kg", 250},
		{"air milligrams to micrograms", 0.05, "mg/m3", "ug/m3", 50},
		{"inch per second", 2, "in/s", "mm/s", 50.8},
		{"feet", 300, "ft", "m", 91.44},
		{"bare decibels take the quantity's weighting", 55, "dB", "dB(A)", 55},
		{"same unit", 7.2, "pH", "pH", 7.2},
		{"count", 40, "", "count", 40},
		{"hectares", 0.5, "ha", "m2", 5000},
		{"megapascals", 2.5, "MPa", "kPa", 2500},
		{"miles per hour", 10, "mph", "km/h", 16.09344},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Convert(c.v, c.from, c.to)
			if err != nil {
				t.Fatal(err)
			}
			if Round9(got) != Round9(c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestConvertRefuses(t *testing.T) {
	cases := []struct {
		name, from, to string
		is             error
		says           string
	}{
		{"settled volume to mass", "mL/L", "mg/L", ErrKinds, "settled volume"},
		{"white and infrared turbidity", "NTU", "FNU", ErrKinds, "different light"},
		{"two weightings", "dB(A)", "dB(C)", ErrKinds, "spectrum"},
		{"tonnes to cubic metres", "t", "m³", ErrKinds, "density"},
		{"pressure to level", "Pa", "dB", ErrKinds, "reference pressure"},
		{"metres to hours", "m", "h", ErrKinds, "one is length"},
		{"unknown", "furlong", "m", ErrUnknown, "furlong"},
		{"unknown target", "m", "cubits", ErrUnknown, "cubits"},
		{"case matters", "mPa", "MPa", ErrUnknown, "mPa"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := Convert(1, c.from, c.to)
			if !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want %v saying %q", err, c.is, c.says)
			}
		})
	}
}

func TestTableIsSound(t *testing.T) {
	seen := map[string]bool{}
	for _, u := range All() {
		if seen[u.Symbol] {
			t.Errorf("unit %q stands twice", u.Symbol)
		}
		seen[u.Symbol] = true
		if u.num <= 0 || u.den <= 0 || u.Title == "" {
			t.Errorf("unit %q is not complete", u.Symbol)
		}
		for _, w := range All() {
			if w.Kind != u.Kind {
				continue
			}
			out, err := Convert(7, u.Symbol, w.Symbol)
			back, err2 := Convert(out, w.Symbol, u.Symbol)
			if err != nil || err2 != nil || math.Abs(back-7) > 1e-12 {
				t.Errorf("%q to %q and back: %v %v %v", u.Symbol, w.Symbol, back, err, err2)
			}
		}
	}
	for _, s := range spellings {
		if seen[s[0]] {
			t.Errorf("spelling %q is also a symbol", s[0])
		}
		if !seen[s[1]] {
			t.Errorf("spelling %q leads nowhere", s[0])
		}
	}
	if !Same("ug/m3", "µg/m³") || Same("mg/L", "mg/m³") || Same("x", "y") || !Same("x", "x") {
		t.Error("Same is wrong")
	}
}

func TestCmp(t *testing.T) {
	cases := []struct {
		name, a, b string
		want       int
	}{
		{"equal with other places", "55", "55.000", 0},
		{"above by the last digit", "55.001", "55", 1},
		{"below zero", "-0.2", "0.1", -1},
		{"both below zero", "-0.2", "-0.1", -1},
		{"far apart places", "999999999999999999", "0.000000000000000001", 1},
		{"nought and minus nought", "-0.0", "0", 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			a, b := mustDecimal(t, c.a), mustDecimal(t, c.b)
			if got := a.Cmp(b); got != c.want {
				t.Errorf("got %d, want %d", got, c.want)
			}
			if got := b.Cmp(a); got != -c.want {
				t.Errorf("turned round: got %d, want %d", got, -c.want)
			}
		})
	}
}

func TestSumDecimals(t *testing.T) {
	cases := []struct {
		name string
		in   []string
		want string
	}{
		{"turbidity of example X2c", []string{"38", "55", "61", "44", "52"}, "250"},
		{"tenths that floats get wrong", []string{"0.1", "0.2", "0.3"}, "0.6"},
		{"greatest places kept", []string{"1.50", "2.5"}, "4.00"},
		{"none", nil, "0"},
		{"large cancelling", []string{"999999999999999999", "0.000000000000000001", "-999999999999999999"}, "0.000000000000000001"},
		{"trailing zeros give way", []string{"999999999999999999", "0.5", "-0.5"}, "999999999999999999"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var ds []Decimal
			for _, s := range c.in {
				ds = append(ds, mustDecimal(t, s))
			}
			got, err := SumDecimals(ds)
			if err != nil {
				t.Fatal(err)
			}
			if got.String() != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
	_, err := SumDecimals([]Decimal{mustDecimal(t, "999999999999999999"), mustDecimal(t, "1")})
	if !errors.Is(err, ErrTooLong) {
		t.Errorf("19 digits: got %v", err)
	}
	if got, err := mustDecimal(t, "1.25").Add(mustDecimal(t, "2.5")); err != nil || got.String() != "3.75" {
		t.Errorf("Add: %v %v", got, err)
	}
}

// TestTotalAgainstBig checks the 128-bit total against arbitrary-precision
// rationals of the standard library, over sizes that pass its limits.
func TestTotalAgainstBig(t *testing.T) {
	seed := uint64(7)
	next := func() uint64 { seed = seed*6364136223846793005 + 1442695040888963407; return seed >> 1 }
	for round := 0; round < 300; round++ {
		var total Total
		want := new(big.Rat)
		for i := 0; i < 40; i++ {
			shift := next() % 60
			d := Decimal{Coefficient: int64(next() >> shift), Places: int8(next() % 19)}
			if next()%2 == 0 {
				d.Coefficient = -d.Coefficient
			}
			w := int64(next() >> (next() % 60))
			total.AddWeighted(d, w)
			term := new(big.Rat).SetFrac(big.NewInt(d.Coefficient), big.NewInt(tens[d.Places]))
			want.Add(want, term.Mul(term, new(big.Rat).SetInt64(w)))
			f, _ := want.Float64()
			if total.Float() != f {
				t.Fatalf("round %d, term %d: got %v, want %v", round, i, total.Float(), f)
			}
			n := int64(next()>>40) + 1
			g, _ := new(big.Rat).Quo(want, new(big.Rat).SetInt64(n)).Float64()
			if total.Over(n) != g {
				t.Fatalf("round %d, term %d over %d: got %v, want %v", round, i, n, total.Over(n), g)
			}
		}
	}
}

func TestRescale(t *testing.T) {
	if d, err := mustDecimal(t, "1.50").Rescale(1); err != nil || d.String() != "1.5" {
		t.Errorf("got %v %v", d, err)
	}
	if d, err := mustDecimal(t, "1.5").Rescale(4); err != nil || d.String() != "1.5000" {
		t.Errorf("got %v %v", d, err)
	}
	if _, err := mustDecimal(t, "1.55").Rescale(1); err == nil {
		t.Error("a digit was lost")
	}
	if _, err := mustDecimal(t, "123456789012").Rescale(9); !errors.Is(err, ErrTooLong) {
		t.Errorf("got %v", err)
	}
	if got := mustDecimal(t, "10.500").Trim().String(); got != "10.5" {
		t.Errorf("got %s", got)
	}
}

// TestEnergyAndLevel compares with the standard library, which is exact to
// about 1e-15 here, and with the definition at whole decades.
func TestEnergyAndLevel(t *testing.T) {
	for i := -2000; i <= 2000; i++ {
		l := float64(i)/10 + 0.0123456789
		want := math.Pow(10, l/10)
		if rel := math.Abs(Energy(l)/want - 1); rel > 1e-13 {
			t.Fatalf("energy of %v: relative difference %g", l, rel)
		}
		if back := Level(Energy(l)); math.Abs(back-l) > 1e-12 {
			t.Fatalf("level %v came back as %v", l, back)
		}
	}
	for d := -30; d <= 30; d++ {
		if got, want := Energy(float64(10*d)), math.Pow10(d); got != want {
			t.Errorf("energy of %d dB: got %v, want %v", 10*d, got, want)
		}
	}
	if Energy(math.Inf(-1)) != 0 || !math.IsInf(Level(0), -1) || !math.IsNaN(Level(-1)) || !math.IsInf(Level(math.Inf(1)), 1) {
		t.Error("limits are wrong")
	}
}

// TestEqualityAtEveryTenth holds the promise that a mean of equal readings
// equals a limit of that number.
func TestEqualityAtEveryTenth(t *testing.T) {
	for tenth := 200; tenth <= 1200; tenth++ {
		limit := Decimal{Coefficient: int64(tenth), Places: 1}
		sum := 0.0
		for i := 0; i < 60; i++ {
			sum += Energy(limit.Float())
		}
		if got := Compare(Level(sum/60), limit); got != 0 {
			t.Errorf("60 readings of %s: compares as %d", limit, got)
		}
		if Compare(limit.Float()+0.000001, limit) != 1 || Compare(limit.Float()-0.000001, limit) != -1 {
			t.Errorf("a millionth beside %s is lost", limit)
		}
	}
}

func TestCompare(t *testing.T) {
	cases := []struct {
		name  string
		v     float64
		limit string
		want  int
	}{
		{"equal", 0.1 + 0.2, "0.3", 0},
		{"above, shown alike", 55.04, "55.0", 1},
		{"limit finer than a derived value", 0.1, "0.1000000000001", -1},
		{"large volume equal", 12345678.1, "12345678.1", 0},
		{"large volume above", 12345678.2, "12345678.1", 1},
		{"silence", math.Inf(-1), "-100", -1},
		{"no number never passes", math.NaN(), "55", 1},
		{"above every number", math.Inf(1), "55", 1},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := Compare(c.v, mustDecimal(t, c.limit)); got != c.want {
				t.Errorf("got %d, want %d", got, c.want)
			}
		})
	}
}

func TestRoundings(t *testing.T) {
	cases := []struct {
		name   string
		v      float64
		places int
		want   float64
	}{
		{"tie to even down", 0.125, 2, 0.12},
		{"tie that floats miss", 2.675, 2, 2.68},
		{"tie to even up", 0.375, 2, 0.38},
		{"below zero", -2.5, 0, -2},
		{"to whole numbers", 55.5, 0, 56},
		{"example X14 to the nearest 10 mm", 0.29666666666666667, 2, 0.3},
		{"large", 123456789.55, 1, 123456789.6},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := RoundHalfEven(c.v, c.places); got != c.want {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
	if got, err := RoundToStep(62.5, mustDecimal(t, "5")); err != nil || got != 60 {
		t.Errorf("62.5 to fives: %v %v", got, err)
	}
	if got, err := RoundToStep(0.26, mustDecimal(t, "0.05")); err != nil || got != 0.25 {
		t.Errorf("0.26 to twentieths: %v %v", got, err)
	}
	if _, err := RoundToStep(1, mustDecimal(t, "0")); !errors.Is(err, ErrStep) {
		t.Errorf("step 0: %v", err)
	}
}

func FuzzDecimal(f *testing.F) {
	for _, s := range []string{"12", "-0.35", "55.0", "1.", ".5", "--3", "999999999999999999", "0.000000000000000001"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDecimal(s)
		if err != nil {
			return
		}
		again, err := ParseDecimal(d.String())
		if err != nil || again != d {
			t.Fatalf("%q read as %v, written as %q, read as %v, %v", s, d, d.String(), again, err)
		}
		if d.Cmp(d.Trim()) != 0 {
			t.Fatalf("%q trimmed is another number", s)
		}
	})
}
