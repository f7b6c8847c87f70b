package noise

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestAirAbsorption(t *testing.T) {
	for _, tt := range []struct {
		name  string
		air   Air
		want  Bands
		print bool // as ISO 9613-2, table 2 prints it (as transcribed): to its last digit
	}{
		{"NV-39 10 °C, 70 %, by the formula of ISO 9613-1", UsualAir, Bands{0.122, 0.411, 1.043, 1.928, 3.658, 9.664, 32.770, 116.882}, false},
		{"NV-39 table 2, 10 °C, 70 %", Air{10, 70, 101.325}, Bands{0.1, 0.4, 1.0, 1.9, 3.7, 9.7, 32.8, 117}, true},
		{"table 2, 20 °C, 70 %", Air{20, 70, 101.325}, Bands{0.1, 0.3, 1.1, 2.8, 5.0, 9.0, 22.9, 76.6}, true},
		{"table 2, 30 °C, 70 %", Air{30, 70, 101.325}, Bands{0.1, 0.3, 1.0, 3.1, 7.4, 12.7, 23.1, 59.3}, true},
		{"table 2, 15 °C, 20 %", Air{15, 20, 101.325}, Bands{0.3, 0.6, 1.2, 2.7, 8.2, 28.2, 88.8, 202}, true},
		{"table 2, 15 °C, 50 %", Air{15, 50, 101.325}, Bands{0.1, 0.5, 1.2, 2.2, 4.2, 10.8, 36.2, 129}, true},
		// At 1 kHz the print says 4.1 and the formula gives 4.15.
		{"table 2, 15 °C, 80 %", Air{15, 80, 101.325}, Bands{0.1, 0.3, 1.1, 2.4, 4.15, 8.3, 23.7, 82.8}, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := tt.air.Absorption()
			if err != nil {
				t.Fatal(err)
			}
			for i, want := range tt.want {
				to := 0.0006
				switch {
				case tt.print && want >= 100:
					to = 0.51
				case tt.print:
					to = 0.051
				}
				near(t, "dB/km", got[i], want, to)
			}
		})
	}
	alpha, err := UsualAir.Absorption()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "500 m at 1 kHz (the table's 3.7 dB/km)", alpha[4]/2, 1.85, 0.025)
	near(t, "500 m at 8 kHz", alpha[7]/2, 58.5, 0.1)
	for _, bad := range []Air{{-40, 70, 101}, {10, 5, 101}, {10, 70, 0}, {math.NaN(), 70, 101}} {
		if _, err := bad.Absorption(); !errors.Is(err, ErrAir) {
			t.Errorf("%+v absorbs", bad)
		}
	}
}

func TestSoftGround(t *testing.T) {
	near(t, "soft ground, 2 m, 200 m (equation from memory)", GroundOnWeighted(2, 200), 4.430, 0.0005)
	near(t, "soft ground, 2 m, 100 m (equation from memory)", GroundOnWeighted(2, 100), 4.000, 0.0005)
	near(t, "high above the ground it takes nothing off", GroundOnWeighted(30, 100), 0, 1e-9)
}

func TestWall(t *testing.T) {
	w := Wall{Source: 1.5, Receiver: 1.5, Height: 3, FromSource: 10, ToReceiver: 90}
	z, toTop, fromTop, straight, err := w.Detour()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NV-40 detour", z, 0.12437, 0.000005)
	near(t, "NV-40 weather", math.Exp(-math.Sqrt(toTop*fromTop*straight/(2*z))/2000), 0.73900, 0.000005)
	got, err := w.Screening()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range (Bands{5.238, 5.654, 6.387, 7.561, 9.246, 11.403, 13.914, 16.651}) {
		near(t, "NV-40 by octave band (equation from memory)", got[i], want, 0.0006)
	}
	high := w
	high.Height = 40
	if got, err := high.Screening(); err != nil || got[7] != 20 {
		t.Errorf("one edge takes off at most 20 dB: %v %v", got, err)
	}
	low := w
	low.Height = 1
	if got, err := low.Screening(); err != nil || got != (Bands{}) {
		t.Errorf("a wall below the straight way takes off %v: %v", got, err)
	}
	if _, err := (Wall{Height: 3}).Screening(); err == nil {
		t.Error("a wall at no distance screens")
	}
}

func TestFTABarrier(t *testing.T) {
	// FTA manual, 2006, example 6-5: path difference 0.96 ft, attenuation 12.8 dB,
	// insertion loss 11.4 dB as printed.
	near(t, "NV-37 detour", 40.61+130.38-170.03, 0.96, 0.0001)
	a, il, err := FTABarrier(40.61, 130.38, 170.03, 0.63, 0.37)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NV-37 attenuation as printed", a, 12.8, 0.05)
	near(t, "NV-37 insertion loss as printed", il, 11.4, 0.05)
	near(t, "NV-37 attenuation", a, 12.819, 0.0005)
	near(t, "NV-37 insertion loss", il, 11.437, 0.0005)
	if _, _, err := FTABarrier(10, 10, 20, 0, 0); err == nil {
		t.Error("a barrier below the way attenuates")
	}
}

// Levels of machines at 10 m by octave band and as a whole: BS 5228-1, annex C, as
// transcribed; the sums were worked out apart from this program.
func TestAWeightedSums(t *testing.T) {
	for _, tt := range []struct {
		name    string
		bands   Bands
		printed float64
		sum     float64
	}{
		{"tracked excavator, C.2/19", Bands{95, 84, 79, 73, 70, 68, 64, 57}, 77, 77.49},
		{"tracked excavator, C.2/23", Bands{79, 81, 68, 69, 66, 65, 61, 52}, 73, 72.51},
		{"wheeled backhoe loader, C.2/8", Bands{74, 66, 64, 64, 63, 60, 59, 50}, 68, 67.85},
		{"wheeled loader, C.2/27", Bands{85, 83, 76, 75, 75, 72, 72, 61}, 80, 79.99},
		{"articulated dump truck, C.2/32", Bands{80, 76, 73, 70, 69, 66, 63, 58}, 74, 73.97},
		{"vibratory roller drive-by, C.2/39", Bands{88, 83, 69, 68, 67, 65, 62, 59}, 74, 73.49},
		{"concrete mixer truck, C.4/20", Bands{83, 74, 66, 69, 70, 78, 60, 55}, 80, 80.01},
		{"truck-mounted concrete pump, C.4/29", Bands{83, 77, 75, 75, 74, 75, 67, 63}, 80, 79.82},
		{"breaker on backhoe, C.1/1", Bands{79, 82, 81, 82, 86, 86, 86, 85}, 92, 92.47},
		{"diesel generator, C.4/76", Bands{80, 74, 57, 54, 53, 48, 45, 37}, 61, 61.37},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got := tt.bands.AWeighted()
			near(t, "sum", got, tt.sum, 0.005)
			near(t, "as printed", got, tt.printed, 0.52)
		})
	}
}

func TestOutdoorMethod(t *testing.T) {
	bands := Bands{95, 84, 79, 73, 70, 68, 64, 57}
	plant := func(distance float64) Plant {
		return Plant{Name: "excavator", Octaves: &bands, Distance: distance, OnTime: 0.5}
	}
	got, err := Predict(Outdoor, []Plant{plant(200)}, false)
	if err != nil {
		t.Fatal(err)
	}
	// Worked out band by band apart from this program: spreading -26.021, air by
	// table values over 190 m, half of the time.
	alpha, err := UsualAir.Absorption()
	if err != nil {
		t.Fatal(err)
	}
	want := 0.0
	for i, l := range bands {
		want += math.Pow(10, (l+aWeights[i]-alpha[i]*0.19-26.0206-3.0103)/10)
	}
	near(t, "level", got.DB, 10*math.Log10(want), 0.0005)
	sum := 0.0
	for _, term := range got.Each[0].Terms {
		sum += term.DB
	}
	near(t, "the terms add up to it", sum, got.DB, 1e-9)

	wall := plant(200)
	wall.Wall, wall.PathHeight = &Wall{Source: 1.5, Receiver: 1.5, Height: 4, FromSource: 10, ToReceiver: 190}, 2
	screened, err := Predict(Outdoor, []Plant{wall}, false)
	if err != nil || screened.DB >= got.DB-4.43 {
		t.Errorf("a wall leaves %v of %v: %v", screened, got.DB, err)
	}
	for name, p := range map[string]Plant{
		"no octave bands":   {Level: 77, Distance: 100, OnTime: 1},
		"screening in dB":   {Octaves: &bands, Distance: 100, OnTime: 1, Screen: 5},
		"share of soft":     {Octaves: &bands, Distance: 100, OnTime: 1, Soft: 0.5},
		"haul road":         {Octaves: &bands, Distance: 100, OnTime: 1, Road: &Road{}},
		"wall at its place": {Octaves: &bands, Distance: 100, OnTime: 1, Wall: &Wall{}},
	} {
		if got, err := Predict(Outdoor, []Plant{p}, false); err == nil {
			t.Errorf("%s: %v", name, got.DB)
		}
	}
	if _, err := PredictThrough(Air{10, 0, 101}, Outdoor, []Plant{plant(50)}, false); !errors.Is(err, ErrAir) {
		t.Errorf("dry air: %v", err)
	}
}

func TestFartherIsNeverLouder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var bands Bands
		for i := range bands {
			bands[i] = rapid.Float64Range(30, 110).Draw(t, "band")
		}
		near := rapid.Float64Range(10, 800).Draw(t, "near")
		far := near + rapid.Float64Range(0, 800).Draw(t, "farther")
		at := func(d float64) float64 {
			got, err := Predict(Outdoor, []Plant{{Octaves: &bands, Distance: d, OnTime: 1, PathHeight: 2}}, false)
			if err != nil {
				t.Fatal(err)
			}
			return got.DB
		}
		if at(far) > at(near)+1e-9 {
			t.Errorf("%v m %v dB, %v m %v dB", near, at(near), far, at(far))
		}
	})
}

func TestGreatestLevelsAreNoMeans(t *testing.T) {
	roller := Plant{Name: "roller drive-by", Level: 74, Distance: 10, OnTime: 1, Max: true}
	excavator := Plant{Name: "excavator", Level: 77, Distance: 10, OnTime: 1}
	if got, err := Predict(Activity, []Plant{excavator, roller}, false); !errors.Is(err, errMixed) {
		t.Errorf("T25 a greatest level is added to a mean: %v", got)
	}
	other := roller
	other.Level, other.OnTime = 80, 0.1
	got, err := Predict(Activity, []Plant{roller, other}, false)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "T25 of greatest levels the greatest, however seldom", got.DB, 80, 1e-9)
	// FHWA handbook of 2006: total Lmax is the largest single one.
	at := func(name string, level, feet float64) Plant {
		return Plant{Name: name, Level: level, Distance: feet * 0.3048, OnTime: 0.4, Max: true}
	}
	got, err = Predict(Usage, []Plant{at("excavator", 81, 200), at("dump truck", 76, 200), at("generator", 81, 300), at("pump", 81, 150)}, false)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "NV-36 total Lmax", got.DB, 71.458, 0.0005)
}

func TestFeetAndMetres(t *testing.T) {
	near(t, "T21 50 ft to 10 m", At10(80)-80, 3.660, 0.0005)
}

func TestSignificance(t *testing.T) {
	for _, tt := range []struct {
		name             string
		ambient, rounded float64
		letter           string
		threshold        float64
	}{
		{"NV-41 62.4", 62.4, 60, "A", 65}, {"NV-41 63.4", 63.4, 65, "B", 70}, {"NV-41 67.4", 67.4, 65, "B", 70},
		{"NV-41 67.5", 67.5, 70, "C", 75}, {"NV-41 T27 62.5 is 65, and 60 only by rounding half to even", 62.5, 65, "B", 70},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, err := CategoryOf(tt.ambient, Day)
			if err != nil || c.Rounded != tt.rounded || c.Letter != tt.letter || c.Threshold != tt.threshold {
				t.Errorf("%+v %v", c, err)
			}
		})
	}
	for _, tt := range []struct {
		name          string
		ambient, site float64
		total, rise   float64
		category      bool
	}{
		{"NV-42 above the table, 78 and 78", 78, 78, 81.010, 3.010, true},
		{"NV-42 above the table, 78 and 77.9", 78, 77.9, 80.961, 2.961, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Signify(tt.site, tt.ambient, Day)
			if err != nil || s.ByCategory != tt.category || !s.AboveTable {
				t.Fatalf("%+v %v", s, err)
			}
			near(t, "total", s.Total, tt.total, 0.0006)
			near(t, "rise", s.Rise, tt.rise, 0.0006)
		})
	}
	for _, tt := range []struct {
		name          string
		ambient, site float64
		total, rise   float64
		significant   bool
	}{
		{"NV-44", 61, 66, 67.193, 6.193, true}, {"NV-45 the site is below 65", 50, 60, 60.414, 10.414, false}, {"NV-46", 64, 67.5, 69.104, 5.104, true},
		{"NV-47", 64, 67.2, 68.899, 4.899, false}, {"NV-48 64.9 is below 65, and is not rounded first", 58, 64.9, 65.707, 7.707, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Signify(tt.site, tt.ambient, Day)
			if err != nil || s.ByRise != tt.significant {
				t.Fatalf("%+v %v", s, err)
			}
			near(t, "total", s.Total, tt.total, 0.0006)
			near(t, "rise", s.Rise, tt.rise, 0.0006)
		})
	}
	if _, err := Signify(60, 50, "tea time"); err == nil {
		t.Error("a period nobody knows has thresholds")
	}
	if !Eligible([]int{1, 2, 3, 4, 5, 8, 9, 10, 11, 15}) {
		t.Error("NV-43 ten days within 15")
	}
	if Eligible([]int{1, 2, 3, 4, 5, 8, 9, 10, 11, 16}) {
		t.Error("NV-43 ten days within 16")
	}
	var many []int
	for i := range 41 {
		many = append(many, i*4)
	}
	if !Eligible(many) || Eligible(many[:40]) {
		t.Error("more than 40 days within six months")
	}
}
