package noise

import (
	"math"
	"strings"
	"testing"
)

const ft = 0.3048

func heardAt(t *testing.T, m Method, facade bool, plant ...Plant) float64 {
	t.Helper()
	for i := range plant {
		if plant[i].OnTime == 0 {
			plant[i].OnTime = 1
		}
	}
	p, err := Predict(m, plant, facade)
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range p.Each {
		sum := 0.0
		for _, term := range h.Terms {
			sum += term.DB
		}
		if math.Abs(sum-h.DB) > 1e-9 {
			t.Errorf("%s: the terms make %.6f, the level is %.6f", h.Name, sum, h.DB)
		}
	}
	return p.DB
}

// TestActivityMethod: what distance takes off, by the formulas of BS 5228-1 annex
// F computed with another program; the case of three machines is our own.
func TestActivityMethod(t *testing.T) {
	for _, tt := range []struct {
		name   string
		plant  Plant
		takes  float64 // off 100 dB
		within float64
	}{
		{"10 m hard", Plant{Distance: 10}, 0, 5e-4}, {"25 m hard", Plant{Distance: 25}, 7.959, 5e-4}, {"25 m soft is at its least", Plant{Distance: 25, Soft: 1}, 7.949, 0.011},
		{"15 m soft is hard", Plant{Distance: 15.24, Soft: 1}, 3.660, 5e-4},
		{"50 m hard", Plant{Distance: 50}, 13.979, 5e-4}, {"50 m soft", Plant{Distance: 50, Soft: 1}, 15.474, 5e-4}, {"50 m half soft", Plant{Distance: 50, Soft: 0.5}, 14.727, 5e-4},
		{"120 m half soft", Plant{Distance: 120, Soft: 0.5}, 23.282, 5e-4}, {"300 m soft", Plant{Distance: 300, Soft: 1}, 34.928, 5e-4}, {"500 m half soft", Plant{Distance: 500, Soft: 0.5}, 37.227, 5e-4},
		{"80 % of the time", Plant{Distance: 10, OnTime: 0.8}, 0.969, 5e-4}, {"5 % of the time", Plant{Distance: 10, OnTime: 0.05}, 13.010, 5e-4},
		{"hidden", Plant{Distance: 120, Screen: 10}, 31.584, 5e-4}, {"hidden over soft ground: not added", Plant{Distance: 120, Screen: 10, Soft: 1}, 31.584, 5e-4},
		{"just seen over soft ground at 500 m: soft takes off more", Plant{Distance: 500, Screen: 5, Soft: 1}, 40.474, 5e-4},
	} {
		t.Run("NV-31 "+tt.name, func(t *testing.T) {
			tt.plant.Level = 100
			if got := 100 - heardAt(t, Activity, false, tt.plant); math.Abs(got-tt.takes) > tt.within {
				t.Errorf("takes off %.4f dB, want %.4f", got, tt.takes)
			}
		})
	}
	excavator := Plant{Name: "excavator", Level: 77, Distance: 120, OnTime: 0.8}
	generator := Plant{Name: "generator", Level: 61, Distance: 90, OnTime: 1}
	road := Plant{Name: "haul road", Distance: 60, Road: &Road{Power: 109, PerHour: 12, SpeedKMH: 20}}
	with := func(p Plant, change func(*Plant)) Plant { change(&p); return p }
	for name, c := range map[string]struct{ got, want float64 }{
		"NV-32 excavator hard":              {heardAt(t, Activity, false, excavator), 54.447},
		"NV-32 excavator soft":              {heardAt(t, Activity, false, with(excavator, func(p *Plant) { p.Soft = 1 })), 51.051},
		"NV-32 excavator 30 % soft":         {heardAt(t, Activity, false, with(excavator, func(p *Plant) { p.Soft = 0.3 })), 53.428},
		"NV-32 excavator hidden":            {heardAt(t, Activity, false, with(excavator, func(p *Plant) { p.Screen = 10 })), 44.447},
		"NV-32 generator":                   {heardAt(t, Activity, false, generator), 41.915},
		"NV-32 haul road":                   {heardAt(t, Activity, false, road), 56.000},
		"NV-32 haul road, 120°":             {heardAt(t, Activity, false, Plant{Distance: 60, Road: &Road{109, 12, 20, 120}}), 54.239},
		"NV-32 all three":                   {heardAt(t, Activity, false, excavator, generator, road), 58.402},
		"NV-32 at the façade":               {heardAt(t, Activity, true, excavator, generator, road), 61.402},
		"NV-32 excavator hidden, all three": {heardAt(t, Activity, false, with(excavator, func(p *Plant) { p.Screen = 10 }), generator, road), 56.449},
	} {
		if math.Abs(c.got-c.want) > 6e-4 {
			t.Errorf("%s: %.4f dB, want %.3f", name, c.got, c.want)
		}
	}
}

// TestUsageMethod: examples of the FTA manual's form (2006, table 12-1 levels) and
// of the FHWA handbook's, computed with another program.
func TestUsageMethod(t *testing.T) {
	drill, truck := Plant{Level: 98, Distance: 200 * ft}, Plant{Level: 88, Distance: 200 * ft}
	generator := Plant{Level: 81, Distance: 300 * ft, OnTime: 0.5}
	soft := generator
	soft.Ground = 0.66
	four := []Plant{
		{Level: 81, Distance: 200 * ft, OnTime: 0.4}, {Level: 76, Distance: 200 * ft, OnTime: 0.4},
		{Level: 81, Distance: 300 * ft, OnTime: 0.5}, {Level: 81, Distance: 150 * ft, OnTime: 0.5},
	}
	for name, c := range map[string]struct{ got, want float64 }{
		"NV-34 rock drill": {heardAt(t, Usage, false, drill), 85.959}, "NV-34 truck": {heardAt(t, Usage, false, truck), 75.959}, "NV-34 both": {heardAt(t, Usage, false, drill, truck), 86.373},
		"NV-35 generator": {heardAt(t, Usage, false, generator), 62.427}, "NV-35 generator over soft ground": {heardAt(t, Usage, false, soft), 57.291},
		"NV-36 excavator": {heardAt(t, Usage, false, four[0]), 64.979}, "NV-36 pump": {heardAt(t, Usage, false, four[3]), 68.447}, "NV-36 four machines": {heardAt(t, Usage, false, four...), 71.101},
	} {
		if math.Abs(c.got-c.want) > 5e-4 {
			t.Errorf("%s: %.4f dB, want %.3f", name, c.got, c.want)
		}
	}
}

func TestPlantThatCannotBePredicted(t *testing.T) {
	for name, c := range map[string]struct {
		m    Method
		p    Plant
		says string
	}{
		"no distance":          {Activity, Plant{Level: 80, OnTime: 1}, "distance"},
		"never on":             {Activity, Plant{Level: 80, Distance: 10}, "on-time"},
		"on too long":          {Activity, Plant{Level: 80, Distance: 10, OnTime: 1.2}, "on-time"},
		"a screen that adds":   {Activity, Plant{Level: 80, Distance: 10, OnTime: 1, Screen: -3}, "take off"},
		"a road by usage":      {Usage, Plant{Distance: 10, Road: &Road{100, 1, 10, 0}}, "haul road"},
		"a factor by activity": {Activity, Plant{Level: 80, Distance: 10, OnTime: 1, Ground: 0.5}, "ground factor"},
		"no such method":       {"hearsay", Plant{Level: 80, Distance: 10, OnTime: 1}, "hearsay"},
		"a road that stands":   {Activity, Plant{Distance: 10, Road: &Road{100, 1, 0, 0}}, "speed"},
	} {
		if _, err := Predict(c.m, []Plant{c.p}, false); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Predict(Activity, nil, false); err == nil {
		t.Error("nothing was predicted to be heard")
	}
	far, err := Predict(Activity, []Plant{{Name: "x", Level: 80, Distance: 400, OnTime: 1}}, false)
	if err != nil || len(far.Each[0].Notes) == 0 {
		t.Errorf("400 m without a word: %+v, %v", far, err)
	}
}
