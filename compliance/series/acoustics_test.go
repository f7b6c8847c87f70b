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
		{"NV-22 a week of days, not their mean of 60", []string{"60", "60", "60", "60", "60", "70", "50"}, 24 * h, 7 * 24 * time.Hour, 63.339},
		{"NV-20 day and evening make sixteen hours", append(slices.Repeat([]string{"62.4"}, 12), slices.Repeat([]string{"58.1"}, 4)...), h, 16 * time.Hour, 61.658},
		{"NV-23 66 dB for 165 min of twelve hours, the rest 45 dB", append(slices.Repeat([]string{"66.0"}, 11), slices.Repeat([]string{"45.0"}, 37)...), 15 * minute, 12 * time.Hour, 59.716},
		{"T20 a night judged by quarters: the loud one", []string{"47"}, 15 * minute, 15 * time.Minute, 47},
		{"T20 and not by its hour", []string{"38", "38", "38", "47"}, 15 * minute, time.Hour, 42.371},
		{"NV-53 the windy quarter kept", []string{"52", "53", "64", "54"}, 15 * minute, time.Hour, 58.922},
		{"NV-29 three minutes of 62 dB in a quarter", append(slices.Repeat([]string{"62"}, 3), slices.Repeat([]string{"0"}, 12)...), minute, 15 * time.Minute, 55.0103}, // with 0 dB as a stated silence
		{"NV-29 the same in an hour", append(slices.Repeat([]string{"62"}, 3), slices.Repeat([]string{"0"}, 57)...), minute, time.Hour, 48.990},
		{"NV-7 plant off for two hours of twelve, a stated fact", slices.Concat(slices.Repeat([]string{"0.0"}, 2), slices.Repeat([]string{"59.0"}, 6), slices.Repeat([]string{"54.0"}, 4)), h, 12 * time.Hour, 56.820}, // Royal Decree 1367/2007 (Spain), annex IV, worked sample: 57 in whole dB
		{"NV-7 plant off for half the evening", []string{"54.0", "54.0", "0.0", "0.0"}, h, 4 * time.Hour, 50.990},                                                                                                      // the same: 51
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
	t.Run("T17 the greatest of maxima", func(t *testing.T) {
		if r := one(t, readings(t, ten, 20*minute, "71", "74", "88"), span(t, ten, time.Hour), Request{Stat: Maximum}); r.Value != 88 {
			t.Errorf("got %v", r.Value)
		}
	})
}

// TestGapsCount: T2 a missing quarter leaves 60 dB with three quarters covered,
// and is told from a quiet one; T14 one event over nights of seven, eight and nine
// hours; NV-51 44 minutes of an hour are too few, 45 are enough, and what the
// missing quarter may do. Computed apart in Python.
func TestGapsCount(t *testing.T) {
	hour := span(t, ten, time.Hour)
	t.Run("T2 missing is not zero", func(t *testing.T) {
		r := one(t, readings(t, ten, 15*minute, "60", "60", "60"), hour, Request{Stat: EnergyMean})
		near(t, "of what is on file", r.Value, 60, 1e-9)
		near(t, "with silence, which is no answer but a bound", r.LeastEnergyMean, 58.751, 0.0005)
		if r.Coverage != 0.75 {
			t.Errorf("coverage %v", r.Coverage)
		}
	})
	// 70 dB for 400 s, LAE 96.02 dB, and silence stated as 0 dB for the rest.
	night := period(t, "shift 23:00-07:00")
	for _, c := range []struct {
		name, at string
		hours    int
		want     float64
	}{
		{"T14 a night of seven hours", "2026-03-29T00:00:00Z", 7, 52.007},
		{"T14 a night of eight hours", "2026-06-11T00:00:00Z", 8, 51.427},
		{"T14 a night of nine hours", "2026-10-25T00:30:00Z", 9, 50.915},
	} {
		t.Run(c.name, func(t *testing.T) {
			w, err := night.At(time.UnixMilli(ms0(t, c.at)), zone(t, "Europe/London"))
			if err != nil || w.Length() != time.Duration(c.hours)*time.Hour {
				t.Fatalf("%v, %v", w, err)
			}
			values := append(slices.Repeat([]string{"70"}, 4), slices.Repeat([]string{"0"}, 36*c.hours-4)...)
			r := one(t, readings(t, w.From.UTC().Format(time.RFC3339), 100_000, values...), w, Request{Stat: EnergyMean})
			near(t, "night", r.Value, c.want, 0.0006)
			if r.WindowMs != int64(c.hours)*3_600_000 || r.Coverage != 1 {
				t.Errorf("%d ms, coverage %v", r.WindowMs, r.Coverage)
			}
		})
	}
	for _, c := range []struct {
		name   string
		values []string
		want   float64
		enough bool
	}{
		{"NV-51 44 of 60 minutes", slices.Repeat([]string{"60"}, 44), 60, false},
		{"NV-51 45 of 60 minutes", slices.Repeat([]string{"60"}, 45), 60, true},
		{"NV-51 the missing quarter at 45 dB", slices.Concat(slices.Repeat([]string{"60"}, 45), slices.Repeat([]string{"45"}, 15)), 58.796, true},
		{"NV-51 the missing quarter at 75 dB", slices.Concat(slices.Repeat([]string{"60"}, 45), slices.Repeat([]string{"75"}, 15)), 69.373, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := one(t, readings(t, ten, minute, c.values...), hour, Request{Stat: EnergyMean})
			near(t, "energy mean", r.Value, c.want, 0.0005)
			if r.Covers(dec(t, "75")) != c.enough {
				t.Errorf("coverage %v", r.Coverage)
			}
		})
	}
}

// TestDustDay: one day of hourly PM10, µg/m³, averaged by number (Directive
// 2008/50/EC: 24-hour mean; that three quarters of the hours are needed as in its
// annex VII is from memory of its annex XI):
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
		{"NV-67 whole: over 50", full, 58.75, true},
		{"NV-67 five hours missing are not zero", full[:19], 68.421, true}, // 54.167 with zeros
		{"NV-67 seventeen hours are too few", full[:17], 72.647, false},
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
		t.Errorf("NV-68 an hour of quarters: %v", r.Value)
	}
}

// TestRanksOfHalves: NV-15, sample set S of NV-9 in two halves. The L90 and L10 of
// the whole do not follow from those of the halves, whatever mean is taken: they
// are made from the readings. Computed apart in Python, linear rank.
func TestRanksOfHalves(t *testing.T) {
	s := []string{"52.1", "48.3", "47.9", "60.4", "55.2", "49.0", "48.8", "71.5", "50.3", "47.2", "46.9", "48.1", "53.7", "66.2", "49.5", "47.5", "48.6", "51.0", "58.9", "50.1"}
	blocks := readings(t, ten, 3*minute, s...)
	halves := []struct {
		name     string
		from     string
		length   time.Duration
		l90, l10 float64
	}{
		{"NV-15 first half", ten, 30 * time.Minute, 47.83, 61.51},
		{"NV-15 second half", "2026-06-10T10:30:00Z", 30 * time.Minute, 47.44, 59.63},
		{"NV-15 T16 whole, not the mean of 47.635 nor of 60.57", ten, time.Hour, 47.470, 60.980},
	}
	for _, c := range halves {
		t.Run(c.name, func(t *testing.T) {
			for q, want := range map[string]float64{"10": c.l90, "90": c.l10} {
				r := one(t, blocks, span(t, c.from, c.length), Request{Stat: Percentile, Percentile: dec(t, q), Rank: Linear})
				near(t, "percentile "+q, r.Value, want, 0.0005)
			}
		})
	}
}
