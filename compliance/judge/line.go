package judge

import (
	"reflect"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// line is one condition through all its versions, in order of time.
type line struct {
	permit   string // reference of the notice first granted
	clause   string
	id       string
	versions []version
}

// version is a condition as it stood from one legal date to the next.
type version struct {
	cond     *permit.Condition
	notice   string      // reference of the notice or variation it stands in
	entry    *book.Entry // that notice's entry
	span     calendar.Span
	zone     *time.Location
	granted  calendar.Date // of the notice
	holidays string        // id of the holiday list named; "" = none
}

// endless stands for "no end": later than any instant a book can hold.
var endless = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// runs cuts the versions that hold at a place into stretches of one shape:
// within a stretch only limits, schedules and the like change, so that a
// window may run over a change; between stretches the condition is another.
func (l *line) runs(place string) [][]version {
	var out [][]version
	for _, v := range l.versions {
		if !stands(v.cond, place) || v.span.Empty() {
			continue
		}
		if n := len(out); n > 0 && follows(&out[n-1][len(out[n-1])-1], &v) {
			out[n-1] = append(out[n-1], v)
			continue
		}
		out = append(out, []version{v})
	}
	return out
}

func follows(a, b *version) bool {
	x, y := a.cond, b.cond
	return a.span.To.Equal(b.span.From) && x.Kind == y.Kind && x.Subject == y.Subject &&
		x.Window == y.Window && x.Statistic == y.Statistic && a.zone.String() == b.zone.String() &&
		reflect.DeepEqual(x.With, y.With) && reflect.DeepEqual(x.Rule, y.Rule)
}

// stands tells whether a condition is judged at a place.
func stands(c *permit.Condition, place string) bool {
	for _, p := range placesOf(c) {
		if p == place {
			return true
		}
	}
	return false
}

// placesOf returns the places a condition is judged at, one by one; "" is the
// whole site.
func placesOf(c *permit.Condition) []string {
	if c.Place.Mode == permit.Each && len(c.Place.Codes) > 0 {
		return c.Place.Codes
	}
	if len(c.Place.Codes) == 1 {
		return c.Place.Codes
	}
	return []string{""}
}

// places returns the places of all versions in order of first mention.
func (l *line) places() []string {
	var out []string
	seen := map[string]bool{}
	for _, v := range l.versions {
		for _, p := range placesOf(v.cond) {
			if !seen[p] {
				seen[p] = true
				out = append(out, p)
			}
		}
	}
	return out
}

// last returns the version that came last, for titles.
func (l *line) last() *version { return &l.versions[len(l.versions)-1] }
