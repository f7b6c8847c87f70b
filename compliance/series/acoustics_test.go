package series

import (
	"slices"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/unit"
)

// TestLevelsOfPeriods: rows of the project's reference page on acoustics by
// the energy mean of ISO 1996-1 (definition of the equivalent level), computed apart in Python; each
// names the answer that is often given and wrong where there is one.
func TestLevelsOfPeriods(t *testing.T) {
	day := "2026-06-10T07:00:00Z"
	h := 60 * minute
	cases := []struct {
		name   string
		values []string
		spanMs int64
		length time.Duration
		want   float64
	}{
		{"a week of days, not their mean of 60", []string{"60", "60", "60", "60", "60", "70", "50"}, 24 * h, 7 * 24 * time.Hour, 63.339},
		{"day and evening make sixteen hours", append(slices.Repeat([]string{"62.4"}, 12), slices.Repeat([]string{"58.1"}, 4)...), h, 16 * time.Hour, 61.658},
		{"66 dB for 165 min of twelve hours, the rest 45 dB", append(slices.Repeat([]string{"66.0"}, 11), slices.Repeat([]string{"45.0"}, 37)...), 15 * minute, 12 * time.Hour, 59.716},
		{"a night judged by quarters: the loud one", []string{"47"}, 15 * minute, 15 * time.Minute, 47},
		{"and not by its hour", []string{"38", "38", "38", "47"}, 15 * minute, time.Hour, 42.371},
		{"the windy quarter kept", []string{"52", "53", "64", "54"}, 15 * minute, time.Hour, 58.922},
		{"three minutes of 62 dB in a quarter", append(slices.Repeat([]string{"62"}, 3), slices.Repeat([]string{"0"}, 12)...), minute, 15 * time.Minute, 55.0103}, // with 0 dB as a stated silence
		{"the same in an hour", append(slices.Repeat([]string{"62"}, 3), slices.Repeat([]string{"0"}, 57)...), minute, time.Hour, 48.990},
		{"plant off for two hours of twelve, a stated fact", slices.Concat(slices.Repeat([]string{"0.0"}, 2), slices.Repeat([]string{"59.0"}, 6), slices.Repeat([]string{"54.0"}, 4)), h, 12 * time.Hour, 56.820}, // Royal Decree 1367/2007 (Spain), annex IV, worked sample: 57 in whole dB
		{"plant off for half the evening", []string{"54.0", "54.0", "0.0", "0.0"}, h, 4 * time.Hour, 50.990},                                                                                                      // the same: 51
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			r := one(t, readings(t, day, c.spanMs, c.values...), span(t, day, c.length), Request{Stat: EnergyMean})
			near(t, "energy mean", r.Value, c.want, 0.0006)
			if r.Coverage != 1 {
				t.Errorf("coverage %v", r.Coverage)
			}
		})
	}
}

// TestWhatAGapIsNot: the same silence missing instead of stated changes the
// answer, and is told from it by its coverage.
func TestWhatAGapIsNot(t *testing.T) {
	day := "2026-06-10T07:00:00Z"
	values := slices.Concat(slices.Repeat([]string{""}, 2), slices.Repeat([]string{"59.0"}, 6), slices.Repeat([]string{"54.0"}, 4))
	r := one(t, readings(t, day, 60*minute, values...), span(t, day, 12*time.Hour), Request{Stat: EnergyMean})
	near(t, "of what is on file", r.Value, 57.612, 0.0005) // 56.820 + 10 lg(12/10), by hand
	if r.Covers(dec(t, "84")) || !r.Covers(dec(t, "83")) {
		t.Errorf("coverage %v", r.Coverage)
	}
}

// TestLouderOfAll: maxima are not averaged, 77.7 would be.
func TestLouderOfAll(t *testing.T) {
	if r := one(t, readings(t, ten, 20*minute, "71", "74", "88"), span(t, ten, time.Hour), Request{Stat: Maximum}); r.Value != 88 {
		t.Errorf("got %v", r.Value)
	}
}

// TestDustDay: one day of hourly PM10, µg/m³, averaged by number (Directive
// 2008/50/EC, annex XI: 24-hour mean; three quarters of the hours are needed):
// computed apart in Python. Missing hours are no zeros.
func TestDustDay(t *testing.T) {
	day := "2026-06-10T00:00:00Z"
	full := slices.Concat(slices.Repeat([]string{"20"}, 6), []string{"35", "60", "120", "190", "210", "180", "90", "75", "60", "55", "40", "35", "30"}, slices.Repeat([]string{"22"}, 5))
	for _, c := range []struct {
		name   string
		values []string
		want   float64
		valid  bool
	}{
		{"whole", full, 58.75, true},
		{"five hours missing are not zero", full[:19], 68.421, true}, // 54.167 with zeros
		{"seventeen hours are too few", full[:17], 72.647, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := one(t, readings(t, day, 60*minute, c.values...), span(t, day, 24*time.Hour), Request{Stat: ArithmeticMean})
			near(t, "mean", r.Value, c.want, 0.0005)
			if r.Covers(dec(t, "75")) != c.valid {
				t.Errorf("coverage %v", r.Coverage)
			}
			if unit.Compare(r.Value, dec(t, "50")) != 1 {
				t.Errorf("%v is no exceedance of 50", r.Value)
			}
		})
	}
	if r := one(t, readings(t, day, 15*minute, "100", "120", "300", "310"), span(t, day, time.Hour), Request{Stat: ArithmeticMean}); r.Value != 207.5 {
		t.Errorf("an hour of quarters: %v", r.Value)
	}
}
