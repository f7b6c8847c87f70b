package judge

import (
	"errors"
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// hearing is one condition at one place being judged, over one run of its
// versions.
type hearing struct {
	s         *session
	rec       *tracked
	line      *line
	run       []version
	place     string
	q         *quantity.Quantity // nil when the condition names none
	zone      *time.Location
	at        time.Time
	registers []string      // kinds of entry that the quantity was last read from
	duty      bool          // the duty to monitor is written, not the limit
	next      time.Time     // earliest end of a window after at; zero when none was met
	only      calendar.Span // windows that begin outside it are left out; zero: none is
	lostYears bool          // a holiday list lacks years that the windows lie in

	ruled      *permit.Condition // of which ruleText says the rule
	ruleText   string
	readUnit   string          // of the channels that readings come from
	rolling    []calendar.Span // windows that follow the record
	phases     map[string][]calendar.Span
	othersRead map[string][]quantity.Observation // single results at places that limits compare with

	asked    *asks  // of instruments, once read
	aboutOf  string // channel that about is of, where it is the only one
	aboutOne bearings
}

// cond returns the condition as it stood first in the run; within a run only
// limits and the like differ.
func (h *hearing) cond() *permit.Condition { return h.run[0].cond }

// from returns the first instant of the run.
func (h *hearing) from() time.Time { return h.run[0].span.From }

// to returns the end of the run, which may lie ahead.
func (h *hearing) to() time.Time { return h.run[len(h.run)-1].span.To }

// sofar returns the run as far as it has gone.
func (h *hearing) sofar() calendar.Span {
	span := calendar.Span{From: h.from(), To: earlier(h.to(), h.at)}
	if h.only != (calendar.Span{}) {
		return span.Overlap(h.only)
	}
	return span
}

// versionAt returns the version in force at t: the last that began by then,
// or the first of the run.
func (h *hearing) versionAt(t time.Time) *version {
	v := &h.run[0]
	for i := range h.run {
		if !h.run[i].span.From.After(t) {
			v = &h.run[i]
		}
	}
	return v
}

// until notes an instant ahead at which a window ends or a term runs out.
func (h *hearing) until(t time.Time) {
	if t.After(h.at) && t.Before(endless) && (h.next.IsZero() || t.Before(h.next)) {
		h.next = t
	}
}

// observe reads what the record says of the condition's quantity up to the
// time of judging.
func (h *hearing) observe(from time.Time) ([]quantity.Observation, error) {
	h.rec.asked = nil
	list, err := h.observeOf(h.q, h.cond().With, h.place, from)
	h.registers = h.rec.asked
	return list, err
}

// kept tells whether the registers that the quantity is read from hold any
// entry of the place in a window, whatever it says: then somebody was looking.
func (h *hearing) kept(w calendar.Span) []*book.Entry {
	for _, kind := range h.registers {
		for _, e := range h.rec.Entries(kind) {
			from, to := e.Span()
			inside := !from.Before(w.From) && from.Before(w.To) || from.Before(w.From) && to.After(w.From)
			if inside && (h.place == "" || len(e.Places) == 0 || named(e.Places, h.place)) {
				return []*book.Entry{e}
			}
		}
	}
	return nil
}

func (h *hearing) observeOf(q *quantity.Quantity, with map[string]string, place string, from time.Time) ([]quantity.Observation, error) {
	if q.Observe == nil {
		return nil, notBuilt(q.Code + " is read from channels, and this rule from entries")
	}
	h.rec.place(place)
	list, err := q.Observe(h.rec, quantity.Ask{Place: place, From: from, To: h.at.Add(time.Millisecond), With: with})
	switch {
	case err == nil:
		for i := range list {
			h.rec.turn(list[i].From)
		}
		return ordered(list, h.at), nil
	case h.rec.bad != nil:
		return nil, h.rec.bad
	case len(h.rec.lost) > 0:
		return nil, &ErasedError{h.rec.lost[0].ErasedBy}
	}
	return nil, fmt.Errorf("%s: %w", q.Code, err)
}

// happenings reads what the record says of a happening that a condition names.
func (h *hearing) happenings(w *permit.Happening, from time.Time) ([]quantity.Observation, error) {
	q := h.s.list.Named(w.Subject)
	if q == nil {
		return nil, &fault{cause: "unknown quantity " + w.Subject, remedy: "correct the condition, or use a program that knows " + w.Subject}
	}
	place := w.Place
	if place == "" {
		place = h.place
	}
	return h.observeOf(q, w.With, place, from)
}

// holidays returns the list that a version goes by, nil when it names none.
func (h *hearing) holidays(v *version) (*calendar.Holidays, error) {
	if v.holidays == "" {
		return nil, nil
	}
	list := h.rec.Holidays(v.holidays)
	if gone := h.rec.Erased("calendar.1"); list == nil && len(gone) > 0 {
		return nil, &ErasedError{gone[0].ErasedBy}
	}
	if list == nil {
		return nil, &fault{cause: "holiday list " + v.holidays + " is not on file", remedy: "enter the holiday list " + v.holidays}
	}
	return list, nil
}

// fault is why something cannot be judged, in words.
type fault struct{ cause, remedy string }

func (f *fault) Error() string { return f.cause }

// notBuilt names a rule that can be written down but is not judged yet.
func notBuilt(rule string) error {
	return &fault{cause: "rule not built: " + rule, remedy: "judge this by hand; the evidence is listed"}
}

// asFault turns any error into a cause and a remedy.
func asFault(err error) *fault {
	var f *fault
	var gone *ErasedError
	switch {
	case errors.As(err, &f):
		return f
	case errors.As(err, &gone):
		return &fault{cause: gone.Error(), remedy: "what was erased cannot be had again; ask who holds a copy"}
	case errors.Is(err, calendar.ErrNotCovered):
		return &fault{cause: err.Error(), remedy: "enter the holidays of that year with their source"}
	case errors.Is(err, calendar.ErrNoList):
		return &fault{cause: "no holiday list is named", remedy: "name the holiday list of the notice, or say that holidays are ignored"}
	}
	return &fault{cause: err.Error(), remedy: "see the reason given"}
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
