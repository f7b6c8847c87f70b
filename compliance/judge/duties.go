package judge

import (
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Duties lists what conditions in force at an instant want done: deadlines whose
// time has begun, and one ahead of those that follow windows; things to be on
// file; the least number of a running window; a result in a running period;
// statements. Verdicts are another matter: a window that is over and was not
// met is judged, and no longer something to do.
func Duties(rec *Record, list *quantity.List, at time.Time) ([]duty.Duty, error) {
	s, _, err := begin(rec, list, Options{At: at})
	if err != nil {
		return nil, err
	}
	var clauses Clauses
	if _, err := s.open(&clauses); err != nil {
		return nil, err
	}
	var out []duty.Duty
	for _, t := range s.tasks() {
		for _, run := range t.line.runs(t.place) {
			h := s.whole(t.line, t.place).of(run)
			if h.cond().Severity == permit.AsActionLevel || h.cond().Severity == permit.AsInformation || !h.from().Before(h.at) {
				continue
			}
			out = append(out, h.terms()...)
		}
	}
	return out, nil
}

// terms lists what one run of a condition wants done. What cannot be told is
// left to its judgement, which says so.
func (h *hearing) terms() []duty.Duty {
	c := h.cond()
	if err := h.ready(c); err != nil {
		return nil
	}
	var out []duty.Duty
	running := h.at.Before(h.to())
	switch {
	case c.Kind == permit.Dated:
		out = h.datedTerms()
	case !running || c.Phase != "" && !h.duringPhase(&h.run[0], h.at):
	case c.Kind == permit.Present && c.Done != nil:
		out = h.presentTerms()
	case c.Kind == permit.Stated:
		out = h.statedTerms()
	case c.Kind == permit.Counted && h.q.Observe != nil && c.Statistic.Name != permit.Duration:
		out = h.countedTerms()
	}
	if d := h.dutyOf(); running && d != nil && d.Every != nil && h.q != nil {
		out = append(out, h.monitoringTerms(*d.Every)...)
	}
	return out
}

func (h *hearing) newTerm(what string, from, by time.Time) duty.Duty {
	return duty.Duty{
		Permit: h.line.permit, Clause: h.line.clause, Condition: h.line.id, Title: h.cond().Title, Place: h.place,
		What: what, From: from, By: by, More: 1,
	}
}

func (h *hearing) datedTerms() []duty.Duty {
	c := h.cond()
	if c.Deadline == nil || c.Done == nil {
		return nil
	}
	done, err := h.happenings(c.Done, time.Time{})
	kinds := slices.Clone(h.rec.asked)
	if err != nil {
		return nil
	}
	dues, err := h.dues()
	if err != nil {
		return nil
	}
	if next, ok := h.nextOfWindows(c.Deadline); ok {
		dues = append(dues, next)
	}
	taken := map[int]bool{}
	var out []duty.Duty
	for i := range dues {
		d := &dues[i]
		if !h.dueInPhase(d) {
			continue
		}
		t := h.newTerm(h.happeningText(d.ver.cond.Done), d.from, d.ends)
		t.Why, t.Kinds, t.Fill = "counted from "+d.words, kinds, d.ver.cond.Done.With
		if d.words == "the date set" {
			t.Why = "on the date set"
		}
		if k := h.fulfils(d, done, taken); k >= 0 {
			taken[k] = true
			t.More, t.Done = 0, entriesOf(done[k:k+1])
		}
		out = append(out, t)
	}
	return out
}

// nextOfWindows is the term that the running window will start: the return of
// the month that is not over yet.
func (h *hearing) nextOfWindows(d *permit.Deadline) (due, bool) {
	if d.Start != permit.WindowEnd || !h.at.Before(h.to()) {
		return due{}, false
	}
	w, err := h.windowAt(h.at)
	if err != nil || !w.To.After(h.at) || rolling(h.cond().Window) {
		return due{}, false
	}
	one, err := h.term(d, w.To.Add(-time.Millisecond), h.versionAt(h.at))
	one.window, one.after, one.words = w, w.To, "the end of "+spanText(w, h.zone)
	return one, err == nil
}

func (h *hearing) presentTerms() []duty.Duty {
	c := h.cond()
	from, by, ok := h.running()
	if !ok {
		return nil
	}
	once := by.IsZero()
	if once { // there from the first day on
		from, by = h.from(), h.from()
	}
	since := from
	if once {
		since = time.Time{}
	}
	list, err := h.happenings(c.Done, since)
	if err != nil {
		return nil
	}
	t := h.newTerm(h.happeningText(c.Done)+" on file", from, by)
	t.Kinds, t.Fill = slices.Clone(h.rec.asked), c.Done.With
	if len(list) > 0 {
		t.More, t.Done = 0, entriesOf(list)
	}
	return []duty.Duty{t}
}

func (h *hearing) statedTerms() []duty.Duty {
	c := h.cond()
	from, by, ok := h.running()
	if !ok {
		return nil
	}
	once := by.IsZero()
	if once {
		from, by = h.from(), h.from()
	}
	t := h.newTerm("statement of the "+c.Role, from, by)
	t.Kinds, t.Post = []string{"statement.1"}, c.Role
	t.Fill = map[string]string{"permit": h.line.permit, "clause": c.Clause, "role": c.Role}
	for _, e := range h.statements() {
		if once || !e.At.Before(from) && e.At.Before(by) {
			t.More, t.Done = 0, []*book.Entry{e}
		}
	}
	return []duty.Duty{t}
}

// countedTerms is the least number wanted in the running window.
func (h *hearing) countedTerms() []duty.Duty {
	c := h.cond()
	from, by, ok := h.running()
	if !ok || by.IsZero() || len(c.Limits) != 1 || c.Limits[0].Form != permit.Constant {
		return nil
	}
	l := &c.Limits[0]
	want := l.Value.Float()
	switch l.Comparator {
	case permit.AtLeastLimit:
		want = math.Ceil(want)
	case permit.Above:
		want = math.Floor(want) + 1
	default:
		return nil
	}
	list, err := h.observe(from)
	if err != nil {
		return nil
	}
	n := 0
	for i := range list {
		if o := &list[i]; !o.From.Before(from) && o.From.Before(by) {
			list[n] = *o
			n++
		}
	}
	list = list[:n]
	had, lost := h.total(&window{span: calendar.Span{From: from, To: by}, ver: h.versionAt(h.at)}, list)
	if len(lost) > 0 {
		return nil
	}
	t := h.newTerm(fmt.Sprintf("%s: %s in %s", h.q.Title, l, spanText(calendar.Span{From: from, To: by}, h.zone)), from, by)
	t.Kinds, t.Fill = h.registers, c.With
	t.More, t.Done = max(int(math.Ceil(want-had.low)), 0), entriesOf(list)
	return []duty.Duty{t}
}

// monitoringTerms is the result wanted in the running period.
func (h *hearing) monitoringTerms(p calendar.Period) []duty.Duty {
	all, err := h.dutyEvery(p)
	if err != nil {
		return nil
	}
	var out []duty.Duty
	for i := range all {
		o := &all[i]
		if h.at.Before(o.span.From) || !h.at.Before(o.span.To) {
			continue
		}
		t := h.newTerm(h.q.Title+": a result in "+spanText(o.span, h.zone), o.span.From, o.span.To)
		t.Kinds, t.Fill = h.registers, h.cond().With
		if o.verdict == Complied {
			t.More, t.Done = 0, o.entries
		}
		out = append(out, t)
	}
	return out
}

// running returns the window that runs at the time of judging, both ends zero
// where the condition has none that ends; false where it cannot be told.
func (h *hearing) running() (from, by time.Time, ok bool) {
	w := h.cond().Window
	if w.Kind == "" || w.Kind == calendar.WholeLife {
		return time.Time{}, time.Time{}, true
	}
	if rolling(w) || w.Kind == calendar.Instant || w.Kind == calendar.Event || w.Kind == calendar.Exposure {
		return time.Time{}, time.Time{}, false
	}
	span, err := h.windowAt(h.at)
	if err != nil || !span.From.Before(span.To) {
		return time.Time{}, time.Time{}, false
	}
	return span.From, span.To, true
}
