package weather

import (
	"errors"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Fall is rain that fell by an instant since the fall before it, mm. It counts
// from its end: before that nobody could have read it.
type Fall struct {
	End time.Time
	MM  float64
}

// Storm is a time in which so much fell in so many hours. A storm ends when what
// fell in the hours before is less again; the next is another storm.
type Storm struct {
	Crossed time.Time // when the depth was reached
	Ended   time.Time // the last fall that kept it up
	Depth   float64   // greatest depth within the hours, mm
	Total   float64   // of all falls from the first of those hours to the end, mm
	Largest float64   // greatest single fall, mm
}

// errStorm is for a rule without depth or hours.
var errStorm = errors.New("depth and hours must be above nothing")

// Storms finds the storms among falls, in any order: a depth in mm or more within
// a length of time, such as 6.35 mm (0.25 in) in 24 hours.
func Storms(falls []Fall, depth float64, within time.Duration) ([]Storm, error) {
	if !(depth > 0) || within <= 0 {
		return nil, errStorm
	}
	list := append([]Fall(nil), falls...)
	sort.SliceStable(list, func(i, j int) bool { return list[i].End.Before(list[j].End) })
	var out []Storm
	first, open := 0, false
	sum := 0.0
	for i, f := range list {
		for first < i && !list[first].End.After(f.End.Add(-within)) {
			sum -= list[first].MM
			first++
		}
		open = open && unit.Round9(sum) >= depth // it may have ended since the fall before
		if sum += f.MM; unit.Round9(sum) < depth {
			continue
		}
		if !open {
			open = true
			out = append(out, Storm{Crossed: f.End})
			for _, before := range list[first:i] {
				out[len(out)-1].add(before)
			}
		}
		out[len(out)-1].add(f)
		out[len(out)-1].Ended, out[len(out)-1].Depth = f.End, unit.Round9(max(out[len(out)-1].Depth, sum))
	}
	return out, nil
}

func (s *Storm) add(f Fall) {
	s.Total = unit.Round9(s.Total + f.MM)
	s.Largest = max(s.Largest, f.MM)
}

// RainDay is the rain of a day that begins at its own hour; it is named by the day
// it begins on.
type RainDay struct {
	Begins time.Time
	MM     float64
	Falls  int
}

// RainDays adds falls up by days of 24 hours that begin at an hour past midnight
// UTC, such as 9 for the rain day of British practice, 09 to 09 UTC. A fall
// belongs to the day it ends in, an end on the hour to the day before. Days
// without a fall on record are left out: no record is not no rain.
func RainDays(falls []Fall, hour int) ([]RainDay, error) {
	if hour < 0 || hour > 23 {
		return nil, errors.New("a day begins at an hour from 0 to 23")
	}
	shift := time.Duration(hour) * time.Hour
	byDay := map[time.Time]*RainDay{}
	for _, f := range falls {
		begins := f.End.Add(-time.Nanosecond).UTC().Add(-shift).Truncate(24 * time.Hour).Add(shift)
		d := byDay[begins]
		if d == nil {
			d = &RainDay{Begins: begins}
			byDay[begins] = d
		}
		d.MM = unit.Round9(d.MM + f.MM)
		d.Falls++
	}
	out := make([]RainDay, 0, len(byDay))
	for _, d := range byDay {
		out = append(out, *d)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Begins.Before(out[j].Begins) })
	return out, nil
}
