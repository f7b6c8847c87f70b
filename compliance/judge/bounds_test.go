package judge

import (
	"math"
	"testing"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

func dec(t testing.TB, s string) unit.Decimal {
	t.Helper()
	d, err := unit.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestFits(t *testing.T) {
	inf := math.Inf(1)
	between := func(c permit.Limit) permit.Limit { c.Comparator = permit.Between; return c }
	for _, x := range []struct {
		name  string
		b     bounds
		limit permit.Limit
		want  fit
	}{
		{"equal is kept by at most", certain(55), permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55")}, kept},
		{"equal breaks below", certain(55), permit.Limit{Comparator: permit.Below, Value: dec(t, "55.0")}, broken},
		{"equal is kept by at least", certain(55), permit.Limit{Comparator: permit.AtLeastLimit, Value: dec(t, "55")}, kept},
		{"equal breaks above", certain(55), permit.Limit{Comparator: permit.Above, Value: dec(t, "55")}, broken},
		{"binary dust is no excess", certain(0.1 + 0.2), permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "0.3")}, kept},
		{"straddling is open", bounds{11, 13}, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "12")}, open},
		{"the whole bracket within", bounds{11, 13}, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "13")}, kept},
		{"the whole bracket over", bounds{11, 13}, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "10.9")}, broken},
		{"a gap upwards cannot mend an excess", bounds{56, inf}, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55")}, broken},
		{"a gap upwards leaves the rest open", bounds{50, inf}, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55")}, open},
		{"a gap upwards keeps at least", bounds{56, inf}, permit.Limit{Comparator: permit.AtLeastLimit, Value: dec(t, "55")}, kept},
		{"a gap downwards breaks at least", bounds{-inf, 54}, permit.Limit{Comparator: permit.AtLeastLimit, Value: dec(t, "55")}, broken},
		{"inside a band", certain(7), between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9")}), kept},
		{"on the closed end", certain(9), between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9")}), kept},
		{"on the open end", certain(9), between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9"), OpenHigh: true}), broken},
		{"on the open low end", certain(6), between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9"), OpenLow: true}), broken},
		{"across one end", bounds{8, 10}, between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9")}), open},
		{"below the band", bounds{1, 5}, between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9")}), broken},
		{"wider than the band", bounds{1, 12}, between(permit.Limit{Value: dec(t, "6"), Upper: dec(t, "9")}), open},
		{"equals zero", certain(0), permit.Limit{Comparator: permit.Equal, Value: dec(t, "0")}, kept},
		{"more than zero", bounds{1, inf}, permit.Limit{Comparator: permit.Equal, Value: dec(t, "0")}, broken},
		{"perhaps zero", bounds{0, 2}, permit.Limit{Comparator: permit.Equal, Value: dec(t, "0")}, open},
		{"not a number passes nothing", certain(math.NaN()), permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55")}, broken},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := fits(x.b, &x.limit); got != x.want {
				t.Errorf("%v against %s: %d, want %d", x.b, limitText(&x.limit), got, x.want)
			}
		})
	}
}

func TestJoined(t *testing.T) {
	for _, x := range []struct {
		name string
		fs   []fit
		join permit.Join
		want fit
	}{
		{"all kept", []fit{kept, kept}, permit.AllOf, kept},
		{"one broken", []fit{kept, broken, open}, permit.AllOf, broken},
		{"one open", []fit{kept, open}, permit.AllOf, open},
		{"any kept", []fit{broken, kept, open}, permit.AnyOf, kept},
		{"any, all broken", []fit{broken, broken}, permit.AnyOf, broken},
		{"any, one open", []fit{broken, open}, permit.AnyOf, open},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := joined(x.fs, x.join); got != x.want {
				t.Errorf("%v %s: %d, want %d", x.fs, x.join, got, x.want)
			}
		})
	}
}

func TestRounded(t *testing.T) {
	for _, x := range []struct {
		name    string
		v       float64
		step    string
		want    float64
		comment string
	}{
		{name: "to the whole", v: 55.04, step: "1", want: 55},
		{name: "a half goes up", v: 54.5, step: "1", want: 55},
		{name: "a half goes away from zero", v: -54.5, step: "1", want: -55},
		{name: "below a half goes down", v: 54.499999999, step: "1", want: 54},
		{name: "to 5, half up", v: 62.5, step: "5", want: 65},
		{name: "to 0.1 over a binary tie", v: 2.675, step: "0.01", want: 2.68},
		{name: "the depth of X14", v: 0.296666667, step: "0.01", want: 0.30},
		{name: "nothing to do", v: 0.3, step: "0.1", want: 0.3},
		{name: "beyond nine decimals", v: 1e12, step: "0.1", want: 1e12},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := rounded(x.v, dec(t, x.step)); got != x.want {
				t.Errorf("%v to %s: %v, want %v", x.v, x.step, got, x.want)
			}
		})
	}
}

// Rounding never moves a value by more than half the step, and lands on a
// multiple of it.
func TestRoundedIsTheNearestMultiple(t *testing.T) {
	step := dec(t, "0.05")
	for i := -4000; i <= 4000; i++ {
		v := float64(i) / 1000
		got := rounded(v, step)
		if math.Abs(got-v) > 0.025+1e-12 || math.Abs(got/0.05-math.Round(got/0.05)) > 1e-9 {
			t.Fatalf("%v rounds to %v", v, got)
		}
	}
}

func TestMargin(t *testing.T) {
	for _, x := range []struct {
		name  string
		v     float64
		limit permit.Limit
		want  float64
	}{
		{"under", 53, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55")}, 2},
		{"over", 55.3, permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55")}, -0.3},
		{"short", 0.27, permit.Limit{Comparator: permit.AtLeastLimit, Value: dec(t, "0.30")}, -0.03},
		{"nearer end of a band", 8.5, permit.Limit{Comparator: permit.Between, Value: dec(t, "6"), Upper: dec(t, "9")}, 0.5},
		{"below a band", 5.9, permit.Limit{Comparator: permit.Between, Value: dec(t, "6"), Upper: dec(t, "9")}, -0.1},
		{"equality", 2, permit.Limit{Comparator: permit.Equal, Value: dec(t, "0")}, -2},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := margin(x.v, &x.limit); got != x.want {
				t.Errorf("%v, want %v", got, x.want)
			}
		})
	}
}

func TestLimitText(t *testing.T) {
	for _, x := range []struct {
		want  string
		limit permit.Limit
	}{
		{"≤ 55.0 dB", permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "55.0"), Unit: "dB"}},
		{"< 5 NTU", permit.Limit{Comparator: permit.Below, Value: dec(t, "5"), Unit: "NTU"}},
		{"≥ 0.30 m", permit.Limit{Comparator: permit.AtLeastLimit, Value: dec(t, "0.30"), Unit: "m"}},
		{"≤ 40", permit.Limit{Comparator: permit.AtMostLimit, Value: dec(t, "40")}},
		{"from 6 to 9 pH", permit.Limit{Comparator: permit.Between, Value: dec(t, "6"), Upper: dec(t, "9"), Unit: "pH"}},
		{"above 6 to below 9 pH", permit.Limit{Comparator: permit.Between, Value: dec(t, "6"), Upper: dec(t, "9"), Unit: "pH", OpenLow: true, OpenHigh: true}},
	} {
		if got := limitText(&x.limit); got != x.want {
			t.Errorf("%q, want %q", got, x.want)
		}
	}
}

// The finest figure that a sentence prints is told apart from the limit.
func TestApart(t *testing.T) {
	l := permit.Limit{Value: dec(t, "55")}
	for v, want := range map[float64]string{55: "55", 55.2827: "55.283", 55.0000004: "55.0000004", 54.9999: "54.9999"} {
		if got := apart(v, &l); got != want {
			t.Errorf("%v prints as %q, want %q", v, got, want)
		}
	}
}
