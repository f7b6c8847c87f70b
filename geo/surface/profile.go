package surface

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// ProfilePoint is one place of a section through several surfaces.
type ProfilePoint struct {
	ChainageM float64
	E, N      float64
	LevelsM   []float64 // one for each surface, NaN where it has none
}

// Profile returns a section through several surfaces along one line: at every
// place where one of them folds, all their levels, so that each is straight
// from place to place. Distances are plan distances in grid metres.
func Profile(line []orb.Point, surfaces ...*Surface) []ProfilePoint {
	sections := make([][]SectionPoint, len(surfaces))
	var at []float64
	for i, s := range surfaces {
		sections[i] = s.Section(line)
		for _, p := range sections[i] {
			at = append(at, p.ChainageM)
		}
	}
	slices.Sort(at)
	at = slices.CompactFunc(at, func(a, b float64) bool { return math.Abs(a-b) <= nearby })
	out := make([]ProfilePoint, len(at))
	for k, d := range at {
		e, n := along(line, d)
		out[k] = ProfilePoint{ChainageM: d, E: e, N: n, LevelsM: make([]float64, len(surfaces))}
		for i := range surfaces {
			out[k].LevelsM[i] = levelAlong(sections[i], d)
		}
	}
	return out
}

// along returns the place at a distance along a line.
func along(line []orb.Point, d float64) (e, n float64) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		length := math.Hypot(b[0]-a[0], b[1]-a[1])
		if d <= length || i == len(line)-1 {
			if length == 0 {
				return a[0], a[1]
			}
			f := min(d/length, 1)
			return a[0] + float64(f*(b[0]-a[0])), a[1] + float64(f*(b[1]-a[1]))
		}
		d -= length
	}
	return math.NaN(), math.NaN()
}

// levelAlong returns a section's level at a distance, NaN in a gap.
func levelAlong(section []SectionPoint, d float64) float64 {
	i, found := slices.BinarySearchFunc(section, d, func(p SectionPoint, d float64) int {
		switch {
		case p.ChainageM < d-nearby:
			return -1
		case p.ChainageM > d+nearby:
			return 1
		}
		return 0
	})
	for ; found && i < len(section) && section[i].ChainageM <= d+nearby; i++ {
		if !section[i].Gap {
			return section[i].LevelM
		}
	}
	if found {
		return math.NaN()
	}
	if i == 0 || i == len(section) || section[i-1].Gap {
		return math.NaN()
	}
	a, b := section[i-1], section[i]
	return a.LevelM + float64((d-a.ChainageM)/(b.ChainageM-a.ChainageM)*(b.LevelM-a.LevelM))
}
