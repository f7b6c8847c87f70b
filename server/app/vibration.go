package app

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/compliance/vibration"
)

// What may be asked for at most: m, as the shot log takes it, and mm/s.
const (
	farthest = 100_000.0
	fastest  = 10_000.0
)

// figureAsked is a figure somebody asks with, above 0 and up to Most.
type figureAsked struct {
	Field       string
	Value, Most float64
}

// figuresWithin refuses figures out of their range, all at once.
func figuresWithin(nothing string, asked ...figureAsked) error {
	var faults []book.Fault
	for _, a := range asked {
		if !(a.Value > 0 && a.Value <= a.Most) {
			faults = append(faults, book.Fault{Field: a.Field, Reason: fmt.Sprintf("%v is not above 0 and up to %v", a.Value, a.Most), Remedy: "write a figure such as 300"})
		}
	}
	if faults == nil {
		return nil
	}
	return &Error{Code: Invalid, Words: nothing + ": something needs attention", Faults: faults}
}

// MachineShake is the vibration of a construction machine at a distance by its
// published velocity. Soil and foundation may make it much more or less.
type MachineShake struct {
	Machine vibration.Machine
	MMS     float64 // mm/s
	Level   float64 // dB re 10⁻⁶ in/s
	Reach   float64 // m within which the limit asked for is passed; 0 without one
	Damage  []DamageReach
}

// DamageReach is how far from a machine a criterion of damage is passed.
type DamageReach struct {
	vibration.Criterion
	Reach float64 // m
}

// MachineShake works out the vibration of a machine. Without a limit (nil) it tells
// how far away the criteria of damage are passed.
func (s *Service) MachineShake(who Actor, machine string, distanceM float64, limit *float64) (*MachineShake, error) {
	if err := who.Need(Read); err != nil {
		return nil, err
	}
	const nothing = "nothing was worked out"
	m, err := vibration.FindMachine(machine)
	if err != nil {
		return nil, &Error{Code: Invalid, Words: nothing + ": something needs attention", Faults: []book.Fault{{Field: "machine", Reason: err.Error(), Remedy: "choose one of the list"}}}
	}
	asked := []figureAsked{{"distance", distanceM, farthest}}
	if limit != nil {
		asked = append(asked, figureAsked{"limit", *limit, fastest})
	}
	if err := figuresWithin(nothing, asked...); err != nil {
		return nil, err
	}
	out := &MachineShake{Machine: m}
	if out.MMS, err = m.At(distanceM); err != nil {
		return nil, internal("the machine's velocity", err)
	}
	if out.Level, err = vibration.LevelAway(vibration.Level(m.PPV*vibration.MillimetresPerInch), distanceM); err != nil {
		return nil, internal("the machine's level", err)
	}
	if limit != nil {
		if out.Reach, err = m.Reaches(*limit); err != nil {
			return nil, internal("the machine's reach", err)
		}
		return out, nil
	}
	for _, c := range vibration.DamageCriteria {
		reach, err := m.Reaches(unit.Round9(c.PPV * vibration.MillimetresPerInch))
		if err != nil {
			return nil, internal("the machine's reach", err)
		}
		out.Damage = append(out.Damage, DamageReach{c, reach})
	}
	return out, nil
}
