// Package meter turns readings of a counter that only goes up, such as an
// hour meter or a volume meter, into what was counted between readings. A
// counter may begin again at 0 after its last figure, and may be replaced.
package meter

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Fields returns the fields that the kinds of meter readings share: reading,
// digits, replaced and start. symbol is the unit counted.
func Fields(symbol string) []book.Field {
	return []book.Field{
		{Name: "reading", Title: "Reading", Type: book.Decimal, Unit: symbol, Required: true, Min: "0"},
		{Name: "digits", Title: "Figures before the point", Type: book.Integer, Min: "2", Max: "12", Help: "How many the meter has; after the last it begins again at 0."},
		{Name: "replaced", Title: "Meter replaced at this reading", Type: book.Flag, Help: "The reading is then the old meter's last figure."},
		{Name: "start", Title: "New meter began at", Type: book.Decimal, Unit: symbol, Min: "0"},
		{Name: "photo", Title: "Photograph", Type: book.File},
		{Name: "note", Title: "Note", Type: book.Text},
	}
}

// Check asks for the figure that a new meter began with, and refuses a
// reading with more figures than the meter has.
func Check(o book.Object) []book.Fault {
	var faults []book.Fault
	switch {
	case o.Flag("replaced") && !o.Has("start"):
		faults = append(faults, book.Fault{Field: "start", Reason: "the meter was replaced and it is not said what the new one began at", Remedy: "give its first figure, 0 for a new meter"})
	case o.Has("start") && !o.Flag("replaced"):
		faults = append(faults, book.Fault{Field: "replaced", Reason: "a first figure of a new meter is given, but the meter was not replaced", Remedy: "say that it was replaced, or leave the figure out"})
	}
	d, err := unit.ParseDecimal(o.Text("reading"))
	if n := o.Integer("digits"); err == nil && n > 0 && n <= 12 && d.Cmp(limitOf(n)) >= 0 {
		faults = append(faults, book.Fault{Field: "reading", Reason: "the reading has more figures before the point than the meter", Remedy: "check the reading and the number of figures"})
	}
	return faults
}

// limitOf is the first number that a counter of n figures cannot show.
func limitOf(n int64) unit.Decimal {
	d := unit.Decimal{Coefficient: 1}
	for ; n > 0; n-- {
		d.Coefficient *= 10
	}
	return d
}

// Step is what a meter counted between two readings that follow each other.
type Step struct {
	From, To *book.Entry // the readings, From first
	Counted  unit.Decimal
	Doubt    string // why nothing can be said of the step; "" when Counted holds
	Note     string // "begun again at 0", or ""
}

// Steps returns the steps between readings of one meter, which must be in
// order of time. A reading below the one before it is a begun-again counter
// only where the number of its figures is on file and the step is less than
// half its range; else the step is in doubt.
func Steps(readings []*book.Entry) []Step {
	var out []Step
	for i := 1; i < len(readings); i++ {
		out = append(out, step(readings[i-1], readings[i]))
	}
	return out
}

func step(from, to *book.Entry) Step {
	s := Step{From: from, To: to}
	begin := from.Body.Text("reading")
	if from.Body.Flag("replaced") {
		begin = from.Body.Text("start")
	}
	a, errA := unit.ParseDecimal(begin)
	b, errB := unit.ParseDecimal(to.Body.Text("reading"))
	switch {
	case errA != nil || errB != nil:
		s.Doubt = "a reading is no number"
		return s
	case !to.At.After(from.At):
		s.Doubt = "two readings at one time"
		return s
	}
	counted, err := less(b, a)
	if err != nil {
		s.Doubt = "the readings are too long to subtract"
		return s
	}
	if counted.Coefficient >= 0 {
		s.Counted = counted
		return s
	}
	return s.begunAgain(counted)
}

// begunAgain settles a step that seems to go backwards.
func (s Step) begunAgain(counted unit.Decimal) Step {
	digits := s.To.Body.Integer("digits")
	if digits == 0 {
		digits = s.From.Body.Integer("digits")
	}
	if digits <= 0 || digits > 12 {
		s.Doubt = "the meter goes backwards; say whether it was replaced, or how many figures it has if it began again at 0"
		return s
	}
	limit := limitOf(digits)
	found, err := limit.Add(counted)
	if err != nil || found.Coefficient < 0 {
		s.Doubt = "the meter goes backwards by more than its range"
		return s
	}
	if twice, err := found.Add(found); err != nil || twice.Cmp(limit) >= 0 {
		s.Doubt = "the meter goes backwards; to have begun again at 0 it would have run through more than half its range"
		return s
	}
	s.Counted, s.Note = found, "the meter began again at 0"
	return s
}

// less returns a - b.
func less(a, b unit.Decimal) (unit.Decimal, error) {
	return a.Add(unit.Decimal{Coefficient: -b.Coefficient, Places: b.Places})
}
