package vibration

import (
	"errors"
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Machine is a source of construction vibration by its velocity at 25 ft.
type Machine struct {
	Name string
	PPV  float64 // in/s at 25 ft
}

// Machines are those of the US FTA manual of 2006, table 12-2, as the peak
// particle velocity at 25 ft. The hydromill in rock is left out: its row
// contradicts itself.
var Machines = []Machine{
	{"impact pile driver, upper range", 1.518}, {"impact pile driver", 0.644}, {"sonic pile driver, upper range", 0.734}, {"sonic pile driver", 0.170},
	{"vibratory roller", 0.210}, {"hydraulic breaker", 0.089}, {"large bulldozer", 0.089}, {"caisson drilling", 0.089},
	{"loaded lorries", 0.076}, {"jackhammer", 0.035}, {"small bulldozer", 0.003},
}

// Criterion is a velocity above which damage to a kind of building is feared.
type Criterion struct {
	Category string
	PPV      float64 // in/s
}

// DamageCriteria are those of the US FTA manual of 2006, 12.2, for its building
// categories: from buildings without plaster, I, to the most easily damaged, IV.
var DamageCriteria = []Criterion{{"I", 0.5}, {"II", 0.3}, {"III", 0.2}, {"IV", 0.12}}

// FindMachine finds a machine by its name; it fails for one the table has not.
func FindMachine(name string) (Machine, error) {
	for _, m := range Machines {
		if m.Name == name {
			return m, nil
		}
	}
	return Machine{}, fmt.Errorf("there is no machine %q in the table", name)
}

const (
	referenceFeet = 25.0
	falls         = 1.5 // power of distance
)

var errDistance = errors.New("the distance must be above 0")

// At is the machine's velocity in mm/s at a distance in m: PPV·(25 ft/D)^1.5 (FTA
// manual, 12.2). Soil and foundation may make it much more or less.
func (m Machine) At(metres float64) (float64, error) {
	if !(metres > 0) || math.IsInf(metres, 0) {
		return 0, errDistance
	}
	feet := metres / MetresPerFoot
	return unit.Round9(m.PPV * MillimetresPerInch * math.Pow(referenceFeet/feet, falls)), nil
}

// Reaches is the distance in m within which the machine's velocity is above a
// limit in mm/s.
func (m Machine) Reaches(mms float64) (float64, error) {
	if !(mms > 0) || math.IsInf(mms, 0) {
		return 0, errors.New("the limit must be above 0")
	}
	return unit.Round9(referenceFeet * math.Pow(m.PPV*MillimetresPerInch/mms, 1/falls) * MetresPerFoot), nil
}

// Level is the root-mean-square velocity level of a peak particle velocity in
// mm/s, in dB re 10⁻⁶ in/s with a crest factor of 4, as the FTA manual has it.
func Level(mms float64) float64 {
	return unit.Round9(20 * math.Log10(mms/MillimetresPerInch/4/1e-6))
}

// LevelAway is a velocity level at a distance in m of one at 25 ft, both in dB:
// Lv − 30 lg(D/25 ft) (FTA manual, 12.2).
func LevelAway(at25, metres float64) (float64, error) {
	if !(metres > 0) || math.IsInf(metres, 0) {
		return 0, errDistance
	}
	return unit.Round9(at25 - float64(20*falls*math.Log10(metres/MetresPerFoot/referenceFeet))), nil
}
