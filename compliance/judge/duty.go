package judge

import (
	"sort"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// dutySuffix ends the id of the duty to monitor that goes with a condition.
const dutySuffix = "/duty"

// dutyOf returns the duty to monitor of the run: as stated, or the one that
// follows when a gap is itself a breach.
func (h *hearing) dutyOf() *permit.Duty { return dutyOf(h.cond()) }

func dutyOf(c *permit.Condition) *permit.Duty {
	switch {
	case c.Duty != nil:
		return c.Duty
	case c.Severity == permit.AsActionLevel || c.Missing != permit.GapIsBreach:
		return nil
	}
	switch c.Kind {
	case permit.Measured, permit.Counted, permit.Interval:
		return &permit.Duty{Least: "100"}
	}
	return nil
}

func (h *hearing) hasDuty() bool {
	for i := range h.run {
		if dutyOf(h.run[i].cond) != nil {
			return true
		}
	}
	return false
}

// dutyOutcomes judges the duty to monitor on the windows of the limit: each
// by itself where all are needed, else their share in each period.
func (h *hearing) dutyOutcomes(inner []outcome) []outcome {
	d := h.dutyOf()
	if d == nil {
		return nil
	}
	out, err := h.duties(d, inner)
	if err != nil {
		return []outcome{h.blank(err)}
	}
	return out
}

func (h *hearing) duties(d *permit.Duty, inner []outcome) ([]outcome, error) {
	switch {
	case d.Every != nil:
		return h.dutyEvery(*d.Every)
	case h.cond().Kind == permit.Interval:
		return h.dutyEvery(calendar.Period{Kind: calendar.LocalDay})
	}
	var each []outcome
	for i := range inner {
		if o, counts := h.dutyWindow(&inner[i]); counts {
			each = append(each, o)
		}
	}
	if everyWindow(d) {
		return each, nil
	}
	return h.dutyShares(d, each)
}

// everyWindow tells whether all windows have to be monitored.
func everyWindow(d *permit.Duty) bool {
	return d.Least == "" || !shareMet(99_999_999, 100_000_000, d.Least)
}

// dutyWindow says whether one window was measured as it should have been.
func (h *hearing) dutyWindow(w *outcome) (outcome, bool) {
	o := outcome{span: w.span, ver: w.ver, coverage: w.coverage, entries: w.entries, excluded: w.excluded, text: "monitored"}
	switch {
	case w.verdict == NotYetDue || h.pending(w):
		o.verdict = NotYetDue
	case measuredWell(w):
		o.verdict = Complied
	default:
		o.verdict = NotComplied
		o.reason = w.reason
		if w.cause != "" && o.reason == "" {
			o.reason = w.cause
		}
	}
	return o, true
}

// measuredWell tells whether a window holds the data that is needed, whatever
// its verdict.
func measuredWell(w *outcome) bool {
	switch {
	case !w.valued || w.cause == tooFew:
		return false
	case w.coverage == nil:
		return len(w.excluded) == 0
	}
	return shareMet(int64(*w.coverage*1e9), 1e9, w.ver.cond.Coverage.Window)
}

// dutyShares judges the share of windows measured in each period of the rule,
// or in each month where the rule has none.
func (h *hearing) dutyShares(d *permit.Duty, each []outcome) ([]outcome, error) {
	per := h.cond().Rule.Per
	if per.Kind == "" || rolling(per) {
		per = calendar.Period{Kind: calendar.Month}
	}
	groups, err := h.groups(each, per)
	if err != nil {
		return nil, err
	}
	var out []outcome
	for i := range groups {
		g := &groups[i]
		_, c := g.tally()
		o := outcome{span: g.span, ver: g.ver, inner: &c, entries: entriesOfAll(g.inner)}
		o.text = "at least " + d.Least + " % of windows monitored"
		due := c.Due
		if due > 0 {
			share := float64(c.Complied) * 100 / float64(due)
			o.value(certain(roundShare(share)), "%")
			part := o.b.low / 100
			o.coverage = &part
		}
		switch {
		case h.openGroup(g) && g.span.To.After(h.at):
			o.verdict = NotYetDue
		case due == 0:
			o.verdict = NotApplicable
		case shareMet(int64(c.Complied), int64(due), d.Least):
			o.verdict = Complied
		default:
			o.verdict = NotComplied
		}
		o.reason = plural(c.Complied, "window", "windows") + " of " + decimals(float64(due), 0) + " monitored"
		out = append(out, o)
	}
	return out, nil
}

func roundShare(v float64) float64 { b, _ := converted(certain(v), "%", "%"); return b.low }

// dutyEvery judges that each period in which the schedule is open has at least
// one valid result or record.
func (h *hearing) dutyEvery(p calendar.Period) ([]outcome, error) {
	list, err := h.singles()
	if err != nil {
		return nil, err
	}
	wins, out, err := h.periodsOpen(p)
	if err != nil {
		return nil, err
	}
	for _, w := range wins {
		out = append(out, h.dutyPeriod(&w, list))
	}
	sortOutcomes(out)
	return out, nil
}

// periodsOpen lists the periods in which the schedule is open at all.
func (h *hearing) periodsOpen(p calendar.Period) ([]window, []outcome, error) {
	other := *h
	other.run = make([]version, len(h.run))
	for i, v := range h.run {
		c := *v.cond
		c.Window, c.Edge = p, permit.CutAtEdge
		v.cond = &c
		other.run[i] = v
	}
	wins, lost, err := other.windows()
	h.until(other.next)
	return wins, lost, err
}

func (h *hearing) dutyPeriod(w *window, list []quantity.Observation) outcome {
	o := outcome{span: w.span, ver: h.versionAt(w.span.From), text: "monitored"}
	first := sort.Search(len(list), func(k int) bool { return list[k].To.After(w.span.From) || !list[k].From.Before(w.span.From) })
	for k := first; k < len(list) && list[k].From.Before(w.span.To); k++ {
		if list[k].Mark.Counts() {
			o.entries = append(o.entries, entriesOf(list[k:k+1])...)
		}
	}
	switch {
	case len(o.entries) > 0:
		o.verdict = Complied
		o.entries = bySeq(o.entries)
	case h.cond().Kind == permit.Interval && len(h.kept(w.span)) > 0:
		o.verdict, o.entries = Complied, h.kept(w.span)
		o.reason = "on record that there was none"
	case w.span.To.After(h.at):
		o.verdict = NotYetDue
	default:
		o.verdict, o.reason = NotComplied, "nothing is on record"
	}
	return o
}
