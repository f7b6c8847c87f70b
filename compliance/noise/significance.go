package noise

import (
	"fmt"
	"math"
	"slices"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Period of the week that a threshold of BS 5228-1, annex E, is for. Which hours
// it has on which days, the threshold's own table says.
type Period string

// The periods there are: night 23-07; evenings and weekends 19-23 on weekdays,
// Saturday 13-23, Sunday 07-23; day 07-19 and Saturday 07-13.
const (
	Day     Period = "day"
	Evening Period = "evening or weekend"
	Night   Period = "night"
)

// thresholds of the categories A, B and C in dB LAeq over the period, at the
// façade of a dwelling.
var thresholds = map[Period][3]float64{Day: {65, 70, 75}, Evening: {55, 60, 65}, Night: {45, 50, 55}}

// Category is where a dwelling stands by the ambient level there.
type Category struct {
	Period     Period  `json:"period"`
	Ambient    float64 `json:"ambient"`     // dB, as measured
	Rounded    float64 `json:"rounded"`     // to the nearest 5 dB, half up
	Letter     string  `json:"letter"`      // A, B or C
	Threshold  float64 `json:"threshold"`   // dB, of the site's noise
	AboveTable bool    `json:"above_table"` // the ambient is above the threshold of C: the total then counts
}

// roundTo5 rounds to the nearest 5 dB, half up.
func roundTo5(db float64) float64 { return 5 * math.Floor(unit.Round9(db)/5+0.5) }

// CategoryOf places a dwelling by the ABC method of BS 5228-1, annex E (common
// practice, clauses not checked): the ambient rounded to the nearest 5 dB, below
// the value of A, at it, or above it.
func CategoryOf(ambient float64, p Period) (Category, error) {
	values, known := thresholds[p]
	if !known {
		return Category{}, fmt.Errorf("there is no period %q; there are %s, %s and %s", p, Day, Evening, Night)
	}
	c := Category{Period: p, Ambient: ambient, Rounded: roundTo5(ambient), AboveTable: ambient > values[2]}
	switch {
	case c.Rounded < values[0]:
		c.Letter, c.Threshold = "A", values[0]
	case c.Rounded == values[0]:
		c.Letter, c.Threshold = "B", values[1]
	default:
		c.Letter, c.Threshold = "C", values[2]
	}
	return c, nil
}

// Significance is what the two methods of BS 5228-1, annex E, make of a site's
// noise beside the ambient.
type Significance struct {
	Category
	Site       float64 `json:"site"`        // dB
	Total      float64 `json:"total"`       // dB, site and ambient
	Rise       float64 `json:"rise"`        // of the total over the ambient, dB
	ByCategory bool    `json:"by_category"` // above the threshold of its category
	ByRise     bool    `json:"by_rise"`     // by 5 dB or more, the site not below the least level
	Least      float64 `json:"least"`       // dB, of the site by the second method
}

// leastSite is the least level of the site's own noise that counts by the second
// method, dB.
var leastSite = map[Period]float64{Day: 65, Evening: 55, Night: 45}

// What the total must rise by, dB: where the ambient is above the table, and by the
// second method.
const (
	riseAboveTable = 3
	riseOf5        = 5
)

// Signify holds the site's noise against the ambient by both methods (common
// practice, clauses not checked; for dwellings, and by the second method only
// where it lasts a month or more). Levels are compared as they are, not rounded.
func Signify(site, ambient float64, p Period) (Significance, error) {
	c, err := CategoryOf(ambient, p)
	if err != nil {
		return Significance{}, err
	}
	total, err := Sum(site, ambient)
	if err != nil {
		return Significance{}, err
	}
	s := Significance{Category: c, Site: unit.Round9(site), Total: total, Rise: unit.Round9(total - ambient), Least: leastSite[p]}
	if c.AboveTable {
		s.ByCategory = s.Rise > riseAboveTable
	} else {
		s.ByCategory = s.Site > c.Threshold
	}
	s.ByRise = s.Rise >= riseOf5 && s.Site >= s.Least
	return s, nil
}

// Eligible tells whether days on which a threshold was exceeded are so many that
// insulation or rehousing is commonly offered: ten or more in any 15 days that
// follow one another, or more than 40 in any six months, here of 183 days (BS
// 5228-1, E.4, from memory). Days are numbered from any day on, each once.
func Eligible(days []int) bool {
	list := slices.Compact(slices.Sorted(slices.Values(days)))
	within := func(most, length int) bool {
		for i := 0; i+most-1 < len(list); i++ {
			if list[i+most-1]-list[i] < length {
				return true
			}
		}
		return false
	}
	return within(10, 15) || within(41, 183)
}
