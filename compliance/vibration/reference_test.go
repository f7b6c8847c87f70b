package vibration

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// close holds a figure against one worked out apart from this program (Python,
// double precision) or printed in the document named.
func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: got %.6f, want %v", what, got, want)
	}
}

func TestAirOverpressure(t *testing.T) {
	for _, tt := range []struct{ db, pa, psi float64 }{
		{105, 3.557, .00052}, {111, 7.096, .00103}, {120, 20.00, .00290}, {125, 35.57, .00516}, {128, 50.24, .00729}, {129, 56.37, .00818},
		{130, 63.25, .00917}, {133, 89.34, .01296}, {134, 100.24, .01454}, {140, 200.0, .02901}, {150, 632.5, .09173}, {152, 796.2, .11548},
	} {
		within(t, "NV-54 Pa", PeakPressure(tt.db)/tt.pa, 1, 0.0003)
		within(t, "NV-54 psi", PSI(PeakPressure(tt.db)), tt.psi, 0.000005)
	}
	for pa, db := range map[float64]float64{1: 93.98, 100: 133.98, 200: 140.00} {
		got, err := PeakLevel(pa)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "NV-54 dB", got, db, 0.005)
	}
	// California DOT manual, 2013: 151, 131 and 111 dB at 0.1, 0.01 and 0.001 psi.
	for psi, db := range map[float64]float64{0.1: 151, 0.01: 131, 0.001: 111} {
		got, err := PeakLevel(FromPSI(psi))
		if err != nil {
			t.Fatal(err)
		}
		within(t, "NV-54 as the manual prints it", got, db, 0.5)
	}
	if _, err := PeakLevel(0); err == nil {
		t.Error("no pressure has a level")
	}
}

func TestLevelsAndPressuresTurnBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		db := rapid.Float64Range(60, 180).Draw(t, "dB")
		got, err := PeakLevel(PeakPressure(db))
		if err != nil || math.Abs(got-db) > 1e-8 {
			t.Errorf("%v dB comes back as %v: %v", db, got, err)
		}
	})
}

func TestScaledDistanceLaws(t *testing.T) {
	within(t, "T21 ft/lb½ in a m/kg½", SquareRootFactor, 2.209622, 5e-7)
	within(t, "T21 ft/lb⅓ in a m/kg⅓", CubeRootFactor, 2.520811, 5e-7)
	// 400 ft and 64 lb: scaled distances 50 and 100.
	m, kg := 400*MetresPerFoot, 64*KilogramsPerPound
	square, cube := ScaledDistance(kg, m)*SquareRootFactor, CubeRootDistance(kg, m)*CubeRootFactor
	within(t, "NV-55 square root", square, 50, 1e-9)
	within(t, "NV-55 cube root", cube, 100, 1e-9)
	for _, tt := range []struct {
		law      PowerLaw
		ins, mms float64
	}{{PPVLeast, 0.0459, 1.166}, {PPVUpper, 0.4629, 11.757}, {PPVVeryConfined, 1.1572, 29.393}} {
		within(t, "NV-55 in/s", tt.law.At(square), tt.ins, 0.00005)
		within(t, "NV-55 mm/s, by the metric law", tt.law.Metric().At(ScaledDistance(kg, m)), tt.mms, 0.0005)
	}
	for _, tt := range []struct {
		law     PowerLaw
		psi, db float64
	}{{AirLeast, 0.003105, 120.59}, {AirConfined, 0.009953, 130.71}, {AirUnconfined, 0.32645, 161.03}} {
		psi := tt.law.At(cube)
		within(t, "NV-55 psi", psi/tt.psi, 1, 0.0002)
		db, err := PeakLevel(FromPSI(psi))
		if err != nil {
			t.Fatal(err)
		}
		within(t, "NV-55 dB", db, tt.db, 0.005)
	}
	for _, tt := range []struct {
		law  PowerLaw
		want float64
	}{{PPVUpper, 1728.78}, {PPVLeast, 171.45}, {CoalUpper, 3333.84}, {CoalMean, 905.77}} {
		within(t, "T21 the constant in mm/s, m and kg", tt.law.Metric().K, tt.want, 0.005)
	}
	// The coal-mine line, from memory, against the velocities of 30 CFR 816.67(d).
	for scaled, want := range map[float64]float64{50: 1.146, 55: 0.991, 65: 0.769} {
		within(t, "upper line of RI 8507, from memory", CoalUpper.At(scaled), want, 0.0005)
	}
	for scaled, want := range map[float64]float64{50: 22.628, 55: 24.891, 65: 29.417} {
		within(t, "T21 ft/lb½ as m/kg½", scaled/SquareRootFactor, want, 0.0005)
	}
	within(t, "upper bound of the vector sum; never taken for it", VectorBound(4.1, 3.2, 5.0), 7.215, 0.0005)
}

func TestBandsByDistance(t *testing.T) {
	for _, tt := range []struct {
		name      string
		feet      float64
		lb, speed float64
	}{
		{"NV-56 T22 at 300 ft", 300, 36.00, 1.25},
		{"NV-56 T22 just beyond", 300.001, 29.75, 1.00},
		{"NV-56 T22 at 301 ft: less than at 300", 301, 29.95, 1.00},
		{"NV-56 at 500 ft", 500, 82.64, 1.00},
		{"NV-56 at 1000 ft", 1000, 330.58, 1.00},
		{"NV-56 T22 at 5000 ft", 5000, 8264.46, 1.00},
		{"NV-56 T22 at 5001 ft", 5001, 5919.53, 0.75},
	} {
		t.Run(tt.name, func(t *testing.T) {
			scaled, err := InBand(ScaledByDistance, tt.feet)
			if err != nil {
				t.Fatal(err)
			}
			lb, err := LargestCharge(tt.feet, scaled)
			if err != nil {
				t.Fatal(err)
			}
			within(t, "lb", lb, tt.lb, 0.005)
			speed, err := InBand(PPVByDistance, tt.feet)
			if err != nil || speed != tt.speed {
				t.Errorf("%v in/s, %v", speed, err)
			}
			if open := tt.feet > 300 && tt.feet < 300.5; StepOpen(tt.feet) != open {
				t.Errorf("the rule leaves it open: %v", !open)
			}
		})
	}
	for in, mm := range map[float64]float64{1.25: 31.75, 1.00: 25.40, 0.75: 19.05} {
		within(t, "in mm/s", in*MillimetresPerInch, mm, 1e-9)
	}
	for _, bad := range []float64{0, -1, math.NaN()} {
		if v, err := InBand(PPVByDistance, bad); err == nil {
			t.Errorf("a distance of %v has the limit %v", bad, v)
		}
		if v, err := LargestCharge(bad, 50); err == nil {
			t.Errorf("a distance of %v allows %v", bad, v)
		}
	}
	lb, err := LargestCharge(1000, 70)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "NV-57 Rhode Island, 1000 ft", lb, 204.08, 0.005)
	// Down, whatever the third decimal; a figure that is exact stays.
	for charge, shown := range map[float64]float64{82.6446: 82.64, 82.6499: 82.64, 36: 36, 8.29: 8.29, 0.009: 0} {
		if got := RoundDown(charge); got != shown {
			t.Errorf("%v is shown as %v", charge, got)
		}
	}
}

func TestShareOfShots(t *testing.T) {
	for _, tt := range []struct {
		name    string
		n, over int
		met     bool
	}{
		{"NV-61 1 over of 12 is 91.67 %", 12, 1, false},
		{"NV-61 1 over of 19 is 94.74 %", 19, 1, false},
		{"NV-61 1 over of 20 is 95.00 %", 20, 1, true},
		{"NV-61 2 over of 39 is 94.87 %", 39, 2, false},
		{"NV-61 2 over of 40 is 95.00 %", 40, 2, true},
		{"none at all", 0, 1, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if most := MostOver(tt.n, 95); tt.over <= most != tt.met {
				t.Errorf("%d may be over", most)
			}
		})
	}
}

func TestCurves(t *testing.T) {
	for _, tt := range []struct {
		name  string
		curve *Curve
		in    float64 // unit of the figures in mm/s
		at    map[float64]float64
		to    float64
	}{
		{"NV-57 Rhode Island, in/s", &RhodeIsland, MillimetresPerInch, map[float64]float64{5: 0.50, 12: 0.60, 24: 1.20, 40: 2.00, 60: 2.00}, 0.0005},
		{"NV-58 DIN 4150-3, industrial", &DIN4150Industrial, 1, map[float64]float64{5: 20, 10: 20, 20: 25, 30: 30, 50: 40, 60: 42, 75: 45, 100: 50, 150: 50}, 1e-9},
		{"NV-58 DIN 4150-3, dwelling", &DIN4150Dwelling, 1, map[float64]float64{10: 5, 20: 7.5, 30: 10, 50: 15, 60: 16, 75: 17.5, 100: 20}, 1e-9},
		{"NV-58 DIN 4150-3, sensitive", &DIN4150Sensitive, 1, map[float64]float64{10: 3, 20: 4.25, 30: 5.5, 50: 8, 60: 8.4, 75: 9, 100: 10}, 1e-9},
		{"NV-59 BS 7385-2, framed building, from memory", &BS7385Framed, 1, map[float64]float64{4: 50, 40: 50, 80: 50}, 1e-9},
		// Corner frequencies as worked out from the level parts and displacements, and
		// the low end of the chart of 30 CFR 816.67(d)(4): 0.188 in/s at 1 Hz, 0.75 at
		// 3.98 Hz.
		{"RI 8507, board, from memory, in/s", &MinesDrywall, MillimetresPerInch, map[float64]float64{1: 0.188, 3.98: 0.75, 10: 0.75, 14.92: 0.75, 20: 1.005, 39.79: 2.0, 60: 2.0}, 0.0006},
		{"RI 8507, plaster, from memory, in/s", &MinesPlaster, MillimetresPerInch, map[float64]float64{1: 0.188, 5: 0.50, 9.95: 0.50, 19.9: 1.0, 39.79: 2.0, 60: 2.0}, 0.0006},
		{"NV-59 BS 7385-2, dwelling, from memory, log axes", &BS7385Dwelling, 1, map[float64]float64{2: 7.54, 3: 11.31, 4: 15, 6: 16.38, 10: 18.31, 15: 20, 25: 32.23, 30: 38.22, 40: 50, 80: 50}, 0.005},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for hz, want := range tt.at {
				got, err := tt.curve.At(hz)
				if err != nil {
					t.Fatal(err)
				}
				within(t, "limit", got/tt.in, want, tt.to)
			}
		})
	}
	straight := BS7385Dwelling
	straight.Run = Straight
	for hz, want := range map[float64]float64{6: 15.91, 10: 17.73, 25: 32.00, 30: 38.00} {
		got, err := straight.At(hz)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "NV-59 the same points read as a straight line", got, want, 0.005)
	}
}

// What a curve does not say is not made up: a reading there cannot be judged.
func TestCurvesThatBeginSomewhere(t *testing.T) {
	for _, tt := range []struct {
		name  string
		curve *Curve
		hz    float64
		below bool
	}{
		{"NV-57 the law names 2.5 Hz and more", &RhodeIsland, 2.5, false},
		{"NV-57 the law names nothing at 2.4 Hz", &RhodeIsland, 2.4, true},
		{"NV-59 framed building at 4 Hz (from memory)", &BS7385Framed, 4, false},
		{"NV-59 framed building at 3.9 Hz", &BS7385Framed, 3.9, true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h, err := tt.curve.Hold(1, tt.hz)
			if errors.Is(err, ErrBelow) != tt.below || !tt.below && err != nil {
				t.Errorf("%+v, %v", h, err)
			}
		})
	}
	for _, mms := range []float64{-1, math.NaN(), math.Inf(1)} {
		if h, err := DIN4150Dwelling.Hold(mms, 20); err == nil {
			t.Errorf("%v mm/s has the margin %v", mms, h.Margin)
		}
	}
}

func TestCurveNeedsTheFrequency(t *testing.T) {
	for _, tt := range []struct {
		name    string
		mms, hz float64
		over    bool
	}{{"T23 9 mm/s at 8 Hz is over", 9, 8, true}, {"T23 9 mm/s at 30 Hz is not", 9, 30, false}} {
		t.Run(tt.name, func(t *testing.T) {
			h, err := DIN4150Dwelling.Hold(tt.mms, tt.hz)
			if err != nil || (h.Margin < 0) != tt.over {
				t.Errorf("%+v %v", h, err)
			}
		})
	}
	for _, hz := range []float64{0, math.NaN(), -3} {
		if h, err := DIN4150Dwelling.Hold(1, hz); !errors.Is(err, ErrFrequency) {
			t.Errorf("T23 1 mm/s without its frequency passes: %+v", h)
		}
	}
}

func TestAirLimitGoesWithTheInstrument(t *testing.T) {
	for _, tt := range []struct {
		name   string
		lowest float64
		over   bool
	}{{"T24 130 dB with a 6 Hz instrument is over 129", 6, true}, {"T24 130 dB with a 2 Hz instrument is under 133", 2, false}, {"with 4 Hz, held against that for 6 Hz", 4, true}} {
		t.Run(tt.name, func(t *testing.T) {
			a, err := HoldAir(130, tt.lowest, false, AirLimitsCFR)
			if err != nil || (a.Margin < 0) != tt.over {
				t.Errorf("%+v %v", a, err)
			}
		})
	}
	for _, lowest := range []float64{0, 20} {
		if a, err := HoldAir(100, lowest, true, AirLimitsCFR); err == nil {
			t.Errorf("T24 a response from %v Hz has the limit %+v", lowest, a)
		}
	}
	for approved, limit := range map[bool]float64{true: 134, false: 133} {
		if a, err := HoldAir(133.5, 0.1, approved, AirLimitsCFR); err != nil || a.Limit != limit {
			t.Errorf("flat from 0.1 Hz, approved %v: %+v %v", approved, a, err)
		}
	}
	if a, err := HoldAir(math.NaN(), 2, false, AirLimitsCFR); err == nil {
		t.Errorf("what is no level has the margin %v", a.Margin)
	}
}

func TestManyBlasts(t *testing.T) {
	for _, tt := range []struct {
		name     string
		n        int
		seconds  float64
		concrete bool
		want     float64
	}{
		{"NV-60 six of 0.8 s (BS 6472-2, from memory)", 6, 0.8, false, 0.6940},
		{"NV-60 six of 2 s, wood", 6, 2, false, 0.5560},
		{"NV-60 six of 2 s, concrete", 6, 2, true, 0.2979},
		{"three", 3, 2, true, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ManyBlasts(tt.n, tt.seconds, tt.concrete)
			if err != nil {
				t.Fatal(err)
			}
			within(t, "factor", got, tt.want, 0.00005)
		})
	}
	f, err := ManyBlasts(6, 0.8, false)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "NV-60 6 mm/s becomes", 6*f, 4.164, 0.0005)
}

func TestConstructionVibration(t *testing.T) {
	machine := func(name string) Machine {
		m, err := FindMachine(name)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	for _, tt := range []struct {
		name      string
		feet, mms float64
	}{{"vibratory roller", 60, 1.4346}, {"large bulldozer", 50, 0.7992}, {"large bulldozer", 10, 8.936}, {"loaded lorries", 30, 1.4685}} {
		got, err := machine(tt.name).At(tt.feet * MetresPerFoot)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "NV-62 "+tt.name, got, tt.mms, 0.0005)
	}
	roller := machine("vibratory roller")
	for mms, feet := range map[float64]float64{0.2 * MillimetresPerInch: 25.83, 0.12 * MillimetresPerInch: 36.30, 5: 26.10} {
		got, err := roller.Reaches(mms)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "NV-62 the roller reaches, ft", got/MetresPerFoot, feet, 0.005)
		back, err := roller.At(got)
		if err != nil || math.Abs(back-mms) > 1e-6 {
			t.Errorf("at %v m it is %v mm/s: %v", got, back, err)
		}
	}
	at60, err := roller.At(60 * MetresPerFoot)
	if err != nil {
		t.Fatal(err)
	}
	// The manual's own 94 VdB at 25 ft, and what its velocity makes of it.
	away, err := LevelAway(94, 60*MetresPerFoot)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "NV-62 level at 60 ft by the table's 94 VdB", away, 82.59, 0.005)
	away, err = LevelAway(Level(roller.PPV*MillimetresPerInch), 60*MetresPerFoot)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "NV-62 level and velocity fall alike", Level(at60), away, 1e-6)
	for i, ins := range []float64{0.5, 0.3, 0.2, 0.12} { // categories I to IV
		within(t, "NV-62 criterion, in/s", DamageCriteria[i].PPV, ins, 0)
	}
	for ins, db := range map[float64]float64{0.210: 94.40, 0.089: 86.95, 0.644: 104.14} {
		within(t, "NV-62 table 12-2, VdB", Level(ins*MillimetresPerInch), db, 0.005)
	}
	if _, err := LevelAway(94, 0); err == nil {
		t.Error("at no distance it has a level")
	}
	if m, err := FindMachine("digger"); err == nil {
		t.Errorf("%+v", m)
	}
	if _, err := roller.At(0); err == nil {
		t.Error("at no distance it has a velocity")
	}
	if _, err := roller.Reaches(0); err == nil {
		t.Error("it reaches nothing")
	}
}
