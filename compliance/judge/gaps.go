package judge

import (
	"fmt"
	"math"
	"time"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// gapBounds says what the value of a whole window may be when part of it is
// missing: only in the direction that a gap could change. Silence is the
// least a missing stretch can add to an energy mean, nothing the least it can
// add to a sum of what cannot be negative. Of other statistics nothing is
// known.
func gapBounds(name permit.StatisticName, r *series.Result, floor *float64) bounds {
	switch name {
	case permit.EnergyMean:
		return bounds{r.LeastEnergyMean, math.Inf(1)}
	case permit.Maximum, permit.Count, permit.Duration:
		return bounds{r.Low, math.Inf(1)}
	case permit.Minimum:
		return bounds{math.Inf(-1), r.High}
	case permit.Sum:
		if floor != nil && *floor >= 0 {
			return bounds{r.Low, math.Inf(1)}
		}
	}
	return anything()
}

// covered tells whether a window holds the share of valid data that is
// needed, decided on whole milliseconds. Where no share is stated the whole
// window is needed. Readings without length count by being there.
func covered(r *series.Result, need string) bool {
	if r.Instants {
		return true
	}
	if need == "" {
		return r.CoveredMs >= r.WindowMs
	}
	p, err := unit.ParseDecimal(need)
	return err == nil && r.Covers(p)
}

// shareMet tells whether part of whole is at least need per cent; "" is 100.
func shareMet(part, whole int64, need string) bool {
	if need == "" {
		return part >= whole
	}
	p, err := unit.ParseDecimal(need)
	if err != nil || whole <= 0 {
		return false
	}
	return unit.Compare(float64(part)*100/float64(whole), p) >= 0
}

// needText writes the share that is needed.
func needText(need string) string {
	if need == "" {
		return "the whole (no share is stated)"
	}
	return need + " %"
}

// decideReadings sets the verdict of a window of readings.
func (h *hearing) decideReadings(o *outcome, f fit, enough bool, r *series.Result, from string, name permit.StatisticName) {
	c := o.ver.cond
	switch {
	case c.Severity == permit.AsInformation || len(c.Limits) == 0:
		o.verdict = NotApplicable
		if !enough {
			o.reason = "only " + percent(*o.coverage) + " was measured"
		}
		return
	case h.pending(o) && f != broken:
		o.verdict, o.margin = NotYetDue, nil
		return
	case enough && !h.pending(o):
		o.settle(f, "less-than results leave it open", nondetectRemedy)
		o.unsure = f == open
		h.noteGap(o, f, r, name)
		return
	}
	o.settle(f, "not enough valid data", "find the missing readings, or judge what was measured by hand")
	missing := time.Duration(r.WindowMs-r.CoveredMs) * time.Millisecond
	switch f {
	case open:
		h.tooLittle(o, r, from, name)
	case broken:
		o.reason = "the gap cannot change this: " + gapWords(name, missing, o.b)
	case kept:
		o.reason = "the gap cannot change this: the limit is reached by what was measured"
	}
}

const nondetectRemedy = "record which rule the permit gives for less-than results, with its clause"

// tooLittle words a window with too little data, with what the part gives.
func (h *hearing) tooLittle(o *outcome, r *series.Result, from string, name permit.StatisticName) {
	o.reason = fmt.Sprintf("only %s of the window was measured, %s is needed", percent(*o.coverage), needText(o.ver.cond.Coverage.Window))
	part, err := converted(bounds{r.Low, r.High}, from, o.unit)
	if err != nil {
		return
	}
	o.shown, o.quiet = span(part), true
	o.reason += "; what was measured gives " + withUnit(span(part), o.unit)
	if name == permit.EnergyMean {
		if least, err := converted(certain(r.LeastEnergyMean), from, o.unit); err == nil {
			o.reason += ", with silence elsewhere " + withUnit(figure(least.low), o.unit)
		}
	}
	if part.known() {
		o.b, o.shown = part, ""
	}
	o.margin = nil
}

func gapWords(name permit.StatisticName, missing time.Duration, b bounds) string {
	switch name {
	case permit.EnergyMean:
		return fmt.Sprintf("with silence in the missing %s it is still %s", spell(missing), figure(b.low))
	case permit.Minimum:
		return "a lower reading stands already"
	case permit.Sum:
		return fmt.Sprintf("with nothing in the missing %s the sum is %s already", spell(missing), figure(b.low))
	}
	return "a higher reading stands already"
}

// noteGap says for an energy mean that is kept with a gap how loud the gap
// would have to be to change it.
func (h *hearing) noteGap(o *outcome, f fit, r *series.Result, name permit.StatisticName) {
	gap := r.WindowMs - r.CoveredMs
	if name != permit.EnergyMean || f != kept || gap <= 0 || len(o.limits) == 0 || o.limits[o.decisive].Comparator != permit.AtMostLimit {
		return
	}
	if level, ok := r.GapMustReach(o.limits[o.decisive].Value); ok && o.ver.cond.Statistic.Integrate == "" {
		o.reason = fmt.Sprintf("the missing %s would have to exceed %s %s to change it",
			spell(time.Duration(gap)*time.Millisecond), decimals(level, 2), o.unit)
	}
}

// integrated applies a span of integration that the notice states other than
// the window's own: the energy of the window divided by that span.
func (h *hearing) integrated(w *window, r *series.Result, name permit.StatisticName) series.Result {
	out := *r
	text := w.ver.cond.Statistic.Integrate
	if text == "" || name != permit.EnergyMean {
		return out
	}
	hours, ok := spelt(text)
	if !ok || hours <= 0 {
		return out
	}
	add := unit.Level(float64(w.length()) / float64(hours))
	for _, v := range []*float64{&out.Value, &out.Low, &out.High, &out.LeastEnergyMean} {
		*v = unit.Round9(*v + add)
	}
	return out
}
