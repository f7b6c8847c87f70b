// Package observe holds what the subjects' quantities have in common when they
// turn entries into observations: which entries are asked for, and what an
// entry alone says of time and place.
package observe

import (
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Of returns the observation of a bare event that an entry makes: its span,
// its place and the value 1. Place is the one asked for, or the entry's own
// when it names exactly one.
func Of(e *book.Entry, ask quantity.Ask) quantity.Observation {
	from, to := e.Span()
	o := quantity.Observation{From: from, To: to, Precision: e.Precision, Place: ask.Place, Value: 1, Entry: e}
	if o.Place == "" && len(e.Places) == 1 {
		o.Place = e.Places[0]
	}
	return o
}

// During tells whether the span from to until touches what is asked for. A
// span without length does where it lies in [From, To).
func During(ask quantity.Ask, from, until time.Time) bool {
	if !ask.To.IsZero() && !from.Before(ask.To) {
		return false
	}
	return !from.Before(ask.From) || until.After(ask.From)
}

// At tells whether an entry names the place asked for; with none asked for,
// every entry does. An entry that names no place is not at a place asked for.
func At(e *book.Entry, ask quantity.Ask) bool {
	return ask.Place == "" || slices.Contains(e.Places, ask.Place)
}

// Covers is At for what holds for the whole site where it names no place, such
// as the approval of a scheme.
func Covers(e *book.Entry, ask quantity.Ask) bool { return len(e.Places) == 0 || At(e, ask) }

// Says tells whether the body agrees with every further word of the question
// that names one of its text members; words says which these are.
func Says(o book.Object, ask quantity.Ask, words ...string) bool {
	for _, w := range words {
		if want := ask.With[w]; want != "" && o.Text(w) != want {
			return false
		}
	}
	return true
}

// Wanted returns the entries of a kind that the question asks for by time and
// place, with a body that agrees with the words.
func Wanted(rec quantity.Record, kind string, ask quantity.Ask, words ...string) []*book.Entry {
	var out []*book.Entry
	for _, e := range rec.Entries(kind) {
		from, to := e.Span()
		if e.Body != nil && During(ask, from, to) && At(e, ask) && Says(e.Body, ask, words...) {
			out = append(out, e)
		}
	}
	return out
}

// Read takes a result as reported, such as "<0.05", into an observation: its
// value, converted from the unit reported to another, its mark and its text.
func Read(o *quantity.Observation, text, reported, to string) error {
	d, err := unit.ParseDecimal(strings.TrimLeft(text, "<>"))
	if err != nil {
		return err
	}
	value, err := unit.Convert(d.Float(), reported, to)
	if err != nil {
		return err
	}
	o.Value, o.Text = unit.Round9(value), strings.TrimSpace(text+" "+reported)
	switch {
	case strings.HasPrefix(text, "<"):
		o.Mark = series.Below
	case strings.HasPrefix(text, ">"):
		o.Mark = series.Above
	}
	return nil
}
