package judge

import (
	"math"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

func samplesOf(rule permit.Nondetect, values ...quantity.Observation) []sample {
	for i := range values {
		values[i].From = time.Date(2026, 1, 1+i, 0, 0, 0, 0, time.UTC)
	}
	out, _ := sampled(values, rule, nil)
	return out
}

func val(v float64) quantity.Observation   { return quantity.Observation{Value: v} }
func below(v float64) quantity.Observation { return quantity.Observation{Value: v, Mark: series.Below} }

// Figures: worked examples X1, X2, X5 and X14 of our research notes, and by
// the definitions with a calculator.
func TestStatistics(t *testing.T) {
	five := []quantity.Observation{val(14), below(5), val(22), val(19), below(5)}
	for _, x := range []struct {
		name string
		stat permit.StatisticName
		rule permit.Nondetect
		in   []quantity.Observation
		want bounds
	}{
		{"mean of integers is exact", permit.ArithmeticMean, permit.Bracket, []quantity.Observation{val(38), val(55), val(61), val(44), val(52)}, certain(50)},
		{"less-than results bracket the mean", permit.ArithmeticMean, permit.Bracket, five, bounds{11, 13}},
		{"as zero", permit.ArithmeticMean, permit.AsZero, five, certain(11)},
		{"as half", permit.ArithmeticMean, permit.AsHalf, five, certain(12)},
		{"as full", permit.ArithmeticMean, permit.AsFull, five, certain(13)},
		{"sum of tenths is exact", permit.Sum, permit.Bracket, []quantity.Observation{val(0.1), val(0.2), val(0.3)}, certain(0.6)},
		{"greatest over less-than results", permit.Maximum, permit.Bracket, []quantity.Observation{val(4), below(5)}, bounds{4, 5}},
		{"least over less-than results", permit.Minimum, permit.Bracket, []quantity.Observation{val(4), below(5)}, bounds{0, 4}},
		{"median of an even number", permit.Median, permit.Bracket, []quantity.Observation{val(1), val(9), val(3), val(5)}, certain(4)},
		{"median of an odd number", permit.Median, permit.Bracket, []quantity.Observation{val(1), val(9), val(3)}, certain(3)},
		{"percentile 90 of ten", permit.Percentile, permit.Bracket, []quantity.Observation{val(10), val(9), val(8), val(7), val(6), val(5), val(4), val(3), val(2), val(1)}, certain(9)},
		{"difference of last and first", permit.Change, permit.Bracket, []quantity.Observation{val(10.5), val(7), val(12.25)}, certain(1.75)},
		{"difference with a less-than result", permit.Change, permit.Bracket, []quantity.Observation{below(2), val(5)}, bounds{3, 5}},
		{"geometric mean", permit.GeometricMean, permit.Bracket, []quantity.Observation{val(1), val(100)}, certain(10)},
		{"geometric mean with nothing", permit.GeometricMean, permit.AsZero, []quantity.Observation{below(5), val(100)}, certain(0)},
		{"count", permit.Count, permit.Bracket, five, certain(5)},
		{"single value", permit.Value, permit.Bracket, []quantity.Observation{below(5)}, bounds{0, 5}},
	} {
		t.Run(x.name, func(t *testing.T) {
			got, err := statOf(x.stat, samplesOf(x.rule, x.in...), "90")
			if err != nil || got != x.want {
				t.Errorf("%v, %v; want %v", got, err, x.want)
			}
		})
	}
}

func TestEnergyMeanOfSamples(t *testing.T) {
	got, err := statOf(permit.EnergyMean, samplesOf(permit.Bracket, val(54), val(56), val(53), val(57)), "")
	if err != nil || math.Abs(got.low-55.282767622) > 1e-9 {
		t.Errorf("%v, %v; want 55.282767622 (10·lg of the mean energy, Python math)", got, err)
	}
}

func TestAboveTheRangeHasNoUpperEnd(t *testing.T) {
	s := samplesOf(permit.Bracket, quantity.Observation{Value: 120, Mark: series.Above})
	if s[0].b.low != 120 || !math.IsInf(s[0].b.high, 1) {
		t.Errorf("%v", s[0].b)
	}
}

func TestMarkedResultsAreListedNotCounted(t *testing.T) {
	values, lost := sampled([]quantity.Observation{val(1), {Mark: series.Blank}, {Mark: series.Blank}, {Mark: series.Doubtful}}, permit.Bracket, nil)
	if len(values) != 1 || len(lost) != 2 || lost[0].Count != 2 {
		t.Errorf("%v, %v", values, lost)
	}
}

func TestSpacedSamples(t *testing.T) {
	at := func(hours int) sample {
		return sample{at: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(hours) * time.Hour)}
	}
	list := []sample{at(0), at(23), at(24), at(47), at(48), at(73)}
	for spacing, want := range map[string]int{"": 6, "24": 4, "48": 2, "0": 6} {
		if got := spaced(list, spacing); got != want {
			t.Errorf("%q hours apart: %d, want %d", spacing, got, want)
		}
	}
}

// Any sample raised cannot lower a statistic that is said to rise with its
// samples; the bounds rest on that.
func TestStatisticsRiseWithTheirSamples(t *testing.T) {
	values := []float64{3, 1, 4, 1.5, 9, 2.6, 5}
	for _, name := range []permit.StatisticName{permit.EnergyMean, permit.GeometricMean, permit.Median, permit.Minimum, permit.Maximum, permit.Percentile} {
		f, err := statFunc(name, "80")
		if err != nil {
			t.Fatal(err)
		}
		before := f(values)
		for i := range values {
			raised := append([]float64(nil), values...)
			raised[i] += 2
			if f(raised) < before-1e-12 {
				t.Errorf("%s falls when value %d rises", name, i)
			}
		}
	}
}

func TestAllowance(t *testing.T) {
	table := permit.Rule{Name: permit.AtMostTable, Table: []permit.Step{{From: 4, To: 7, K: 1}, {From: 8, To: 16, K: 2}}}
	share := func(s string) permit.Rule { return permit.Rule{Name: permit.AtMostShare, Share: s} }
	for _, x := range []struct {
		name string
		rule permit.Rule
		n    int
		want int
		ok   bool
	}{
		{"fixed", permit.Rule{Name: permit.AtMost, K: 35}, 300, 35, true},
		{"5 % of 20", share("5"), 20, 1, true},
		{"5 % of 19", share("5"), 19, 0, true},
		{"10 % of 10", share("10"), 10, 1, true},
		{"33.3 % of 3", share("33.3"), 3, 0, true},
		{"29 % of 100", share("29"), 100, 29, true},
		{"all", share("100"), 7, 7, true},
		{"none", share("0"), 7, 0, true},
		{"table, first line", table, 7, 1, true},
		{"table, next line", table, 8, 2, true},
		{"table, below", table, 3, 0, false},
		{"table, above", table, 17, 0, false},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got, ok := allowance(x.rule, x.n); got != x.want || ok != x.ok {
				t.Errorf("%d, %v; want %d, %v", got, ok, x.want, x.ok)
			}
		})
	}
}
