package judge

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// countOver judges how many windows of a group are over: at most K, at most a
// share, or at most what the look-up table allows for their number.
func (h *hearing) countOver(o *outcome, g *group) {
	t, c := g.tally()
	o.inner = &c
	o.entries = entriesOfAll(g.inner)
	rule := o.ver.cond.Rule
	n := t.over + t.within + t.unsure + t.missing
	o.unit, o.valued, o.over, o.b = "", true, true, certain(float64(t.over))
	if n == 0 {
		h.emptyGroup(o, g, t)
		return
	}
	allowed, ok := allowance(rule, n)
	switch {
	case !ok && h.openGroup(g):
		o.verdict = NotYetDue
		return
	case !ok:
		o.verdict, o.cause, o.remedy = CannotBeJudged, "the look-up table has no line for "+decimals(float64(n), 0), "complete the table from the permit"
		o.reason = o.cause
		return
	}
	limit := float64(allowed)
	m := limit - float64(t.over)
	o.limit, o.margin = &limit, &m
	o.text = fmt.Sprintf("at most %d of %d may be other than %s", allowed, n, limitsText(o.ver.cond.Limits, o.ver.cond.Join))
	h.judgeCount(o, g, t, n, allowed)
	if h.s.opts.Working {
		o.steps = countSteps(o, g, t, n, allowed)
	}
}

// allowance returns how many of n windows may be over.
func allowance(rule permit.Rule, n int) (int, bool) {
	switch rule.Name {
	case permit.AtMost:
		return rule.K, true
	case permit.AtMostShare:
		share, err := unit.ParseDecimal(rule.Share)
		if err != nil {
			return 0, false
		}
		k := int(share.Float() * float64(n) / 100)
		for ; k < n && unit.Compare(float64(k+1)*100/float64(n), share) <= 0; k++ {
		}
		for ; k > 0 && unit.Compare(float64(k)*100/float64(n), share) > 0; k-- {
		}
		return k, true
	}
	for _, s := range rule.Table {
		if n >= s.From && n <= s.To {
			return s.K, true
		}
	}
	return 0, false
}

// judgeCount decides by the worst and best that missing windows could be.
func (h *hearing) judgeCount(o *outcome, g *group, t tally, n, allowed int) {
	fixed := o.ver.cond.Rule.Name == permit.AtMost
	stated, met, words := enoughWindows(o.ver.cond, t)
	short := h.short(o.ver.cond, n)
	worst := t.over + t.unsure + t.missing + short
	if more, ok := allowance(o.ver.cond.Rule, n+short); ok {
		allowed = max(allowed, more) // had they all been taken
	}
	switch {
	case t.over > allowed && (fixed || !h.openGroup(g)):
		o.verdict = NotComplied
		if h.openGroup(g) {
			o.reason = "what is still to come cannot change this"
		} else if t.missing+t.unsure > 0 {
			o.reason = "the gap cannot change this"
		}
	case h.openGroup(g):
		o.verdict, o.margin = NotYetDue, nil
		if !g.whole && !g.span.To.After(h.at) {
			o.reason = "the condition has not stood for a whole period yet"
		}
	case worst <= allowed:
		o.verdict = Complied
		if t.missing+t.unsure+short > 0 {
			o.reason = fmt.Sprintf("the gap cannot change this: %d over and %d missing make %d at worst", t.over, t.missing+t.unsure+short, worst)
		}
	case stated && met && t.over+t.unsure <= allowed:
		o.verdict = Complied
		o.reason = fmt.Sprintf("%s missing; the coverage the condition asks for is met", plural(t.missing, "window is", "windows are"))
	case t.over+t.unsure > allowed && t.unsure > 0 && t.over+t.missing <= allowed:
		o.verdict, o.cause, o.remedy, o.unsure = CannotBeJudged, "less-than results leave it open", nondetectRemedy, true
		o.reason = fmt.Sprintf("%d are over and %d more may be", t.over, t.unsure)
	default:
		o.verdict, o.cause, o.remedy = CannotBeJudged, "not enough valid data", "find the missing readings, or judge what was measured by hand"
		o.reason = fmt.Sprintf("%d over and %d missing make %d at worst, %d are allowed", t.over, t.missing+t.unsure+short, worst, allowed)
		if words != "" {
			o.reason += "; " + words
		}
	}
}

// short returns how many results are wanting to the least number that the
// condition asks for in a period: they are missing, like any other.
func (h *hearing) short(c *permit.Condition, n int) int {
	if h.s.opts.Rules < 2 {
		return 0 // under rules 1 the number taken was enough
	}
	return max(0, c.Coverage.LeastWindows-n)
}

// emptyGroup is a period without a window that counts.
func (h *hearing) emptyGroup(o *outcome, g *group, t tally) {
	o.valued = false
	switch {
	case h.openGroup(g) || t.ahead > 0:
		o.verdict = NotYetDue
	case o.ver.cond.Missing == permit.CountGoesOn, len(g.inner) > 0:
		o.verdict, o.reason = NotApplicable, "nothing to count"
	default:
		o.verdict, o.cause, o.remedy = CannotBeJudged, "no result on file", "enter the results, or say why there are none"
		o.reason = o.cause
	}
}

// anyConsecutive judges "at least K of any N consecutive within".
func (h *hearing) anyConsecutive(o *outcome, g *group) {
	t, c := g.tally()
	o.inner, o.entries = &c, entriesOfAll(g.inner)
	rule := o.ver.cond.Rule
	var seen []*outcome
	for i := range g.inner {
		if v := g.inner[i].verdict; v != NotYetDue && v != NotApplicable {
			seen = append(seen, &g.inner[i])
		}
	}
	limit := float64(rule.N - rule.K)
	o.limit, o.text = &limit, fmt.Sprintf("of any %d consecutive at least %d must be %s", rule.N, rule.K, limitsText(o.ver.cond.Limits, o.ver.cond.Join))
	worst, failing, unsure := consecutive(seen, rule)
	v := float64(worst)
	m := limit - v
	o.valued, o.over, o.b, o.margin = true, true, certain(v), &m
	switch {
	case len(seen) == 0:
		h.emptyGroup(o, g, t)
	case len(failing) > 0:
		o.verdict = NotComplied
		o.reason = "over the allowance in numbers " + failing[0]
		for _, f := range failing[1:] {
			o.reason += ", " + f
		}
	case len(seen) < rule.N:
		o.verdict, o.margin, o.reason = NotYetDue, nil, fmt.Sprintf("only %d so far", len(seen))
	case unsure:
		o.verdict, o.cause, o.remedy = CannotBeJudged, "not enough valid data", "find the missing results, or judge by hand"
		o.reason = "a missing result could break the rule"
	default:
		o.verdict = Complied
	}
	if h.s.opts.Working {
		o.steps = consecutiveSteps(o, seen, rule, failing)
	}
}

// consecutive slides N windows over the outcomes: the most that are over, the
// runs that break the rule, and whether one could if what is missing is over.
func consecutive(seen []*outcome, rule permit.Rule) (worst int, failing []string, unsure bool) {
	for i := range seen {
		end := min(i+rule.N, len(seen))
		over, open := 0, 0
		for _, o := range seen[i:end] {
			switch o.verdict {
			case NotComplied:
				over++
			case CannotBeJudged:
				open++
			}
		}
		worst = max(worst, over)
		if over > rule.N-rule.K && (end == i+rule.N || i == 0) {
			failing = append(failing, fmt.Sprintf("%d–%d", i+1, end))
		}
		unsure = unsure || over+open > rule.N-rule.K
		if end == len(seen) {
			break
		}
	}
	return worst, failing, unsure
}

// entriesOfAll gathers the entries that windows rest on.
func entriesOfAll(list []outcome) []*book.Entry {
	var out []*book.Entry
	for i := range list {
		out = append(out, list[i].entries...)
	}
	return bySeq(out)
}
