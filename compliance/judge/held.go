package judge

import (
	"fmt"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Held says whether a stop on an act was kept. It is no condition of a permit
// and stands in no roll-up: a hold is the site's own.
type Held struct {
	Entry    *book.Entry
	Verdict  Verdict
	Sentence string
	Work     []*book.Entry // acts inside it
	Unplaced []*book.Entry // acts in its time whose entry names no place
}

// HeldWork judges every hold that has begun: the act it stops must not be done
// in its place and time. Acts are those of the record; a time without a line of
// the diary says nothing.
func HeldWork(rec *Record, list *quantity.List, at time.Time) ([]Held, error) {
	q := list.Named(actQuantity)
	if q == nil || q.Observe == nil {
		return nil, nil
	}
	var out []Held
	for _, e := range rec.Entries(holdKind) {
		if e.Body == nil || !e.At.Before(at) {
			continue
		}
		span := calendar.Span{From: e.At, To: at}
		if !e.Until.IsZero() && e.Until.Before(at) {
			span.To = e.Until
		}
		h := Held{Entry: e}
		acts, err := q.Observe(rec, quantity.Ask{To: span.To})
		if err != nil {
			return nil, err
		}
		for i := range acts {
			h.look(&acts[i], span)
		}
		h.conclude(rec, span, at)
		out = append(out, h)
	}
	return out, nil
}

// look notes an act that lies in the time of the hold and is of its kind.
func (h *Held) look(o *quantity.Observation, span calendar.Span) {
	stopped := h.Entry.Body.Text("act")
	if stopped != act.AllWorks && stopped != o.Name || o.Entry == nil {
		return
	}
	from, to := o.From, o.To
	if !to.After(from) {
		to = from.Add(time.Millisecond)
	}
	if !from.Before(span.To) || !to.After(span.From) {
		return
	}
	places := o.Entry.Places
	switch {
	case len(h.Entry.Places) == 0 || slices.ContainsFunc(places, func(p string) bool { return named(h.Entry.Places, p) }):
		h.Work = append(h.Work, o.Entry)
	case len(places) == 0:
		h.Unplaced = append(h.Unplaced, o.Entry)
	}
}

func (h *Held) conclude(rec *Record, span calendar.Span, at time.Time) {
	zone := rec.site.Zone
	head := fmt.Sprintf("%s held from %s", h.Entry.Body.Text("act"), when(h.Entry.At, zone))
	if span.To.Before(at) {
		head += " to " + when(span.To, zone)
	}
	kept := slices.ContainsFunc(rec.Entries("diary.1"), func(e *book.Entry) bool {
		return e.At.Before(span.To) && !e.At.Before(calendar.DateOf(span.From, zone).Start(zone))
	})
	switch {
	case len(h.Work) > 0:
		h.Verdict = NotComplied
		h.Sentence = head + fmt.Sprintf(": not complied — done %s inside it, first on %s", plural(len(h.Work), "time", "times"), when(later(h.Work[0].At, span.From), zone))
	case len(h.Unplaced) > 0:
		h.Verdict = CannotBeJudged
		h.Sentence = head + ": cannot be judged — it was done in that time, and the entry does not say where"
	case !kept:
		h.Verdict = CannotBeJudged
		h.Sentence = head + ": cannot be judged — the diary has no line in that time"
	case h.open(at):
		h.Verdict = NotYetDue
		h.Sentence = head + ": kept so far"
	default:
		h.Verdict = Complied
		h.Sentence = head + ": complied — nothing of it is on record in that time"
	}
}

// open tells whether the hold still stands.
func (h *Held) open(at time.Time) bool {
	return !h.Entry.Body.Flag("released") && (h.Entry.Until.IsZero() || h.Entry.Until.After(at))
}
