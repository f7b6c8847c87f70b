package judge

import (
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// meanOfWindows judges the mean of the windows of a group. Levels whose windows
// are energy means are averaged by energy, everything else arithmetically;
// windows count alike whatever their length.
func (h *hearing) meanOfWindows(o *outcome, g *group) {
	t, c := g.tally()
	o.inner, o.entries = &c, entriesOfAll(g.inner)
	low, high := windowValues(g)
	if len(low) == 0 {
		h.emptyGroup(o, g, t)
		return
	}
	mean := func(v []float64) float64 { return plainSum(v) / float64(len(v)) }
	if o.ver.cond.Statistic.Name == permit.EnergyMean {
		mean = energyMean
	}
	b := bounds{unit.Round9(mean(low)), unit.Round9(mean(high))}
	f, err := h.weigh(o, b, h.unitOf(g))
	if err != nil {
		*o = cannot(g.span, g.ver, asFault(err))
		return
	}
	h.decideGroup(o, g, t, f)
	if h.s.opts.Working {
		o.steps = meanSteps(o, g, b)
	}
}

// lastOfWindows judges the last window of a group that holds a value.
func (h *hearing) lastOfWindows(o *outcome, g *group) {
	t, c := g.tally()
	o.inner, o.entries = &c, entriesOfAll(g.inner)
	low, high := windowValues(g)
	if len(low) == 0 {
		h.emptyGroup(o, g, t)
		return
	}
	n := len(low) - 1
	f, err := h.weigh(o, bounds{low[n], high[n]}, h.unitOf(g))
	if err != nil {
		*o = cannot(g.span, g.ver, asFault(err))
		return
	}
	t.missing = 0
	if last := &g.inner[len(g.inner)-1]; last.verdict == CannotBeJudged && !last.valued {
		t.missing = 1
	}
	h.decideGroup(o, g, t, f)
}

// windowValues returns the bounds of the windows that hold a value.
func windowValues(g *group) (low, high []float64) {
	for i := range g.inner {
		o := &g.inner[i]
		if o.valued && o.verdict != NotYetDue && (o.verdict != CannotBeJudged || o.unsure) {
			low, high = append(low, o.b.low), append(high, o.b.high)
		}
	}
	return low, high
}

// unitOf is the unit that the windows of a group are in.
func (h *hearing) unitOf(g *group) string {
	for i := range g.inner {
		if g.inner[i].valued {
			return g.inner[i].unit
		}
	}
	return h.q.Unit
}

// decideGroup sets the verdict of a mean: what is missing could be anything,
// so the coverage that the condition states has to be met.
func (h *hearing) decideGroup(o *outcome, g *group, t tally, f fit) {
	stated, met, words := enoughWindows(o.ver.cond, t)
	switch {
	case o.ver.cond.Severity == permit.AsInformation || len(o.ver.cond.Limits) == 0:
		o.verdict = NotApplicable
	case h.openGroup(g):
		o.verdict, o.margin = NotYetDue, nil
		if !g.whole {
			o.reason = "the condition has not stood for a whole period yet"
		}
	case t.missing > 0 && !stated, !met:
		o.settle(open, "not enough valid data", "find the missing readings, or judge what was measured by hand")
		o.reason, o.margin = words, nil
		if words == "" {
			o.reason = plural(t.missing, "window is", "windows are") + " missing from the mean"
		}
	default:
		o.settle(f, "less-than results leave it open", nondetectRemedy)
		o.unsure = f == open
	}
}
