package judge

import (
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Running is a mean level whose window is under way: what it is so far, and
// what the time not measured yet may average. With E the sum of t·10^(L/10) so
// far and T the whole window, that is 10 lg[(T·10^(limit/10) − E)/t_rest]: the
// energy mean of ISO 1996-1 (definition of the equivalent level) solved for the rest.
type Running struct {
	Permit    string    `json:"permit"`
	Clause    string    `json:"clause"`
	Condition string    `json:"condition"`
	Place     string    `json:"place"`
	Title     string    `json:"title"`
	Unit      string    `json:"unit"`
	Limit     float64   `json:"limit"`
	SoFar     float64   `json:"so_far"`
	Measured  string    `json:"measured"` // how long it was measured
	Rest      string    `json:"rest"`     // how long of the window is not measured, gaps included
	MayBe     *float64  `json:"may_be"`   // on average for the rest; nil: over the limit whatever comes
	From      time.Time `json:"from"`     // the window
	To        time.Time `json:"to"`
}

// running says how a mean level under way stands, where the act begins in the same
// window. Where it cannot be said, nothing is: the clause stays among those not checked.
func (a *Answer) running(h *hearing) {
	c := h.cond()
	if h.q.Form != quantity.Series || c.Statistic.Name != permit.EnergyMean || c.Statistic.Integrate != "" || len(c.Limits) != 1 || c.Rule.Name != permit.Every && c.Rule.Name != "" {
		return
	}
	l := &c.Limits[0]
	if l.Form != permit.Constant || l.Comparator != permit.AtMostLimit {
		return
	}
	whole, err := h.windowAt(h.at)
	if err != nil {
		return
	}
	g := *h
	g.run = []version{h.run[0]}
	g.run[0].span = g.run[0].span.Overlap(calendar.Span{From: whole.From, To: endless})
	wins, lost, err := g.windows()
	if err != nil || len(lost) > 0 {
		return
	}
	for i := range wins {
		w := &wins[i]
		if w.span.From.After(h.at) || !h.at.Before(w.span.To) || !a.Question.From.Before(w.span.To) {
			continue
		}
		if given, _ := h.consents(w.span); len(given) > 0 { // which may have a limit of its own
			return
		}
		chans, err := g.channels()
		if err != nil || len(chans) == 0 || !unit.Same(chans[0].Unit, l.Unit) {
			return
		}
		blocks, err := g.blocks(chans, w.span)
		if err != nil {
			return
		}
		all, err := g.results(blocks, wins[i:i+1], permit.EnergyMean)
		if err != nil || all[0].CoveredMs == 0 || all[0].Below+all[0].Above > 0 {
			return
		}
		r := &all[0]
		rest := r.WindowMs - r.CoveredMs
		if rest <= 0 {
			return
		}
		out := Running{Permit: h.line.permit, Clause: h.line.clause, Condition: h.line.id, Place: h.place, Title: c.Title, Unit: l.Unit, Limit: l.Value.Float(), SoFar: r.Value,
			Measured: spell(time.Duration(r.CoveredMs) * time.Millisecond), Rest: spell(time.Duration(rest) * time.Millisecond), From: w.span.From.UTC(), To: w.span.To.UTC()}
		if level, ok := r.GapMustReach(l.Value); ok {
			out.MayBe = &level
		}
		a.Running = append(a.Running, out)
		return
	}
}
