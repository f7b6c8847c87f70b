package noise

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Parts are how the 24 hours of a day are parted, in hours. The weights are
// these hours also on the two days of the year that have 23 and 25.
type Parts struct{ Day, Evening, Night float64 }

// Partings in use. A state may shorten the evening by one or two hours and
// lengthen day or night or both (Directive 2002/49/EC, annex I).
var (
	DayEveningNight = Parts{12, 4, 8} // 07-19, 19-23, 23-07 local time unless the state says otherwise
	DayNight        = Parts{15, 0, 9} // 07-22, 22-07 (US FTA manual, 2006)
)

// Added to the evening's and the night's level, in dB.
const (
	eveningPenalty = 5
	nightPenalty   = 10
)

// Known is a level that may be missing.
type Known struct {
	DB float64
	OK bool
}

// Level makes a Known of a level there is.
func Level(db float64) Known { return Known{db, true} }

// MissingError says which part of the day has no level. A missing part is never
// taken for silence.
type MissingError struct{ Part string }

func (e *MissingError) Error() string {
	return fmt.Sprintf("the %s has no level, so the day has none", e.Part)
}

// DENLevel is Lden in dB of the levels of day, evening and night: 10 lg of the mean
// energy over 24 h with 5 dB added to the evening and 10 dB to the night (END,
// annex I). The levels are A-weighted long-term averages of incident sound: a
// reading before a façade less 3 dB. With an evening of 0 h the evening's level
// is not asked for and the result is Ldn (FTA manual).
func (p Parts) DENLevel(day, evening, night Known) (float64, error) {
	return p.weighted(day, evening, night, eveningPenalty, nightPenalty)
}

// Equivalent is LAeq,24h in dB of the levels of the parts, without penalties.
func (p Parts) Equivalent(day, evening, night Known) (float64, error) {
	return p.weighted(day, evening, night, 0, 0)
}

func (p Parts) weighted(day, evening, night Known, e, n float64) (float64, error) {
	if p.Day < 0 || p.Evening < 0 || p.Night < 0 || p.Day+p.Evening+p.Night != 24 {
		return 0, fmt.Errorf("%v + %v + %v hours are not the 24 of a day", p.Day, p.Evening, p.Night)
	}
	sum := 0.0
	for _, one := range []struct {
		part    string
		hours   float64
		level   Known
		penalty float64
	}{{"day", p.Day, day, 0}, {"evening", p.Evening, evening, e}, {"night", p.Night, night, n}} {
		if one.hours == 0 {
			continue
		}
		if !one.level.OK {
			return 0, &MissingError{one.part}
		}
		sum += float64(one.hours * power(one.level.DB+one.penalty))
	}
	return unit.Round9(levelOf(sum / 24)), nil
}
