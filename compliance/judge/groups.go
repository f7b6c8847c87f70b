package judge

import (
	"sort"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// group is the windows that an outer rule takes together.
type group struct {
	span  calendar.Span
	ver   *version
	inner []outcome
	whole bool // the span is not cut short by the beginning of force
	life  bool // the span is "so far", so it never ends
}

// grouped applies the outer rule of the run to the outcomes of its windows.
func (h *hearing) grouped(inner []outcome) ([]outcome, error) {
	rule := h.cond().Rule
	if rule.Name == permit.Every || rule.Name == "" {
		return inner, nil
	}
	groups, err := h.groups(inner, rule.Per)
	if err != nil {
		return nil, err
	}
	var out []outcome
	for i := range groups {
		g := &groups[i]
		h.until(g.span.To)
		o := outcome{span: g.span, ver: g.ver}
		switch rule.Name {
		case permit.AtMost, permit.AtMostTable, permit.AtMostShare:
			h.countOver(&o, g)
		case permit.AtLeastOf:
			h.anyConsecutive(&o, g)
		case permit.MeanOfAll:
			h.meanOfWindows(&o, g)
		case permit.LastOf:
			h.lastOfWindows(&o, g)
		default:
			return nil, notBuilt("outer rule " + string(rule.Name))
		}
		out = append(out, o)
	}
	return out, nil
}

// groups sorts outcomes, in order of time, into the periods of the rule.
func (h *hearing) groups(inner []outcome, per calendar.Period) ([]group, error) {
	if per.Kind == "" || per.Kind == calendar.WholeLife {
		span := h.sofar()
		return []group{{span: span, ver: h.versionAt(span.To.Add(-1)), inner: inner, whole: true, life: h.to().After(h.at)}}, nil
	}
	spans, err := h.groupSpans(inner, per)
	if err != nil {
		return nil, err
	}
	var out []group
	for _, s := range spans {
		g := group{span: s, whole: true}
		if s.From.Before(h.from()) {
			g.span.From, g.whole = h.from(), !rolling(per)
		}
		if s.To.After(h.to()) {
			g.span.To = h.to()
		}
		g.ver = h.versionAt(g.span.From)
		first := sort.Search(len(inner), func(i int) bool { return !inner[i].span.From.Before(g.span.From) })
		for k := first; k < len(inner) && inner[k].span.From.Before(g.span.To); k++ {
			if !inner[k].span.To.After(g.span.To) || !rolling(per) {
				g.inner = append(g.inner, inner[k])
			}
		}
		out = append(out, g)
	}
	return out, nil
}

// groupSpans lists the periods of the rule up to the time of judging. Of
// rolling periods only those are listed that end with the day on which a
// window ends: between them nothing changes.
func (h *hearing) groupSpans(inner []outcome, per calendar.Period) ([]calendar.Span, error) {
	zone := h.zone
	if !rolling(per) {
		return per.Windows(h.sofar(), zone)
	}
	var out []calendar.Span
	for i := range inner {
		end := inner[i].span.To
		if end.After(inner[i].span.From) {
			end = end.Add(-1)
		}
		s, err := per.At(end, zone)
		if err != nil {
			return nil, err
		}
		if n := len(out); n == 0 || s.To.After(out[n-1].To) {
			out = append(out, s)
		}
	}
	return out, nil
}

// tally is how the windows of a group fared.
type tally struct {
	over, within int
	unsure       int // results that cannot be told from the limit
	missing      int // due, but without enough data
	ahead        int // not ended
}

func (g *group) tally() (t tally, c Counts) {
	for i := range g.inner {
		o := &g.inner[i]
		c.add(o.verdict)
		switch {
		case o.verdict == NotComplied:
			t.over++
		case o.verdict == Complied:
			t.within++
		case o.verdict == CannotBeJudged && o.unsure:
			t.unsure++
		case o.verdict == CannotBeJudged:
			t.missing++
		case o.verdict == NotYetDue:
			t.ahead++
		}
	}
	return t, c
}

// open tells whether the group had not ended at the time of judging, or had
// not yet lasted as long as the rule looks back.
func (h *hearing) openGroup(g *group) bool { return !g.life && g.span.To.After(h.at) || !g.whole }

// enoughWindows tells whether the share and number of valid windows that the
// condition states for the period are there, and whether it states any.
func enoughWindows(c *permit.Condition, t tally) (stated, met bool, words string) {
	judged := t.over + t.within + t.unsure
	due := judged + t.missing
	met = true
	if c.Coverage.Per != "" {
		stated = true
		if !shareMet(int64(judged), int64(due), c.Coverage.Per) {
			met = false
			words = plural(judged, "window", "windows") + " of " + decimals(float64(due), 0) + " are valid, " + c.Coverage.Per + " % are needed"
		}
	}
	if n := c.Coverage.LeastWindows; n > 0 && judged < n {
		stated, met = true, false
		words = plural(judged, "result", "results") + " where " + decimals(float64(n), 0) + " are needed"
	}
	return stated, met, words
}
