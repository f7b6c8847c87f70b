package judge

import (
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// due is one term: what started it, and when it is over.
type due struct {
	trigger *quantity.Observation // nil for fixed dates, grants and window ends
	from    time.Time             // where the term is counted from
	last    calendar.Date         // last day in time
	ends    time.Time             // instant it is over
	window  calendar.Span         // whose end it is counted from; zero for the others
	after   time.Time             // what fulfils it may not lie before this
	ver     *version
	words   string // what it was counted from
}

// datedOutcomes judges each term of the condition: done by its last day.
func (h *hearing) datedOutcomes() ([]outcome, error) {
	c := h.cond()
	if c.Deadline == nil || c.Done == nil {
		return nil, &fault{cause: "the condition does not say what is to be done by when", remedy: "complete the condition"}
	}
	done, err := h.happenings(c.Done, time.Time{})
	if err != nil {
		return nil, err
	}
	dues, err := h.dues()
	if err != nil {
		return nil, err
	}
	taken := map[int]bool{}
	var out []outcome
	for i := range dues {
		if !h.dueInPhase(&dues[i]) {
			continue
		}
		h.until(dues[i].ends)
		o := h.judgeDue(&dues[i], done, taken)
		if o.absent && len(h.rec.lost) > 0 {
			h.erasedOrder(&o, h.rec.lost)
		}
		out = append(out, o)
	}
	sortOutcomes(out)
	return out, nil
}

// dueInPhase tells whether a term begins in the phase of its version, or is
// that of a window of which some part lies in it.
func (h *hearing) dueInPhase(d *due) bool {
	if d.ver.cond.Phase == "" {
		return true
	}
	if d.window == (calendar.Span{}) {
		return h.duringPhase(d.ver, d.from)
	}
	for _, s := range h.phaseSpans(d.ver.cond.Phase) {
		if s.From.Before(d.window.To) && d.window.From.Before(s.To) {
			return true
		}
	}
	return false
}

// dues lists the terms that have begun.
func (h *hearing) dues() ([]due, error) {
	d := h.cond().Deadline
	v := &h.run[len(h.run)-1]
	switch {
	case d.Start == permit.EachHappening || d.Start == permit.FirstHappening:
		return h.duesOfHappenings(d)
	case d.Start == permit.WindowEnd:
		return h.duesOfWindows(d)
	case d.Start == permit.Grant:
		one, err := h.term(d, calendar.Date(v.granted).Start(v.zone), v)
		one.words = "the grant on " + v.granted.String()
		return []due{one}, err
	}
	one := due{from: h.from(), last: d.By, ends: d.By.AddDays(1).Start(v.zone), ver: v, words: "the date set"}
	return []due{one}, nil
}

// duesOfHappenings counts a term from each happening, or from the first.
func (h *hearing) duesOfHappenings(d *permit.Deadline) ([]due, error) {
	list, err := h.happenings(d.Of, h.from())
	if err != nil {
		return nil, err
	}
	var out []due
	for i := range list {
		o := &list[i]
		if o.From.Before(h.from()) || !o.From.Before(h.to()) {
			continue
		}
		one, err := h.term(d, o.From, h.versionAt(o.From))
		if err != nil {
			return nil, err
		}
		one.trigger, one.words = o, h.happeningText(d.Of)+" on "+h.moment(o)
		if d.Before {
			one.after = time.Time{}
			if n := len(out); n > 0 {
				one.after = out[n-1].from
			}
		}
		out = append(out, one)
		if d.Start == permit.FirstHappening {
			break
		}
	}
	return out, nil
}

// duesOfWindows counts a term from the end of each window, as for returns.
func (h *hearing) duesOfWindows(d *permit.Deadline) ([]due, error) {
	wins, _, err := h.windows()
	if err != nil {
		return nil, err
	}
	var out []due
	for i := range wins {
		w := &wins[i]
		// The window's last day is what is counted from.
		one, err := h.term(d, w.span.To.Add(-time.Millisecond), w.ver)
		if err != nil {
			return nil, err
		}
		one.window = w.span
		one.after, one.words = w.span.To, "the end of "+spanText(w.span, h.zone)
		if w.span.To.After(h.at) {
			h.until(one.ends)
			continue
		}
		out = append(out, one)
	}
	return out, nil
}

// term counts the deadline from an instant, and takes the earlier or later of
// it and the fixed date where both stand.
func (h *hearing) term(d *permit.Deadline, from time.Time, v *version) (due, error) {
	days, err := h.holidays(v)
	if err != nil {
		return due{}, err
	}
	end, err := calendar.Due(from, calendar.Term{
		N: d.N, Unit: d.Unit, Counting: calendar.Counting(d.Counting), Before: d.Before, Roll: calendar.Roll(d.Roll),
	}, v.zone, days)
	if err != nil {
		return due{}, err
	}
	out := due{from: from, last: end.Last, ends: end.Ends, ver: v, after: from}
	if !d.By.IsZero() {
		by := d.By.AddDays(1).Start(v.zone)
		if by.Before(out.ends) != d.Later {
			out.last, out.ends = d.By, by
		}
	}
	return out, nil
}

// judgeDue looks for what fulfils a term.
func (h *hearing) judgeDue(d *due, done []quantity.Observation, taken map[int]bool) outcome {
	o := outcome{ver: d.ver, span: calendar.Span{From: earlier(d.from, d.ends), To: later(d.from, d.ends)}}
	o.text = fmt.Sprintf("%s by %s", h.happeningText(d.ver.cond.Done), h.last(d))
	if d.trigger != nil {
		o.entries = entriesOf([]quantity.Observation{*d.trigger})
	}
	k := h.fulfils(d, done, taken)
	if k < 0 {
		h.notDone(&o, d, done)
	} else {
		taken[k] = true
		o.entries = bySeq(append(o.entries, entriesOf(done[k:k+1])...))
		h.doneAt(&o, d, &done[k])
	}
	if h.s.opts.Working {
		o.steps = dueSteps(h, &o, d, k, done)
	}
	return o
}

func (h *hearing) last(d *due) string {
	if u := h.cond().Deadline.Unit; d.trigger != nil && (u == "hour" || u == "minute" || u == "hours" || u == "minutes") {
		return when(d.ends, h.zone)
	}
	return day(d.ends.Add(-time.Millisecond), h.zone)
}

// fulfils returns which happening fulfils a term, or -1: after a trigger the
// first that follows it; before one the last that is in time, after the
// trigger before; of returns each is taken once.
func (h *hearing) fulfils(d *due, done []quantity.Observation, taken map[int]bool) int {
	dl := h.cond().Deadline
	found := -1
	for k := range done {
		x := &done[k]
		if d.trigger != nil && d.trigger.Place != "" && x.Place != "" && d.trigger.Place != x.Place {
			continue
		}
		switch {
		case dl.Before:
			if x.From.Before(d.from) && (d.after.IsZero() || x.From.After(d.after)) && (found < 0 || x.From.Before(d.ends)) {
				found = k
			}
		case x.From.Before(d.after) && dl.Start != permit.Grant && dl.Start != "" && !h.sameDay(x, d):
		case dl.Start == permit.WindowEnd && taken[k]:
		default:
			return k
		}
	}
	return found
}

// sameDay tells whether a day-precision happening may lie after the trigger
// on its day.
func (h *hearing) sameDay(x *quantity.Observation, d *due) bool {
	return h.extent(x).To.After(d.after)
}

// doneAt judges when a thing was done against its term.
func (h *hearing) doneAt(o *outcome, d *due, x *quantity.Observation) {
	e := h.extent(x)
	o.shown = h.moment(x)
	switch {
	case !e.To.After(d.ends):
		o.verdict = Complied
		o.reason = "done on " + h.moment(x)
	case e.From.Before(d.ends):
		o.verdict, o.cause, o.remedy = CannotBeJudged, "only the day it was done is known", "enter the hour it was done"
		o.reason, o.unsure = "done on "+h.moment(x)+", and the term ran out on that day", true
	default:
		o.verdict = NotComplied
		o.reason = fmt.Sprintf("done on %s, %s late", h.moment(x), h.lateBy(x.From, d))
	}
}

// lateBy says how late a thing was done: in days where the term is in days.
func (h *hearing) lateBy(t time.Time, d *due) string {
	if late := t.Sub(d.ends); late < 24*time.Hour && h.last(d) != day(d.ends.Add(-time.Millisecond), h.zone) {
		return spell(late)
	}
	n := calendar.DateOf(t, h.zone).Sub(calendar.DateOf(d.ends.Add(-time.Millisecond), h.zone))
	return plural(n, "day", "days")
}

// notDone is a term with nothing on file that fulfils it.
func (h *hearing) notDone(o *outcome, d *due, done []quantity.Observation) {
	m := d.ver.cond.Missing
	switch {
	case d.ends.After(h.at):
		o.verdict = NotYetDue
		o.reason = "counted from " + d.words
	case h.cond().Deadline.Before && len(done) > 0 && done[0].From.Before(d.from):
		o.verdict, o.cause, o.remedy = CannotBeJudged, "the notice on file came before an earlier act too", "say which act the notice was for"
		o.reason = o.cause
	case m == permit.NotDone || m == permit.GapIsBreach:
		o.verdict, o.absent = NotComplied, true
		o.reason = "nothing on file; presumed not done until it is"
	default:
		o.verdict, o.cause, o.remedy, o.absent = CannotBeJudged, "nothing on file", "enter when it was done, or that it was not", true
		o.reason = o.cause
	}
}
