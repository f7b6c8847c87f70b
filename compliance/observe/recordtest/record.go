// Package recordtest is a record made up in a test: entries, surfaces and
// plan features as the test gives them, for trying a quantity by itself.
package recordtest

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
)

// Record answers as a judged book does, from what a test put in. It serves as
// a quantity.Record.
type Record struct {
	entries  []*book.Entry
	surfaces map[string]*surface.Surface
	features map[string]*plan.Feature
}

// New returns a record with nothing in it.
func New() *Record {
	return &Record{surfaces: map[string]*surface.Surface{}, features: map[string]*plan.Feature{}}
}

// At reads a time such as "2026-04-06" or "2026-04-06 09:12", in UTC.
func At(t testing.TB, s string) time.Time {
	t.Helper()
	for _, layout := range []string{"2006-01-02", "2006-01-02 15:04"} {
		if at, err := time.Parse(layout, s); err == nil {
			return at
		}
	}
	t.Fatalf("%q is no time", s)
	return time.Time{}
}

// Row is one entry as a test gives it.
type Row struct {
	Kind, At, Until string
	Places          []string
	Body            book.Object
}

// Add puts entries in, numbered as they come.
func (r *Record) Add(t testing.TB, rows ...Row) {
	t.Helper()
	for _, row := range rows {
		e := &book.Entry{Body: row.Body}
		e.Seq, e.Kind, e.Places, e.Precision = int64(len(r.entries)+1), row.Kind, row.Places, book.ToMinute
		e.ID = book.RowID("test", row.Kind, "test", string(rune('a'+len(r.entries))))
		e.At = At(t, row.At)
		if len(row.At) == len("2006-01-02") {
			e.Precision = book.ToDay
		}
		if row.Until != "" {
			e.Until = At(t, row.Until)
		}
		r.entries = append(r.entries, e)
	}
}

// Survey puts in a survey with its surface: points as easting, northing, level.
func (r *Record) Survey(t testing.TB, at string, body book.Object, points ...[3]float64) {
	t.Helper()
	s := &survey.Survey{Name: body.Text("ref")}
	for _, p := range points {
		s.Points = append(s.Points, survey.Point{E: p[0], N: p[1], Level: p[2]})
	}
	made, _, err := surface.FromSurvey(s, surface.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r.surfaces[body.Text("ref")] = made
	r.Add(t, Row{Kind: "survey.1", At: at, Body: body})
}

// Area puts an upright rectangle on the plan, with a rectangular hole in it
// for each further four numbers: least easting, least northing, greatest
// easting, greatest northing.
func (r *Record) Area(code string, corners ...float64) {
	var rings orb.Polygon
	for i := 0; i+3 < len(corners); i += 4 {
		a, b, c, d := corners[i], corners[i+1], corners[i+2], corners[i+3]
		rings = append(rings, orb.Ring{{a, b}, {c, b}, {c, d}, {a, d}, {a, b}})
	}
	r.features[code] = &plan.Feature{Code: code, Geometry: rings, Frame: plan.FrameSite}
}

// Draw puts a feature on the plan as it is.
func (r *Record) Draw(f *plan.Feature) { r.features[f.Code] = f }

// Site returns a site in UTC.
func (r *Record) Site() quantity.Site {
	return quantity.Site{ID: "test", Name: "Test", Zone: time.UTC}
}

// Entries returns the entries of a kind, by time and number.
func (r *Record) Entries(kind string) []*book.Entry {
	var out []*book.Entry
	for _, e := range r.entries {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b *book.Entry) int { return a.At.Compare(b.At) })
	return out
}

// Line returns the entry of that id alone.
func (r *Record) Line(id book.ID) []*book.Entry {
	for _, e := range r.entries {
		if e.ID == id {
			return []*book.Entry{e}
		}
	}
	return nil
}

// Channels returns none.
func (r *Record) Channels(string, string) []series.Channel { return nil }

// Readings returns none.
func (r *Record) Readings(string, time.Time, time.Time) ([]*series.Block, error) { return nil, nil }

// Surface returns the surface of a survey put in by Survey.
func (r *Record) Surface(ref string) (*surface.Surface, *book.Entry, error) {
	for _, e := range r.Entries("survey.1") {
		if e.Body.Text("ref") == ref && r.surfaces[ref] != nil {
			return r.surfaces[ref], e, nil
		}
	}
	return nil, nil, errors.New("survey " + ref + " is not on file")
}

// Feature returns the feature of that code, whatever the time.
func (r *Record) Feature(code string, _ time.Time) *plan.Feature { return r.features[code] }

// Holidays returns none.
func (r *Record) Holidays(string) *calendar.Holidays { return nil }
