package judge

import (
	"math"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// countedOutcomes judges how much of a thing happened in each window. A window
// without a single record is none of nothing: unless the condition says that
// counting goes on, that nothing happened has to be on record too.
func (h *hearing) countedOutcomes() ([]outcome, error) {
	switch h.cond().Window.Kind {
	case calendar.Instant, calendar.Event, calendar.Exposure:
		return nil, notBuilt("counting in windows of " + h.cond().Window.String())
	}
	if h.q.Observe == nil {
		return nil, notBuilt("counting of readings")
	}
	list, err := h.observe(h.from())
	if err != nil {
		return nil, err
	}
	if h.cond().Window.Kind == calendar.RollingHour {
		// One beginning with each event: no other hour can hold more.
		h.rolling = []calendar.Span{}
		for i := range list {
			if from := list[i].From; i == 0 || !from.Equal(list[i-1].From) {
				h.rolling = append(h.rolling, calendar.Span{From: from, To: from.Add(time.Hour)})
			}
		}
	}
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	for i := range wins {
		out = append(out, h.judgeCounted(&wins[i], inWindow(&wins[i], list)))
	}
	sortOutcomes(out)
	return out, nil
}

// inWindow returns the events that begin in a window, and those with a length
// that reach into it. Events are in order of time.
func inWindow(w *window, list []quantity.Observation) []quantity.Observation {
	end := sort.Search(len(list), func(k int) bool { return !list[k].From.Before(w.span.To) })
	var in []quantity.Observation
	for k := range list[:end] {
		if x := &list[k]; w.holds(x.From) || x.From.Before(w.span.From) && x.To.After(w.span.From) {
			in = append(in, *x)
		}
	}
	return in
}

// judgeCounted judges the events of one window.
func (h *hearing) judgeCounted(w *window, list []quantity.Observation) outcome {
	c := w.ver.cond
	o := outcome{span: w.span, ver: w.ver, entries: entriesOf(list)}
	b, lost := h.total(w, list)
	o.excluded = lost
	if len(list) == 0 && c.Missing != permit.CountGoesOn {
		if o.entries = h.kept(w.span); len(o.entries) == 0 {
			h.noRecord(&o)
			return o
		}
		o.reason = "none on record, in a register that was kept"
	}
	if len(list) == 0 && c.Missing == permit.CountGoesOn && h.neverKept() {
		h.noRecord(&o)
		return o
	}
	ahead := h.pending(&o)
	gap := h.unmetered(&o, list)
	if len(lost) > 0 || ahead || gap && c.Missing != permit.CountGoesOn {
		b.high = math.Inf(1)
	}
	f, err := h.weigh(&o, b, h.countUnit(c))
	if err != nil {
		return cannot(w.span, w.ver, asFault(err))
	}
	h.decideCounted(&o, f, len(list) == 0, gap)
	if h.s.opts.Working {
		o.steps = countedSteps(&o, list)
	}
	return o
}

// neverKept tells whether nothing of the register is on file at all: then there
// is no count that could go on.
func (h *hearing) neverKept() bool {
	return h.s.opts.Rules >= 2 && len(h.kept(calendar.Span{To: h.at.Add(time.Millisecond)})) == 0
}

// decideCounted sets the verdict of a window of events.
func (h *hearing) decideCounted(o *outcome, f fit, none, gap bool) {
	c := o.ver.cond
	ahead := h.pending(o)
	switch {
	case c.Severity == permit.AsInformation || len(c.Limits) == 0:
		o.verdict = NotApplicable
	case ahead && f == broken:
		o.verdict, o.reason = NotComplied, "what is still to come cannot change this"
	case ahead:
		o.verdict, o.margin = NotYetDue, nil
		o.b, o.shown = certain(o.b.low), ""
	case f == open && gap:
		o.settle(f, "not enough valid data", "enter the meter readings at the beginning and end of the window")
		o.reason = "the readings of the meter do not cover the whole window"
	case f == open && !math.IsInf(o.b.high, 1):
		o.settle(f, "readings of the meter fall across the window's edges", "read the meter when a window begins and ends")
		o.reason, o.unsure = o.cause, true
	default:
		o.settle(f, "a record lacks its figure", "enter the figure that is missing")
	}
	if none && c.Missing == permit.CountGoesOn {
		o.reason = "nothing is on record; counting goes on"
	}
	if f == broken && !ahead && (gap || len(o.excluded) > 0) {
		o.reason = "the gap cannot change this"
	}
}

// unmetered tells whether events that stand for a length of time, such as the
// steps of a meter, leave part of the window uncovered that is needed (things
// that are only counted leave none, however long they last), and
// notes the share covered.
func (h *hearing) unmetered(o *outcome, list []quantity.Observation) bool {
	var spans []calendar.Span
	for i := range list {
		if x := &list[i]; x.To.After(x.From) && x.Mark.Counts() {
			spans = append(spans, calendar.Span{From: x.From, To: x.To}.Overlap(o.span))
		}
	}
	if len(spans) == 0 || h.q.Form != quantity.Events || h.q.Unit == "" {
		return false
	}
	var covered time.Duration
	for _, s := range calendar.Merge(spans) {
		covered += s.Length()
	}
	share := unit.Round9(float64(covered.Milliseconds()) / float64(o.span.Length().Milliseconds()))
	o.coverage = &share
	return !shareMet(covered.Milliseconds(), o.span.Length().Milliseconds(), o.ver.cond.Coverage.Window)
}

// total adds the events: of a pure count what each counts for, of a quantity
// with a unit the sum, or their number where the condition asks for a count.
// Of an event that reaches over the window's edges anything from nothing to
// all may belong to it.
func (h *hearing) total(w *window, list []quantity.Observation) (bounds, []Excluded) {
	values, lost := sampled(list, permit.AsFull, h.q.NotBelow)
	if len(values) == 0 {
		return certain(0), lost
	}
	if w.ver.cond.Statistic.Name == permit.Count && h.q.Unit != "" {
		return certain(float64(len(values))), lost
	}
	var inside []quantity.Observation
	for _, x := range list {
		if !x.From.Before(w.span.From) && !x.To.After(w.span.To) || h.q.Form != quantity.Events {
			inside = append(inside, x)
		}
	}
	b := bounds{0, totals(values, false).high}
	if sure, _ := sampled(inside, permit.AsFull, h.q.NotBelow); len(sure) > 0 {
		b.low = totals(sure, false).low
	}
	return b, lost
}

func (h *hearing) countUnit(c *permit.Condition) string {
	if c.Statistic.Name == permit.Count {
		return ""
	}
	return h.q.Unit
}

// noRecord sets the verdict of a window of which nothing is on record.
func (h *hearing) noRecord(o *outcome) {
	c := o.ver.cond
	o.reason = "nothing is on record, nor that there was none"
	switch {
	case h.pending(o):
		o.verdict, o.reason = NotYetDue, ""
	case c.Severity == permit.AsInformation:
		o.verdict = NotApplicable
	case c.Missing == permit.NotDone:
		o.verdict, o.absent = NotComplied, true
		o.reason = "nothing is on record; presumed not done until it is"
	default:
		o.verdict, o.cause, o.remedy = CannotBeJudged, "nothing on record", "enter what happened, or that nothing did"
	}
}

// durationOutcomes judges how long acts went on in each window, in the
// quantity's unit of time.
func (h *hearing) durationOutcomes() ([]outcome, error) {
	if unit.Convertible("h", h.q.Unit) != nil {
		return nil, notBuilt("duration of " + h.q.Code)
	}
	list, err := h.observe(h.from())
	if err != nil {
		return nil, err
	}
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	for i := range wins {
		w := &wins[i]
		var in []quantity.Observation
		for _, a := range list {
			if a.To.After(h.at) {
				h.rec.moving()
			}
			act := calendar.Span{From: a.From, To: earlier(a.To, h.at)}
			if part := act.Overlap(w.span); !part.Empty() {
				hours, _ := unit.Convert(part.Length().Hours(), "h", h.q.Unit)
				a.Value, a.From = hours, part.From
				in = append(in, a)
			}
		}
		out = append(out, h.judgeCounted(w, in))
	}
	sortOutcomes(out)
	return out, nil
}
