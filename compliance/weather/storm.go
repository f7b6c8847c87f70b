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
