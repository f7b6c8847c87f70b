package judge

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// outcomes judges one run of a condition at one place, and its duty to
// monitor.
func (h *hearing) outcomes() (all, duty []outcome) {
	inner, err := h.judged()
	if err == nil {
		duty = h.dutyOutcomes(inner)
		if err = h.stepAside(inner); err == nil {
			all, err = h.grouped(inner)
		}
	}
	if err != nil {
		all = []outcome{h.blank(err)}
		if h.dutyOf() != nil && duty == nil {
			duty = []outcome{h.blank(err)}
		}
	}
	return h.erased(all), duty
}

// judged judges each window of the run, before any outer rule.
func (h *hearing) judged() ([]outcome, error) {
	c := h.cond()
	if err := h.ready(c); err != nil {
		return nil, err
	}
	if c.Phase != "" && len(h.phaseSpans(c.Phase)) == 0 {
		return h.beforePhase(), nil
	}
	if len(c.Place.Codes) > 1 && (c.Place.Mode == permit.Any || c.Place.Mode == permit.MeanOf) {
		return h.placesTogether()
	}
	switch c.Kind {
	case permit.Measured:
		return h.measuredOutcomes()
	case permit.Counted:
		if c.Statistic.Name == permit.Duration {
			return h.durationOutcomes()
		}
		return h.countedOutcomes()
	case permit.Interval:
		return h.intervalOutcomes()
	case permit.Ordered:
		return h.orderedOutcomes()
	case permit.Dated:
		return h.datedOutcomes()
	case permit.Present:
		return h.presentOutcomes()
	case permit.Stated:
		return h.statedOutcomes()
	}
	return nil, notBuilt("condition of kind " + string(c.Kind))
}

// ready looks for what no kind of condition can be judged without.
func (h *hearing) ready(c *permit.Condition) error {
	if h.s.rec.siteErr != nil {
		return h.s.rec.siteErr
	}
	if err := h.firstRules(c); err != nil {
		return err
	}
	if c.Place.BufferM != "" && (c.Kind != permit.Interval || c.Schedule != nil) {
		return notBuilt("a strip around a feature, but for where acts may be")
	}
	if c.Subject == "" {
		if c.Kind == permit.Measured || c.Kind == permit.Counted || c.Kind == permit.Interval {
			return &fault{cause: "the condition names no quantity", remedy: "name it in the condition"}
		}
		return nil
	}
	h.q = h.s.list.Named(c.Subject)
	if h.q == nil {
		return &fault{cause: "unknown quantity " + c.Subject, remedy: "correct the condition, or use a program that knows " + c.Subject}
	}
	return h.firstRulesOf(c)
}

// measuredOutcomes judges a number against its limits, by how it is observed.
func (h *hearing) measuredOutcomes() ([]outcome, error) {
	c := h.cond()
	single := false
	switch c.Window.Kind {
	case calendar.Event, calendar.Exposure:
		single = true
	case calendar.Instant:
		single = c.Rule.Name != permit.Every && c.Rule.Name != "" || comparesSingly(c)
	}
	switch h.q.Form {
	case quantity.Series:
		if single {
			return h.sampleOutcomes()
		}
		return h.readingsOutcomes()
	case quantity.Events:
		if n := c.Statistic.Name; !single && c.Window.Kind != calendar.Instant && (n == permit.Sum || n == permit.Count) {
			return h.countedOutcomes()
		}
		return h.sampleOutcomes()
	case quantity.Samples, quantity.Levels:
		return h.sampleOutcomes()
	case quantity.Acts:
		if c.Statistic.Name == permit.Duration {
			return h.durationOutcomes()
		}
	}
	return nil, notBuilt(fmt.Sprintf("%s measured as %s", h.q.Code, h.q.Form))
}

// erased takes back what rests on records that were erased: a window that
// cannot be judged for want of data says so, and one that was kept is open
// when something in it was erased.
func (h *hearing) erased(list []outcome) []outcome {
	if k := h.cond().Kind; k == permit.Ordered || k == permit.Dated || k == permit.Present {
		return list // these look beyond their windows, and say so themselves
	}
	for _, e := range h.rec.lost {
		h.eraseIn(list, e, func(o *outcome) bool {
			return o.verdict == Complied || o.verdict == CannotBeJudged && !o.unsure || o.verdict == NotComplied && o.absent
		})
	}
	if h.q == nil || h.q.Form != quantity.Series {
		if h.eachByItself() {
			list = append(list, h.erasedAlone(h.rec.lost)...)
		}
		return list
	}
	for _, e := range h.rec.cut(h.rec.Erased("import.1")) {
		h.eraseIn(list, e, func(o *outcome) bool {
			return o.verdict == CannotBeJudged && !o.unsure || o.verdict == NotComplied && o.absent
		})
	}
	return list
}

// eachByItself tells whether every act, sample or event has a window of its
// own, so that one that was erased leaves none behind.
func (h *hearing) eachByItself() bool {
	switch h.cond().Window.Kind {
	case calendar.Instant, calendar.Event, calendar.Exposure:
		return true
	}
	return h.cond().Kind == permit.Interval
}

// erasedAlone gives each erased entry the window it would have had: what it
// said may have been a breach, and is not known any more.
func (h *hearing) erasedAlone(lost []*book.Entry) []outcome {
	var out []outcome
	for _, e := range lost {
		if h.place != "" && len(e.Places) > 0 && !named(e.Places, h.place) || e.At.Before(h.from()) || !e.At.Before(h.to()) {
			continue
		}
		from, to := e.Span()
		o := cannot(calendar.Span{From: from, To: to}, h.versionAt(e.At), asFault(&ErasedError{e.ErasedBy}))
		o.entries = []*book.Entry{e}
		out = append(out, o)
	}
	return out
}

// eraseIn marks the windows that an erased entry touches, where it matters.
func (h *hearing) eraseIn(list []outcome, e *book.Entry, matters func(*outcome) bool) {
	if h.place != "" && len(e.Places) > 0 && !named(e.Places, h.place) {
		return
	}
	from, to := e.Span()
	f := asFault(&ErasedError{e.ErasedBy})
	for i := range list {
		o := &list[i]
		if from.After(o.span.To) || to.Before(o.span.From) || !matters(o) {
			continue
		}
		o.verdict, o.cause, o.remedy, o.reason = CannotBeJudged, f.cause, f.remedy, f.cause
		o.margin, o.absent = nil, false
		if n := len(o.steps); n > 0 {
			o.steps = append(o.steps[:n-1:n-1], step("note", f.cause), step("verdict", o.verdict.String()))
		}
		o.entries = bySeq(append(o.entries[:len(o.entries):len(o.entries)], e))
	}
}
