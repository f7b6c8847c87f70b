package judge

import (
	"math"
	"sort"

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
	list = h.inForce(list)
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	for i := range wins {
		w := &wins[i]
		first := sort.Search(len(list), func(k int) bool { return !list[k].From.Before(w.span.From) })
		var in []quantity.Observation
		for k := first; k < len(list) && list[k].From.Before(w.span.To); k++ {
			if w.holds(list[k].From) {
				in = append(in, list[k])
			}
		}
		out = append(out, h.judgeCounted(w, in))
	}
	sortOutcomes(out)
	return out, nil
}

// judgeCounted judges the events of one window.
func (h *hearing) judgeCounted(w *window, list []quantity.Observation) outcome {
	c := w.ver.cond
	o := outcome{span: w.span, ver: w.ver, entries: entriesOf(list)}
	total, lost := h.total(list, c)
	o.excluded = lost
	if len(list) == 0 && c.Missing != permit.CountGoesOn {
		h.noRecord(&o)
		return o
	}
	b := certain(total)
	ahead := h.pending(&o)
	if len(lost) > 0 || ahead {
		b.high = math.Inf(1)
	}
	f, err := h.weigh(&o, b, h.countUnit(c))
	if err != nil {
		return cannot(w.span, w.ver, asFault(err))
	}
	switch {
	case c.Severity == permit.AsInformation || len(c.Limits) == 0:
		o.verdict = NotApplicable
	case ahead && f == broken:
		o.verdict, o.reason = NotComplied, "what is still to come cannot change this"
	case ahead:
		o.verdict, o.margin = NotYetDue, nil
		o.b, o.shown = certain(o.b.low), ""
	default:
		o.settle(f, "a record lacks its figure", "enter the figure that is missing")
	}
	if len(list) == 0 {
		o.reason = "nothing is on record; counting goes on"
	}
	if h.s.opts.Working {
		o.steps = countedSteps(&o, list)
	}
	return o
}

// total adds the events: of a pure count what each counts for, of a quantity
// with a unit the sum, or their number where the condition asks for a count.
func (h *hearing) total(list []quantity.Observation, c *permit.Condition) (float64, []Excluded) {
	values, lost := sampled(list, permit.AsFull, h.q.NotBelow)
	if c.Statistic.Name == permit.Count && h.q.Unit != "" {
		return float64(len(values)), nil
	}
	if len(values) == 0 {
		return 0, lost
	}
	return totals(values, false).low, lost
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
