// Package quantity is the bridge between the subjects and the judge: a
// subject registers what a condition may name, and how it is observed in the
// record; the judge knows subjects only through this list.
package quantity

import (
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
)

// Record is what a judgement may read. Everything it returns is in force and
// as known at the instant the record was opened for; slices are shared and
// must not be changed. Implementations note what was asked for, so that a
// judgement can say what it rests on.
type Record interface {
	// Site returns what the whole record shares.
	Site() Site
	// Entries returns the entries of a kind (name.version), by At then Seq.
	Entries(kind string) []*book.Entry
	// Line returns every entry of the line id belongs to, oldest first.
	Line(id book.ID) []*book.Entry
	// Channels returns the channels of a quantity at a place ("" = all places).
	Channels(quantity, place string) []series.Channel
	// Readings returns the blocks of a channel that touch [from, to), in time
	// order, rejections applied, corrections in force.
	Readings(channel string, from, to time.Time) ([]*series.Block, error)
	// Surface returns the surface made from the survey with that ref.
	Surface(surveyRef string) (*surface.Surface, *book.Entry, error)
	// Feature returns the feature of the plan in force at t, or nil.
	Feature(code string, t time.Time) *plan.Feature
	// Holidays returns the holiday list, as far as its entries go, or nil.
	Holidays(id string) *calendar.Holidays
}

// Site is what the whole record shares.
type Site struct {
	ID   string
	Name string
	Zone *time.Location
}

// Form says how a quantity is observed.
type Form string

// The forms there are.
const (
	Series  Form = "series"  // readings of channels
	Samples Form = "samples" // single results from entries, each with its own instant
	Events  Form = "events"  // things that happen and are counted or summed
	Acts    Form = "acts"    // acts with a beginning and, mostly, an end
	Papers  Form = "papers"  // documents, submissions, approvals
	Levels  Form = "levels"  // a figure computed from surfaces
)

// Observation is one observed thing: a sample, an event, an act, a paper or
// a figure from surfaces. Readings of channels are not observations: the judge
// reads them by Record.Readings.
type Observation struct {
	From, To  time.Time // To equals From for an instant
	Precision book.Precision
	Place     string
	Name      string      // act or paper or stage name, e.g. "strip", "approved"
	Value     float64     // in the quantity's unit; 1 for a bare event
	Text      string      // value as entered, e.g. "<0.05"; may be ""
	Mark      series.Mark // Valid, Below, Above; others: no value, reason by mark
	Low, High float64     // bounds of Value where it is uncertain; both 0 when not
	// FrequencyHz and DistanceM are what limit curves run along; 0: not known.
	FrequencyHz, DistanceM float64
	Note                   string      // one sentence of working; may be ""
	Entry                  *book.Entry // what it rests on
}

// Ask narrows an observation to what a condition names.
type Ask struct {
	Place    string    // feature code; "" = whole site
	From, To time.Time // half-open; a zero To means no end
	// With are the condition's further words for this quantity, such as
	// {"act": "strip"}, {"within": "0.15 m"}, {"before": "pre-works"}.
	With map[string]string
}

// Quantity is one thing that conditions may name.
type Quantity struct {
	Code     string // "noise.laeq"
	Title    string // words in sentences, "LAeq", "heavy vehicle movements"
	Unit     string // unit limits must convert to; "" for pure counts
	Form     Form
	Decibel  bool     // an energy-averaged level: energy mean allowed, arithmetic mean not
	NotBelow *float64 // physical floor, e.g. 0 for a volume; nil when none
	With     []string // words that Ask.With may hold
	Caution  string   // key in the caution catalogue; "" when none
	Help     string
	// Observe reads the record; nil for Series.
	Observe func(Record, Ask) ([]Observation, error)
}

// List is an ordered, checked list of quantities.
type List struct {
	all    []*Quantity
	byCode map[string]*Quantity
}

// NewList lists quantities in the order given and refuses duplicates.
func NewList(qs ...*Quantity) (*List, error) {
	l := &List{byCode: map[string]*Quantity{}}
	for _, q := range qs {
		if l.byCode[q.Code] != nil {
			return nil, fmt.Errorf("quantity %s is listed twice", q.Code)
		}
		l.byCode[q.Code] = q
		l.all = append(l.all, q)
	}
	return l, nil
}

// All returns the quantities in their listed order.
func (l *List) All() []*Quantity { return l.all }

// Named returns the quantity of that code, or nil.
func (l *List) Named(code string) *Quantity { return l.byCode[code] }
