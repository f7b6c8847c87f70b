// Package ground finds what the subjects' level figures rest on: surveys by
// reference or purpose, areas of the plan, and what a level difference is
// worth by the surveys' own check points.
package ground

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
)

// SurveyKind is the kind of entry that a survey is.
const SurveyKind = "survey.1"

// ErrNoSurvey is wrapped when no survey answers to a name.
var ErrNoSurvey = errors.New("no such survey on file")

// Ref returns the name by which the record gives a survey's surface.
func Ref(e *book.Entry) string {
	if ref := e.Body.Text("ref"); ref != "" {
		return ref
	}
	return string(e.ID)
}

// Surveys returns the surveys that name means, oldest first: the one with that
// reference, or else all with that purpose.
func Surveys(rec quantity.Record, name string) []*book.Entry {
	var byPurpose []*book.Entry
	for _, e := range rec.Entries(SurveyKind) {
		switch {
		case e.Body == nil:
		case Ref(e) == name:
			return []*book.Entry{e}
		case e.Body.Text("purpose") == name:
			byPurpose = append(byPurpose, e)
		}
	}
	return byPurpose
}

// Before returns the last survey that name means and that was taken before t,
// or wraps ErrNoSurvey. A survey named by reference is taken whenever it was.
func Before(rec quantity.Record, name string, t time.Time) (*book.Entry, error) {
	list := Surveys(rec, name)
	for _, e := range slices.Backward(list) {
		if e.At.Before(t) || Ref(e) == name {
			return e, nil
		}
	}
	return nil, fmt.Errorf("%q, taken before %s: %w", name, t.UTC().Format("2006-01-02"), ErrNoSurvey)
}

// Area returns the area of a feature as the plan stood at t, in site grid
// metres.
func Area(rec quantity.Record, code string, t time.Time) (*plan.Polygon, error) {
	f := rec.Feature(code, t)
	if f == nil {
		return nil, fmt.Errorf("there is no feature %s on the plan of %s", code, t.UTC().Format("2006-01-02"))
	}
	if f.Frame == plan.FrameWGS84 {
		return nil, fmt.Errorf("feature %s is drawn in longitude and latitude, and areas are measured in the site grid", code)
	}
	area, err := f.Area(code)
	if errors.Is(err, plan.ErrNoArea) {
		return nil, fmt.Errorf("feature %s is no area on the plan", code)
	}
	return area, err
}

// Accuracy returns ± what a level difference between the surveys is worth, in
// metres: the roots of the summed squares of the accuracies that their check
// points showed, errors being independent. Known is false when a survey shows
// none; what is known then still counts.
//
// Source: law of propagation for uncorrelated quantities, JCGM 100:2008
// (GUM), 5.1.2, from memory.
func Accuracy(surveys ...*book.Entry) (m float64, known bool) {
	known = true
	var squares float64
	for _, e := range surveys {
		d, err := unit.ParseDecimal(e.Body.Text("accuracy_shown"))
		if err != nil {
			known = false
			continue
		}
		squares += float64(d.Float() * d.Float())
	}
	return unit.Round9(math.Sqrt(squares)), known
}

// Metres reads a length such as "0.15 m" or "150 mm"; a bare number is metres.
func Metres(s string) (float64, error) {
	number, symbol, _ := strings.Cut(strings.TrimSpace(s), " ")
	d, err := unit.ParseDecimal(number)
	if err != nil {
		return 0, fmt.Errorf("%q is no length such as 0.15 m", s)
	}
	if symbol == "" {
		symbol = "m"
	}
	m, err := unit.Convert(d.Float(), symbol, "m")
	if err != nil {
		return 0, fmt.Errorf("%q is no length: %w", s, err)
	}
	return unit.Round9(m), nil
}
