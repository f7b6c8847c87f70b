package judge

import (
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// orderedOutcomes judges each act that had to wait for another: the first must
// have happened before it. Acts outside the condition's schedule, such as a
// season, are not asked about.
func (h *hearing) orderedOutcomes() ([]outcome, error) {
	c := h.cond()
	if c.First == nil || c.Then == nil {
		return nil, &fault{cause: "the condition does not say what must come first", remedy: "name the two happenings in the condition"}
	}
	acts, err := h.happenings(c.Then, h.from())
	if err != nil {
		return nil, err
	}
	// What was erased of the acts may have been one that had to wait.
	out := h.erasedAlone(h.rec.lost)
	firsts, err := h.happenings(c.First, time.Time{})
	if err != nil {
		return nil, err
	}
	lost := h.rec.lost
	for i := range acts {
		a := &acts[i]
		if a.From.Before(h.from()) || !a.From.Before(h.to()) {
			continue
		}
		v := h.versionAt(a.From)
		applies, err := h.openAt(v, a.From)
		if err != nil {
			return nil, err
		}
		if !applies {
			continue
		}
		o, err := h.judgeOrder(a, firsts, v)
		if err != nil {
			return nil, err
		}
		h.erasedOrder(&o, lost)
		out = append(out, o)
	}
	return out, nil
}

// erasedOrder takes back a breach that rests on nothing being found where
// something was erased.
func (h *hearing) erasedOrder(o *outcome, lost []*book.Entry) {
	if o.verdict == Complied || len(lost) == 0 || !o.absent {
		return
	}
	f := asFault(&ErasedError{lost[0].ErasedBy})
	o.verdict, o.cause, o.remedy, o.reason = CannotBeJudged, f.cause, f.remedy, f.cause
	o.entries = bySeq(append(o.entries, lost...))
}

// judgeOrder finds the last happening that surely came before the act.
func (h *hearing) judgeOrder(a *quantity.Observation, firsts []quantity.Observation, v *version) (outcome, error) {
	o := outcome{span: calendar.Span{From: a.From, To: later(a.From, a.To)}, ver: v}
	o.text = h.happeningText(v.cond.First) + " before " + h.happeningText(v.cond.Then)
	o.entries = entriesOf([]quantity.Observation{*a})
	act := h.extent(a)
	var before, same, after *quantity.Observation
	for i := range firsts {
		f := &firsts[i]
		if a.Place != "" && f.Place != "" && a.Place != f.Place {
			continue
		}
		e := h.extent(f)
		switch {
		case !e.To.After(act.From):
			before = f
		case e.From.Before(act.To) && same == nil:
			same = f
		case after == nil:
			after = f
		}
	}
	if before != nil {
		o.entries = bySeq(append(o.entries, entriesOf([]quantity.Observation{*before})...))
		return o, h.stillGood(&o, before, a)
	}
	if same != nil {
		o.entries = bySeq(append(o.entries, entriesOf([]quantity.Observation{*same})...))
		o.verdict, o.cause, o.remedy = CannotBeJudged, "which came first on the day is not on record", "enter the hour of both"
		o.reason, o.unsure = o.cause, true
		return o, nil
	}
	h.noFirst(&o, after)
	return o, nil
}

// extent is the stretch of time in which an observation's beginning lies, by
// its precision.
func (h *hearing) extent(a *quantity.Observation) calendar.Span {
	switch a.Precision {
	case book.ToDay:
		d := calendar.DateOf(a.From, h.zone)
		return calendar.Span{From: d.Start(h.zone), To: d.AddDays(1).Start(h.zone)}
	case book.ToMinute:
		m := a.From.Truncate(time.Minute)
		return calendar.Span{From: m, To: m.Add(time.Minute)}
	}
	return calendar.Span{From: a.From, To: a.From.Add(time.Millisecond)}
}

// stillGood judges whether what came first had not run out by the act.
func (h *hearing) stillGood(o *outcome, before, a *quantity.Observation) error {
	o.verdict = Complied
	o.reason = "on " + h.moment(before)
	good := o.ver.cond.GoodFor
	if good == nil {
		return nil
	}
	days, err := h.holidays(o.ver)
	if err != nil {
		return err
	}
	end, err := calendar.Due(before.From, calendar.Term{N: good.N, Unit: good.Unit}, o.ver.zone, days)
	if err != nil {
		return err
	}
	if !a.From.Before(end.Ends) {
		o.verdict = NotComplied
		o.reason = fmt.Sprintf("the last was on %s and good for %s only", h.moment(before), plural(good.N, good.Unit, good.Unit+"s"))
	}
	return nil
}

// noFirst is an act before which nothing is found.
func (h *hearing) noFirst(o *outcome, after *quantity.Observation) {
	if after != nil {
		o.entries = bySeq(append(o.entries, entriesOf([]quantity.Observation{*after})...))
		o.verdict = NotComplied
		o.reason = "it came only on " + h.moment(after) + "; what is done from then on is in order"
		return
	}
	o.absent = true
	o.reason = "none is on file"
	if m := o.ver.cond.Missing; m == permit.NotDone || m == permit.GapIsBreach {
		o.verdict = NotComplied
		o.reason += "; presumed not done until it is"
		return
	}
	o.verdict, o.cause, o.remedy = CannotBeJudged, "nothing on file", "enter "+h.happeningText(o.ver.cond.First)+", or that there is none"
}

// moment writes when an observation was, as closely as it is known.
func (h *hearing) moment(o *quantity.Observation) string {
	if o.Precision == book.ToDay {
		return day(o.From, h.zone)
	}
	return when(o.From, h.zone)
}

// happeningText names a happening.
func (h *hearing) happeningText(w *permit.Happening) string {
	title := w.Subject
	if q := h.s.list.Named(w.Subject); q != nil {
		title = q.Title
	}
	keys := make(map[string]bool, len(w.With))
	for k := range w.With {
		keys[k] = true
	}
	for i, k := range names(keys) {
		sep := " ("
		if i > 0 {
			sep = ", "
		}
		title += sep + w.With[k]
	}
	if len(w.With) > 0 {
		title += ")"
	}
	return title
}
