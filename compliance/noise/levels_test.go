package noise

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// near holds a figure against one that was worked out apart from this program
// (in Python, double precision), or that a document prints, to half its last
// digit.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: got %.6f, want %v", what, got, want)
	}
}

func TestSumOfLevels(t *testing.T) {
	for _, tt := range []struct {
		name   string
		levels []float64
		want   float64
		to     float64
	}{
		{"NV-2 70 and 70", []float64{70, 70}, 73.010, 0.0005},
		{"NV-2 70 and 67", []float64{70, 67}, 71.764, 0.0005},
		{"NV-2 70 and 64", []float64{70, 64}, 70.973, 0.0005},
		{"NV-2 70 and 60", []float64{70, 60}, 70.414, 0.0005},
		{"NV-3 four of 60", []float64{60, 60, 60, 60}, 66.021, 0.0005},
		{"NV-3 ten of 60", []float64{60, 60, 60, 60, 60, 60, 60, 60, 60, 60}, 70.000, 0.0005},
		{"NV-3 three unequal", []float64{55, 52.3, 49.8}, 57.646, 0.0005},
		{"NV-4 FTA manual 2006, example 6-6, Leq, as printed", []float64{72, 69}, 73.8, 0.05},
		{"NV-4 the same, computed", []float64{72, 69}, 73.764, 0.0005},
		{"NV-4 FTA manual 2006, example 6-6, Ldn, as printed", []float64{68, 70}, 72.1, 0.05},
		{"NV-4 the same, computed", []float64{68, 70}, 72.124, 0.0005},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Sum(tt.levels...)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "sum", got, tt.want, tt.to)
		})
	}
	for _, bad := range [][]float64{nil, {60, math.NaN()}, {math.Inf(-1)}} {
		if got, err := Sum(bad...); err == nil {
			t.Errorf("%v adds up to %v", bad, got)
		}
	}
}

// The rule of 3 and 10 dB is common practice (BS 4142, ISO 1996-2; not checked).
func TestBackgroundTakenOut(t *testing.T) {
	for _, tt := range []struct {
		name              string
		total, background float64
		want              float64
		how               Correction
	}{
		{"NV-5 background 4 dB lower", 58, 54, 55.795, Corrected},
		{"NV-5 background 3 dB lower, the limit of validity", 58, 55, 54.979, Corrected},
		{"NV-5 background 6 dB lower", 58, 52, 56.744, Corrected},
		{"NV-5 background 10 dB lower", 58, 48, 57.542, Corrected},
		{"background more than 10 dB lower", 58, 47, 57.6406, NothingToTake},
		{"NV-6 background 1 dB lower: 53.132 dB by the formula, and no result", 60, 59, 0, NotDeterminable},
		{"background as high", 60, 60, 0, NotDeterminable},
		{"background higher", 60, 61, 0, NotDeterminable},
		{"no level", math.NaN(), 50, 0, NotDeterminable},
		{"T19 limit on the site's noise, residual of 54 in 58", 58, 54, 55.795, Corrected},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, how := Without(tt.total, tt.background)
			if how != tt.how {
				t.Fatalf("%s", how)
			}
			near(t, "alone", got, tt.want, 0.0005)
		})
	}
}

func TestTakingOutWhatWasAdded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		site := rapid.Float64Range(20, 120).Draw(t, "site")
		background := site - rapid.Float64Range(0.1, 30).Draw(t, "below")
		total, err := Sum(site, background)
		if err != nil {
			t.Fatal(err)
		}
		got, how := Without(total, background)
		if how != NotDeterminable && math.Abs(got-site) > 1e-6 {
			t.Errorf("%v in %v comes out as %v", site, total, got)
		}
	})
}

func TestUncertainty(t *testing.T) {
	u, expanded := CombinedUncertainty(0.59, 0.3, 2.0, 0.40, 0.38)
	near(t, "NV-8 ISO 1996-2, G.2, as transcribed", u, 2.18, 0.005)
	near(t, "NV-8 expanded, as transcribed", expanded, 4.36, 0.005)
	near(t, "NV-8 computed", u, 2.1777, 0.00005)
	near(t, "NV-8 expanded, computed", expanded, 4.3555, 0.00005)
}

func TestSlope(t *testing.T) {
	got := SlopeDistance(50, 20)
	near(t, "NV-33 slope distance", got, 53.852, 0.0005)
	near(t, "NV-33 lower than by the plan distance by", 20*math.Log10(got/50), 0.645, 0.0005)
}

func TestImpulseProminence(t *testing.T) {
	for _, tt := range []struct {
		name           string
		rate, level    float64
		p, k           float64
		pPrint, kPrint float64
	}{
		{"NV-30 1000 dB/s, 30 dB", 1000, 30, 11.954, 12.518, 0, 0},
		{"NV-30 1200 dB/s, 32 dB, printed 12.25 and 13.0", 1200, 32, 12.248, 13.046, 12.25, 13.0},
		{"too little to count", 10, 10, 5, 0, 0, 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p, k, err := ImpulseProminence(tt.rate, tt.level)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "prominence", p, tt.p, 0.0005)
			near(t, "adjustment", k, tt.k, 0.0006)
			if tt.pPrint > 0 {
				near(t, "prominence as printed", p, tt.pPrint, 0.005)
				near(t, "adjustment as printed", k, tt.kPrint, 0.05)
			}
		})
	}
	if _, _, err := ImpulseProminence(0, 30); err == nil {
		t.Error("an onset rate of nothing has a prominence")
	}
}

func TestRating(t *testing.T) {
	r, err := Rate(51.2, 47.9, 42, 4, 3)
	if err != nil || r.Correction != Corrected {
		t.Fatal(err, r.Correction)
	}
	near(t, "NV-50 specific", r.Specific, 48.461, 0.0005)
	near(t, "NV-50 rating", r.Rating, 55.461, 0.0005)
	near(t, "NV-50 over the background", r.Excess, 13.461, 0.0005)
	if _, err := Rate(50, 48, 42); err == nil {
		t.Error("a source that can hardly be told from the rest is rated")
	}
}

func TestLimitFollowsBackground(t *testing.T) {
	for _, tt := range []struct {
		name              string
		background, floor float64
		want              float64
	}{
		{"NV-49 background 38", 38, 0, 48},
		{"NV-49 background 47, capped", 47, 0, 55},
		{"NV-49 background 33, by the lesser of the two", 33, 0, 43},
		{"NV-49 background 33, by the older floor", 33, 45, 45},
	} {
		t.Run(tt.name, func(t *testing.T) {
			near(t, "limit", LimitFromBackground(tt.background, 10, 55, tt.floor), tt.want, 1e-9)
		})
	}
}

func TestExposure(t *testing.T) {
	get := func(v float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	const to = 0.0005
	near(t, "NV-25 70 dB for 20 s", get(ExposureLevel(70, 20*time.Second)), 83.010, to)
	near(t, "NV-26 24 lorries an hour", get(OverPeriod(time.Hour, Events{82, 24})), 60.239, to)
	near(t, "NV-26 24 in 8 h", get(OverPeriod(8*time.Hour, Events{82, 24})), 51.208, to)
	near(t, "NV-26 192 in 16 h", get(OverPeriod(16*time.Hour, Events{82, 192})), 57.229, to)
	near(t, "NV-27 24 of 82 and 6 of 88", get(OverPeriod(time.Hour, Events{82, 24}, Events{88, 6})), 63.239, to)
	near(t, "NV-24 65 dB for 10 h of 12 h", get(PartOfPeriod(65, 10*time.Hour, 12*time.Hour)), 64.208, to)
	near(t, "NV-28 generator, 3.5 h of 10 h", get(PartOfPeriod(70, 3*time.Hour+30*time.Minute, 10*time.Hour)), 65.441, to)
	near(t, "NV-29 3 min in 15 min", get(PartOfPeriod(62, 3*time.Minute, 15*time.Minute)), 55.010, to)
	near(t, "NV-29 3 min in 1 h", get(PartOfPeriod(62, 3*time.Minute, time.Hour)), 48.990, to)
	for hours, want := range map[int]float64{7: 52.007, 8: 51.427, 9: 50.915} {
		near(t, "T14 an event of 96.02 dB in a night of the clock change", get(OverPeriod(time.Duration(hours)*time.Hour, Events{96.02, 1})), want, 0.0015) // the event is told to two decimals
	}
	for name, err := range map[string]error{
		"no time":                second(ExposureLevel(70, 0)),
		"no event":               second(OverPeriod(time.Hour)),
		"fewer events than 0":    second(OverPeriod(time.Hour, Events{80, -1})),
		"a part above the whole": second(PartOfPeriod(60, 2*time.Hour, time.Hour)),
	} {
		if err == nil {
			t.Errorf("%s has a level", name)
		}
	}
}

func second(_ float64, err error) error { return err }

func TestDayEveningNight(t *testing.T) {
	for _, tt := range []struct {
		name                string
		parts               Parts
		day, evening, night float64
		want                float64
	}{
		{"NV-16", DayEveningNight, 60, 55, 50, 60.000},
		{"NV-17 12/4/8", DayEveningNight, 62.4, 58.1, 51.7, 62.310},
		{"NV-17 evening an hour shorter, 13/3/8", Parts{13, 3, 8}, 62.4, 58.1, 51.7, 62.278},
		{"NV-17 evening two hours shorter, 14/2/8", Parts{14, 2, 8}, 62.4, 58.1, 51.7, 62.245},
		{"NV-18 60 all day, Lden", DayEveningNight, 60, 60, 60, 66.395},
		{"NV-18 60 all day, Ldn", DayNight, 60, 0, 60, 66.410},
		{"NV-19 Ldn of 60 and 50", DayNight, 60, 0, 50, 60.000},
		{"NV-19 Ldn of 62 and 54", DayNight, 62, 0, 54, 62.861},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.parts.DENLevel(Level(tt.day), Level(tt.evening), Level(tt.night))
			if err != nil {
				t.Fatal(err)
			}
			near(t, "level", got, tt.want, 0.0005)
		})
	}
	flat, err := DayEveningNight.Equivalent(Level(62.4), Level(58.1), Level(51.7))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NV-17 without penalties", flat, 60.111, 0.0005)

	t.Run("NV-21 a missing evening is not silence: 59.208 would be wrong", func(t *testing.T) {
		got, err := DayEveningNight.DENLevel(Level(60), Known{}, Level(50))
		var missing *MissingError
		if !errors.As(err, &missing) || missing.Part != "evening" {
			t.Errorf("%v %v", got, err)
		}
	})
	t.Run("NV-38 80 dB while on, 10 h of the day", func(t *testing.T) {
		day, err := PartOfPeriod(80, 10*time.Hour, 15*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		// The night is silent by what is on record: its energy is nothing.
		quiet, err := DayNight.DENLevel(Level(day), Known{}, Level(math.Inf(-1)))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Ldn", quiet, 76.198, 0.0005)
		night, err := PartOfPeriod(80, 2*time.Hour, 9*time.Hour)
		if err != nil {
			t.Fatal(err)
		}
		both, err := DayNight.DENLevel(Level(day), Known{}, Level(night))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Ldn with 2 h of the night", both, 80.969, 0.0005)
	})
	if _, err := (Parts{12, 4, 9}).DENLevel(Level(60), Level(60), Level(60)); err == nil {
		t.Error("a day of 25 hours has a level")
	}
}
