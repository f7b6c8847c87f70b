package noise

import (
	"errors"
	"fmt"
	"math"
	"time"

	"github.com/swardbook/swardbook/compliance/unit"
)

// ErrTime is for a time that a level cannot stand for.
var ErrTime = errors.New("the time must be more than nothing")

// ExposureLevel is LAE (SEL) in dB of a level that lasts a time: LAeq + 10 lg(τ/1 s).
func ExposureLevel(level float64, lasts time.Duration) (float64, error) {
	if lasts <= 0 {
		return 0, ErrTime
	}
	return unit.Round9(level + levelOf(lasts.Seconds())), nil
}

// Events are equal events of one exposure level.
type Events struct {
	Exposure float64 // LAE of one, dB
	Number   float64
}

// OverPeriod is the LAeq in dB over a period of events within it, and of nothing
// else: 10 lg(Σ N·10^(LAE/10)) - 10 lg(T/1 s). It fails where there is no event:
// silence has no level.
func OverPeriod(period time.Duration, events ...Events) (float64, error) {
	if period <= 0 {
		return 0, ErrTime
	}
	e := 0.0
	for _, one := range events {
		if one.Number < 0 || math.IsNaN(one.Number) {
			return 0, fmt.Errorf("%v events: write 0 or more", one.Number)
		}
		e += float64(one.Number * power(one.Exposure))
	}
	if e == 0 {
		return 0, errors.New("there is no event, and silence has no level")
	}
	return unit.Round9(levelOf(e / period.Seconds())), nil
}

// PartOfPeriod is the LAeq in dB over a period of a level that lasts for part of
// it, the site alone: L + 10 lg(t/T). It fails where the part is longer.
func PartOfPeriod(level float64, lasts, period time.Duration) (float64, error) {
	switch {
	case lasts <= 0 || period <= 0:
		return 0, ErrTime
	case lasts > period:
		return 0, fmt.Errorf("%s is longer than the period of %s", lasts, period)
	}
	return unit.Round9(level + levelOf(lasts.Seconds()/period.Seconds())), nil
}
