package series

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

const ten = "2026-06-10T10:00:00Z"

// TestHours holds the worked examples X1 to X3 (energy mean, equality, too
// little data), computed apart in Python, and rows of the same kind.
func TestHours(t *testing.T) {
	q := 15 * minute
	cases := []struct {
		name     string
		values   []string
		spanMs   int64
		want     float64
		against  int // of 55.0
		coverage string
		least    float64
	}{
		{"X1 energy, not arithmetic", []string{"54", "56", "53", "57"}, q, 55.283, 1, "100", 55.283},
		{"X1 the other hour", []string{"53", "55", "52", "56"}, q, 54.283, -1, "100", 54.283},
		{"X2a equality", []string{"55.0", "55.0", "55.0", "55.0"}, q, 55, 0, "100", 55},
		{"X2d unrounded", []string{"55.04", "55.04", "55.04", "55.04"}, q, 55.04, 1, "100", 55.04},
		{"X3a half an hour", []string{"54", "53"}, q, 53.529, -1, "50", 50.518},
		{"X3b the gap cannot change it", []string{"60", "58"}, q, 59.114, 1, "50", 56.104},
		{"X3c three quarters", []string{"53.0", "53.0", "53.0"}, q, 53, -1, "75", 51.751},
		{"NV-53 a rejected quarter with the gap named", []string{"52", "53", "wind", "54"}, q, 53.076, -1, "75", 51.827},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := one(t, readings(t, ten, c.spanMs, c.values...), span(t, ten, time.Hour), Request{Stat: EnergyMean})
			near(t, "energy mean", r.Value, c.want, 0.0005)
			near(t, "with silence", r.LeastEnergyMean, c.least, 0.0005)
			if got := unit.Compare(r.Value, dec(t, "55.0")); got != c.against {
				t.Errorf("against 55.0: %d", got)
			}
			p := dec(t, c.coverage)
			p.Coefficient, p.Places = p.Coefficient*10+1, 1
			if !r.Covers(dec(t, c.coverage)) || r.Covers(p) {
				t.Errorf("coverage %v", r.Coverage)
			}
		})
	}
	r := one(t, readings(t, ten, q, "53.0", "53.0", "53.0"), span(t, ten, time.Hour), Request{Stat: EnergyMean})
	if level, ok := r.GapMustReach(dec(t, "55")); !ok || math.Abs(level-58.24) > 0.005 {
		t.Errorf("X3c: the lost quarter would have to exceed %v", level)
	}
	r = one(t, readings(t, ten, q, "60", "58"), span(t, ten, time.Hour), Request{Stat: EnergyMean})
	if level, ok := r.GapMustReach(dec(t, "55")); ok {
		t.Errorf("X3b: nothing in the gap matters, got %v", level)
	}
}

// TestEqualMinutes: 60 equal minutes equal a limit of that number, at every
// tenth of a decibel from 20.0 to 120.0, and one minute a tenth louder does
// not.
func TestEqualMinutes(t *testing.T) {
	t.Run("T6 the last bits of a sum are no exceedance", func(t *testing.T) {
		hour := span(t, ten, time.Hour)
		for tenth := 200; tenth <= 1200; tenth++ {
			limit := unit.Decimal{Coefficient: int64(tenth), Places: 1}
			values := slices.Repeat([]string{limit.String()}, 60)
			if r := one(t, readings(t, ten, minute, values...), hour, Request{Stat: EnergyMean}); unit.Compare(r.Value, limit) != 0 {
				t.Errorf("60 minutes of %s give %v", limit, r.Value)
			}
			values[17] = unit.Decimal{Coefficient: int64(tenth) + 1, Places: 1}.String()
			if r := one(t, readings(t, ten, minute, values...), hour, Request{Stat: EnergyMean}); unit.Compare(r.Value, limit) != 1 {
				t.Errorf("a louder minute is lost at %s: %v", limit, r.Value)
			}
		}
	})
}

// TestEnergyMeans: figures computed apart in Python for the project's
// reference page on acoustics; the first is unequal durations.
func TestEnergyMeans(t *testing.T) {
	var unequal []*Block
	unequal = append(unequal, readings(t, ten, 15*minute, "72.0")...)
	unequal = append(unequal, readings(t, "2026-06-10T10:15:00Z", 40*minute, "60.0")...)
	unequal = append(unequal, readings(t, "2026-06-10T10:55:00Z", 5*minute, "84.0")...)
	cases := []struct {
		name   string
		blocks []*Block
		from   string
		length time.Duration
		want   float64
	}{
		{"NV-1 unequal durations", unequal, ten, time.Hour, 74.076},
		{"T3 5 min and 3 min, not 63.963", append(readings(t, ten, 5*minute, "60"), readings(t, "2026-06-10T10:05:00Z", 3*minute, "66")...), ten, time.Hour, 63.259},
		{"T1 one loud quarter, not the mean of 57.5", readings(t, ten, 15*minute, "50", "50", "50", "80"), ten, time.Hour, 73.992},
		{"T4 unrounded inputs, over 55 where rounded ones give 54.965", readings(t, ten, 15*minute, "54.4", "54.4", "54.4", "56.9"), ten, time.Hour, 55.172},
		{"T2 a missing quarter is no silence", readings(t, ten, 15*minute, "60", "60", "60"), ten, time.Hour, 60},
		{"T7 half an hour of the hour", readings(t, ten, 30*minute, "45", "62"), "2026-06-10T10:30:00Z", 30 * time.Minute, 62},
		{"T9 stamps at the begin", readings(t, "2026-06-10T06:45:00Z", 15*minute, "44", "46", "61", "63", "62", "60", "47", "45"), "2026-06-10T07:00:00Z", time.Hour, 60.863},
		{"T9 stamps at the end", readings(t, "2026-06-10T06:30:00Z", 15*minute, "44", "46", "61", "63", "62", "60", "47", "45"), "2026-06-10T07:00:00Z", time.Hour, 61.643},
		{"T33 a straddling reading counts by its part", readings(t, "2026-06-10T09:55:00Z", 10*minute, "70", "60"), ten, 15 * time.Minute, 66.0206}, // (5·10^7 + 10·10^6)/15 by hand,
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := one(t, c.blocks, span(t, c.from, c.length), Request{Stat: EnergyMean})
			near(t, "energy mean", r.Value, c.want, 0.0005)
		})
	}
}

// TestLessThanLevels (T26): three quarters under range and one of 48 dB lie between
// 41.979 (48 less 10 lg 4, by hand) and 42.044 (computed apart), on both sides
// of a limit of 42.
func TestLessThanLevels(t *testing.T) {
	t.Run("T26 under range is not nothing", func(t *testing.T) {
		r := one(t, readings(t, ten, 15*minute, "<25", "<25", "<25", "48"), span(t, ten, time.Hour), Request{Stat: EnergyMean})
		near(t, "low", r.Low, 41.979, 0.0005)
		near(t, "high", r.High, 42.044, 0.0005)
		if unit.Compare(r.Low, dec(t, "42")) != -1 || unit.Compare(r.High, dec(t, "42")) != 1 {
			t.Errorf("%v to %v is not on both sides of 42", r.Low, r.High)
		}
	})
	r := one(t, readings(t, ten, 15*minute, "<25", ">90", "50", "48"), span(t, ten, time.Hour), Request{Stat: EnergyMean})
	if !math.IsInf(r.High, 1) || r.Above != 1 || r.Below != 1 {
		t.Errorf("an overload bounds nothing: %+v", r)
	}
}

// TestLessThanResults is worked example X5: a monthly mean of 12 mg/L.
func TestLessThanResults(t *testing.T) {
	blocks := readings(t, ten, 0, "14", "<5", "22", "19", "<5")
	month := span(t, "2026-06-01T00:00:00Z", 30*24*time.Hour)
	r := one(t, blocks, month, Request{Stat: ArithmeticMean})
	if r.AsZero != 11 || r.AsHalf != 12 || r.AsFull != 13 || r.Low != 11 || r.High != 13 {
		t.Errorf("got %v %v %v, %v to %v", r.AsZero, r.AsHalf, r.AsFull, r.Low, r.High)
	}
	for _, c := range []struct {
		limit     string
		low, high int
	}{{"12", -1, 1}, {"13.0", -1, 0}, {"10.9", 1, 1}} {
		if l, h := unit.Compare(r.Low, dec(t, c.limit)), unit.Compare(r.High, dec(t, c.limit)); l != c.low || h != c.high {
			t.Errorf("against %s: %d %d", c.limit, l, h)
		}
	}
	half := one(t, blocks, month, Request{Stat: ArithmeticMean, Nondetect: AsHalf})
	if half.Value != 12 || half.Low != 12 || half.High != 12 {
		t.Errorf("with the rule named: %+v", half)
	}
}

// TestExactMeans: X2c, a week of turbidity whose mean is 50 and nothing else.
func TestExactMeans(t *testing.T) {
	week := span(t, ten, 7*24*time.Hour)
	r := one(t, readings(t, ten, 0, "38", "55", "61", "44", "52"), week, Request{Stat: ArithmeticMean})
	if r.Value != 50 || unit.Compare(r.Value, dec(t, "50")) != 0 {
		t.Errorf("got %v", r.Value)
	}
	r = one(t, readings(t, ten, 0, "0.1", "0.2", "0.3"), week, Request{Stat: Sum})
	if r.Value != 0.6 || r.Sum.String() != "0.6" || !r.SumExact {
		t.Errorf("got %v, %s", r.Value, r.Sum)
	}
	tenths := slices.Repeat([]string{"0.1"}, 1000)
	if r := one(t, readings(t, ten, 0, tenths...), week, Request{Stat: Sum}); r.Value != 100 {
		t.Errorf("a thousand tenths are %v", r.Value)
	}
}

// TestPumpedDays is worked example X9: 1.2 L/s by the quarter hour over the
// clock changes of 2026, in m³ a day.
func TestPumpedDays(t *testing.T) {
	cases := []struct {
		name, zone, at string
		quarters       int
		want           string
	}{
		{"T12 day before the change", "Europe/London", "2026-03-28T12:00:00Z", 96, "103.68"},
		{"T12 23 hours", "Europe/London", "2026-03-29T12:00:00Z", 92, "99.36"},
		{"T12 25 hours", "Europe/London", "2026-10-25T12:00:00Z", 100, "108.00"},
		{"the same water by UTC days", "UTC", "2026-03-29T12:00:00Z", 96, "103.68"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			loc := zone(t, c.zone)
			at := time.UnixMilli(ms0(t, c.at))
			day, err := period(t, "local day").At(at, loc)
			if err != nil {
				t.Fatal(err)
			}
			start := at.Add(-48 * time.Hour).UTC().Format(time.RFC3339)
			blocks := readings(t, start, 15*minute, slices.Repeat([]string{"1.08"}, 4*96)...) // m³ a quarter
			r := one(t, blocks, day, Request{Stat: Sum})
			if r.N != c.quarters || r.Sum.String() != c.want || unit.Compare(r.Value, dec(t, c.want)) != 0 {
				t.Errorf("%d quarters, %s m³", r.N, r.Sum)
			}
			if r.Coverage != 1 {
				t.Errorf("coverage %v", r.Coverage)
			}
		})
	}
}

// TestPercentiles: the twenty-value sample of the project's reference page,
// by both rules, computed apart with numpy.
func TestPercentiles(t *testing.T) {
	sample := []string{"52.1", "48.3", "47.9", "60.4", "55.2", "49.0", "48.8", "71.5", "50.3", "47.2",
		"46.9", "48.1", "53.7", "66.2", "49.5", "47.5", "48.6", "51.0", "58.9", "50.1"}
	blocks := readings(t, ten, minute, sample...)
	hour := span(t, ten, time.Hour)
	for _, c := range []struct {
		name, percent   string
		linear, nearest float64
	}{
		{"NV-9 L10", "90", 60.980, 60.4}, {"NV-10 L50", "50", 49.800, 49.5}, {"NV-11 L90", "10", 47.470, 47.2},
		{"NV-12 L1", "99", 70.493, 71.5}, {"NV-12 L99", "1", 46.957, 46.9}, {"least", "0", 46.9, 46.9}, {"greatest", "100", 71.5, 71.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			near(t, "linear", one(t, blocks, hour, Request{Stat: Percentile, Percentile: dec(t, c.percent), Rank: Linear}).Value, c.linear, 1e-9)
			near(t, "nearest rank", one(t, blocks, hour, Request{Stat: Percentile, Percentile: dec(t, c.percent)}).Value, c.nearest, 0)
		})
	}
	near(t, "median", one(t, blocks, hour, Request{Stat: Median}).Value, 49.8, 1e-9)
	near(t, "NV-13 LAeq", one(t, blocks, hour, Request{Stat: EnergyMean}).Value, 60.394, 0.0005)
	near(t, "max", one(t, blocks, hour, Request{Stat: Maximum}).Value, 71.5, 0)
	near(t, "min", one(t, blocks, hour, Request{Stat: Minimum}).Value, 46.9, 0)
	// The rank must not fall to binary dust: 7 % of 100 is the 7th.
	var hundred []string
	for i := 1; i <= 100; i++ {
		hundred = append(hundred, strconv.Itoa(i))
	}
	if r := one(t, readings(t, ten, minute, hundred...), span(t, ten, 2*time.Hour), Request{Stat: Percentile, Percentile: dec(t, "7")}); r.Value != 7 {
		t.Errorf("7 %% of 100: %v", r.Value)
	}
	t.Run("T16 NV-14 L90 of the joined half hour, not the mean of two", func(t *testing.T) {
		joined := append(slices.Repeat([]string{"40.0"}, 15), slices.Repeat([]string{"60.0"}, 15)...)
		if r := one(t, readings(t, ten, minute, joined...), hour, Request{Stat: Percentile, Percentile: dec(t, "10")}); r.Value != 40 {
			t.Errorf("%v", r.Value)
		}
	})
	mixed := append(readings(t, ten, minute, "50"), readings(t, "2026-06-10T10:05:00Z", 5*minute, "60")...)
	if r := one(t, mixed, hour, Request{Stat: Median}); r.OK || r.Why == "" {
		t.Errorf("unequal readings: %+v", r)
	}
}

// TestBrackets works bounds by hand for readings below and above their limits.
func TestBrackets(t *testing.T) {
	inf := math.Inf(1)
	day := span(t, ten, 24*time.Hour)
	cases := []struct {
		name                        string
		values                      []string
		req                         Request
		zero, half, full, low, high float64
	}{
		{"max held by a value", []string{"<5", "7"}, Request{Stat: Maximum}, 7, 7, 7, 7, 7},
		{"max held by a limit", []string{"<5", "3"}, Request{Stat: Maximum}, 3, 3, 5, 3, 5},
		{"max over range", []string{"4", ">6"}, Request{Stat: Maximum}, 6, 6, 6, 6, inf},
		{"min of a less-than", []string{"<5", "7"}, Request{Stat: Minimum}, 0, 2.5, 5, 0, 5},
		{"min beside an over range", []string{">6", "7"}, Request{Stat: Minimum}, 6, 6, 6, 6, 7},
		{"min below frost", []string{"<-5", "7"}, Request{Stat: Minimum}, 0, -2.5, -5, -inf, -5},
		{"sum", []string{"<4", "7"}, Request{Stat: Sum}, 7, 9, 11, 7, 11},
		{"median", []string{"<4", "7", "9"}, Request{Stat: Median}, 7, 7, 7, 7, 7},
		{"median on the limit", []string{"<4", "<4", "9"}, Request{Stat: Median}, 0, 2, 4, 0, 4},
		{"single", []string{"<4"}, Request{Stat: Single}, 0, 2, 4, 0, 4},
		{"geometric", []string{"<4", "9"}, Request{Stat: GeometricMean}, 0, math.Sqrt(18), 6, 0, 6},
		{"difference", []string{"<4", "9"}, Request{Stat: Change}, 9, 7, 5, 5, 9},
		{"count above, surely and perhaps", []string{"<5", "7", ">1", "1"}, Request{Stat: Count, Threshold: ptr(dec(t, "2"))}, 1, 2, 2, 1, 3},
		{"count at or below", []string{"<5", "<2", ">1", "1"}, Request{Stat: Count, Comparator: "<=", Threshold: ptr(dec(t, "2"))}, 4, 3, 3, 2, 4},
		{"count all", []string{"<5", "2", ">1"}, Request{Stat: Count}, 3, 3, 3, 3, 3},
		{"share", []string{"1", "2", "3", "<9"}, Request{Stat: Share, Comparator: ">=", Threshold: ptr(dec(t, "2"))}, 50, 75, 75, 50, 75},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := one(t, readings(t, ten, 0, c.values...), day, c.req)
			got := []float64{r.AsZero, r.AsHalf, r.AsFull, r.Low, r.High}
			want := []float64{c.zero, unit.Round9(c.half), c.full, c.low, c.high}
			if !r.OK || !slices.Equal(got, want) {
				t.Errorf("got %v, want %v (%s)", got, want, r.Why)
			}
		})
	}
}

func TestMeterDifference(t *testing.T) {
	// A meter read each midnight and once in between; each day takes the
	// readings at both its ends.
	var b builder
	for i, v := range []string{"1000.0", "1010.5", "1019.25", "1030"} {
		c, _, err := (&plan{decimal: '.'}).readCell(v, "")
		if err != nil {
			t.Fatal(err)
		}
		b.add(ms0(t, []string{"2026-06-01T00:00:00Z", "2026-06-01T12:00:00Z", "2026-06-02T00:00:00Z", "2026-06-03T00:00:00Z"}[i]), 0, c)
	}
	days := []calendar.Span{span(t, "2026-06-01T00:00:00Z", 24*time.Hour), span(t, "2026-06-02T00:00:00Z", 24*time.Hour), span(t, "2026-06-03T00:00:00Z", 24*time.Hour)}
	rs, err := Windows(b.blocks, days, Request{Stat: Change})
	if err != nil {
		t.Fatal(err)
	}
	if rs[0].Value != 19.25 || rs[1].Value != 10.75 || rs[2].OK {
		t.Errorf("got %v, %v, %+v", rs[0].Value, rs[1].Value, rs[2])
	}
}

func TestFlowWeightedMean(t *testing.T) {
	flow := readings(t, ten, 30*minute, "1", "3")
	hour := span(t, ten, time.Hour)
	conc := readings(t, ten, 30*minute, "10", "20")
	if r := one(t, conc, hour, Request{Stat: FlowWeighted, Weights: flow}); r.Value != 17.5 { // (10·1 + 20·3)/4
		t.Errorf("got %v", r.Value)
	}
	if r := one(t, readings(t, ten, 60*minute, "10"), hour, Request{Stat: FlowWeighted, Weights: flow[:1]}); r.Value != 10 {
		t.Errorf("one reading over both flows: %+v", r)
	}
	if r := one(t, readings(t, ten, 30*minute, "10", "20", "30"), span(t, ten, 2*time.Hour), Request{Stat: FlowWeighted, Weights: flow}); r.OK {
		t.Errorf("a reading without flow: %+v", r)
	}
	if r := one(t, readings(t, ten, 0, "10", "20"), hour, Request{Stat: FlowWeighted, Weights: flow}); r.Value != 15 {
		t.Errorf("two instants in one flow reading: %v", r.Value)
	}
	if r := one(t, conc, hour, Request{Stat: FlowWeighted, Weights: readings(t, ten, 30*minute, "0", "0")}); r.OK || r.Why != "there was no flow" {
		t.Errorf("no flow: %+v", r)
	}
}

func TestDurations(t *testing.T) {
	blocks := readings(t, ten, 15*minute, "0", "2", "3", "wind", "", "4")
	two := span(t, "2026-06-10T10:20:00Z", 2*time.Hour)
	r := one(t, blocks, two, Request{Stat: Duration, Threshold: ptr(dec(t, "1"))})
	if r.Value != 40*60 || r.CoveredMs != 40*minute || r.GapMs != 65*minute {
		t.Errorf("%v s, covered %d, gap %d", r.Value, r.CoveredMs, r.GapMs)
	}
	if want := []Exclusion{{Wind, 1, 15 * minute}}; !slices.Equal(r.Excluded, want) {
		t.Errorf("excluded %v", r.Excluded)
	}
	r = one(t, blocks, two, Request{Stat: Share, Threshold: ptr(dec(t, "2"))})
	near(t, "share of covered time", r.Value, 75, 0)
	if r := one(t, readings(t, ten, 0, "1"), two, Request{Stat: Duration}); r.OK && r.N > 0 {
		t.Errorf("instants last: %+v", r)
	}
}

func TestEdges(t *testing.T) {
	blocks := readings(t, "2026-06-10T09:50:00Z", 15*minute, "1", "2", "4", "8", "16") // to 11:05
	hour := span(t, ten, time.Hour)
	for _, c := range []struct {
		stat string
		want float64
		n    int
	}{
		{Sum, 2 + 4 + 8 + 16, 4}, // those that begin inside
		{ArithmeticMean, (1*5 + 2*15 + 4*15 + 8*15 + 16*10) / 60.0, 5}, // by the part inside
		{Maximum, 16, 5},
		{Minimum, 1, 5},
		{Count, 4, 4},
		{Median, 6, 4},
	} {
		t.Run(c.stat, func(t *testing.T) {
			r := one(t, blocks, hour, Request{Stat: c.stat})
			if r.Value != unit.Round9(c.want) || r.N != c.n || r.Coverage != 1 {
				t.Errorf("got %v of %d, coverage %v", r.Value, r.N, r.Coverage)
			}
		})
	}
	r := one(t, blocks, hour, Request{Stat: Maximum})
	if r.At != ms0(t, "2026-06-10T10:50:00Z") || r.First != ms0(t, "2026-06-10T09:50:00Z") || r.Last != r.At {
		t.Errorf("at %d, %d to %d", r.At, r.First, r.Last)
	}
}

func TestNothingThere(t *testing.T) {
	for _, blocks := range [][]*Block{nil, readings(t, "2026-06-09T10:00:00Z", minute, "50"), readings(t, ten, minute, "wind"), {{}}} {
		for _, stat := range []string{EnergyMean, ArithmeticMean, GeometricMean, Minimum, Maximum, Sum, Median, Single, Change} {
			r := one(t, blocks, span(t, ten, time.Hour), Request{Stat: stat})
			if r.OK || r.Why == "" || r.Coverage != 0 || r.Covers(dec(t, "0.1")) {
				t.Errorf("%s of nothing: %+v", stat, r)
			}
		}
	}
	mixed := append(readings(t, ten, minute, "50"), readings(t, "2026-06-10T10:05:00Z", 0, "60")...)
	if r := one(t, mixed, span(t, ten, time.Hour), Request{Stat: ArithmeticMean}); r.OK {
		t.Errorf("instants and intervals: %+v", r)
	}
	if r := one(t, readings(t, ten, 0, "0", "5"), span(t, ten, time.Hour), Request{Stat: GeometricMean}); r.OK {
		t.Errorf("geometric mean with 0: %+v", r)
	}
}

func TestRequestRefused(t *testing.T) {
	cases := []struct {
		name string
		req  Request
	}{
		{"unknown", Request{Stat: "mode"}},
		{"no name", Request{}},
		{"percentile above 100", Request{Stat: Percentile, Percentile: dec(t, "100.1")}},
		{"percentile too fine", Request{Stat: Percentile, Percentile: dec(t, "99.9999999")}},
		{"unknown rank", Request{Stat: Percentile, Percentile: dec(t, "90"), Rank: "best"}},
		{"share without threshold", Request{Stat: Share}},
		{"comparator without threshold", Request{Stat: Count, Comparator: ">"}},
		{"unknown comparator", Request{Stat: Count, Comparator: "!=", Threshold: ptr(dec(t, "1"))}},
		{"flow mean without flow", Request{Stat: FlowWeighted}},
		{"unknown non-detect rule", Request{Stat: Sum, Nondetect: "third"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Windows(nil, nil, c.req); !errors.Is(err, ErrRequest) {
				t.Errorf("Windows: %v", err)
			}
			if _, err := Over(nil, nil, c.req); !errors.Is(err, ErrRequest) {
				t.Errorf("Over: %v", err)
			}
		})
	}
}

// TestOverParts: two stretches taken together equal one window over readings
// that lie in them alone.
func TestOverParts(t *testing.T) {
	blocks := readings(t, ten, 15*minute, "50", "60", "70", "40")
	parts := []calendar.Span{span(t, ten, 15*time.Minute), span(t, "2026-06-10T10:30:00Z", 30*time.Minute)}
	r, err := Over(blocks, parts, Request{Stat: ArithmeticMean})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", r.Value, (50+70+40)/3.0, 1e-9)
	if r.WindowMs != 45*minute || r.Coverage != 1 || r.N != 3 {
		t.Errorf("%+v", r)
	}
}

// TestRolling: quarters 68 68 50 50 after 50 50: the clock hours are 65.058,
// the loudest 60 minutes 68 (computed apart).
func TestRolling(t *testing.T) {
	blocks := readings(t, ten, 15*minute, "50", "50", "68", "68", "68", "68", "50", "50")
	all := span(t, ten, 2*time.Hour)
	spans := Rolling(blocks, time.Hour, all)
	if len(spans) != 5 {
		t.Fatalf("%d windows", len(spans))
	}
	rs, err := Windows(blocks, spans, Request{Stat: EnergyMean})
	if err != nil {
		t.Fatal(err)
	}
	loudest := 0.0
	for _, r := range rs {
		loudest = max(loudest, r.Value)
	}
	near(t, "first clock hour", rs[0].Value, 65.058, 0.0005)
	near(t, "second clock hour", rs[4].Value, 65.058, 0.0005)
	near(t, "loudest 60 minutes", loudest, 68, 0)
}

// TestBlocksDoNotMatter: however readings are cut into blocks, every
// statistic of every window is the same to the last bit.
func TestBlocksDoNotMatter(t *testing.T) {
	seed := uint64(11)
	next := func(n uint64) uint64 { seed = seed*6364136223846793005 + 1442695040888963407; return seed >> 33 % n }
	whole := &Block{Span: minute, Places: 1}
	at := ms0(t, ten)
	for i := 0; i < 600; i++ {
		at += minute * int64(1+next(10)/9)
		whole.Start = append(whole.Start, at)
		whole.Coefficient = append(whole.Coefficient, int64(400+next(300)))
		whole.Mark = append(whole.Mark, []Mark{Valid, Valid, Valid, Valid, Below, Above, Valid}[next(7)])
	}
	var cut []*Block
	for i := 0; i < 600; {
		j := min(i+1+int(next(50)), 600)
		cut = append(cut, &Block{Span: minute, Places: 1, Start: whole.Start[i:j], Coefficient: whole.Coefficient[i:j], Mark: whole.Mark[i:j]})
		i = j
	}
	hours, err := period(t, "15 minutes").Windows(span(t, ten, 12*time.Hour), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	for _, stat := range []string{EnergyMean, ArithmeticMean, GeometricMean, Median, Minimum, Maximum, Sum, Count, Duration, Single, Change} {
		a, errA := Windows([]*Block{whole}, hours, Request{Stat: stat})
		b, errB := Windows(cut, hours, Request{Stat: stat})
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		for i := range a {
			a[i].Excluded, b[i].Excluded = nil, nil
			if a[i].Low > a[i].AsFull || a[i].High < a[i].AsFull {
				t.Fatalf("%s: %v is outside %v to %v", stat, a[i].AsFull, a[i].Low, a[i].High)
			}
			if !sameResult(a[i], b[i]) {
				t.Fatalf("%s, window %d: %+v and %+v", stat, i, a[i], b[i])
			}
		}
	}
	na, da := Digest([]*Block{whole})
	slices.Reverse(cut)
	nb, db := Digest(cut)
	if na != nb || da != db {
		t.Error("the digest depends on the cutting")
	}
}

// TestRunsDoNotMatter: an energy mean taken in runs equals one taken reading
// by reading, to the last bit.
func TestRunsDoNotMatter(t *testing.T) {
	values := []string{"50.1", "61.7", "wind", "47.3", "<30", "55.5", "55.6", "", "70.2", "12.3"}
	hour := span(t, "2026-06-10T10:02:30Z", 6*time.Minute)
	inRuns := one(t, readings(t, ten, minute, values...), hour, Request{Stat: EnergyMean})
	var single []*Block
	for i, v := range values {
		if v != "" {
			single = append(single, readings(t, time.UnixMilli(ms0(t, ten)+int64(i)*minute).UTC().Format(time.RFC3339), minute, v)...)
		}
	}
	var acc energyAcc
	for _, b := range single {
		start, end := max(b.Start[0], hour.From.UnixMilli()), min(b.Start[0]+minute, hour.To.UnixMilli())
		if b.Mark[0].Counts() && start < end {
			acc.add(&sample{weight: end - start, value: b.Value(0), mark: b.Mark[0]})
		}
	}
	r := Result{WindowMs: inRuns.WindowMs}
	if o := acc.result(&r); unit.Round9(o.full) != inRuns.Value || unit.Round9(o.zero) != inRuns.AsZero || r.energyMs != inRuns.energyMs {
		t.Errorf("in runs %+v, one by one %+v", inRuns, o)
	}
	if inRuns.N != 5 || inRuns.Below != 1 || inRuns.CoveredMs != 9*minute/2 || inRuns.GapMs != minute {
		t.Errorf("%+v", inRuns)
	}
}

func sameResult(a, b Result) bool {
	return a.OK == b.OK && a.Value == b.Value && a.Low == b.Low && a.High == b.High && a.N == b.N && a.At == b.At &&
		a.CoveredMs == b.CoveredMs && a.LeastEnergyMean == b.LeastEnergyMean && a.Sum == b.Sum
}
