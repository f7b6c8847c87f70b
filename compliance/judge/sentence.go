package judge

import (
	"fmt"
	"strings"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// subject names what is judged, with its place.
func (h *hearing) subject(v *version) string {
	what := v.cond.Title
	if h.q != nil && (v.cond.Kind == permit.Measured || v.cond.Kind == permit.Counted) {
		what = h.q.Title
	}
	switch {
	case h.duty:
		what = "duty to monitor: " + what
	case v.cond.Severity == permit.AsActionLevel:
		what = "action level, " + what
	}
	if h.place != "" {
		what += " at " + h.place
	}
	return what
}

// sentence says the verdict of one window, with its reason.
func (h *hearing) sentence(o *outcome) string {
	var b strings.Builder
	b.WriteString(spanText(o.span, h.zone) + ": " + h.subject(o.ver))
	switch {
	case o.quiet:
	case o.over:
		b.WriteString(": " + figure(o.b.low) + " over")
	case o.valued:
		b.WriteString(" " + h.valueText(o))
	case o.shown != "":
		b.WriteString(" " + o.shown)
	}
	b.WriteString(h.limitWords(o))
	b.WriteString(": " + h.verdictWords(o))
	if o.reason != "" {
		b.WriteString(" — " + o.reason)
	}
	if o.coverage != nil && *o.coverage < 1 && o.valued && !o.quiet && !h.duty {
		b.WriteString("; " + percent(*o.coverage) + " of the window measured")
	}
	return b.String() + "."
}

// limitWords names what was asked, where the subject does not say it.
func (h *hearing) limitWords(o *outcome) string {
	switch {
	case h.duty:
		return ""
	case o.limit != nil && o.text != "":
		return ", " + o.text
	case o.text != "":
		return ", " + o.text
	case len(o.limits) > 0:
		return ", limit " + limitsText(o.limits, o.ver.cond.Join)
	}
	return ""
}

// valueText writes a value as finely as it takes to tell it from its limit.
func (h *hearing) valueText(o *outcome) string {
	if !o.b.known() || o.shown != "" {
		return withUnit(o.shown, o.unit)
	}
	if len(o.limits) > 0 {
		return withUnit(apart(o.b.low, &o.limits[o.decisive]), o.unit)
	}
	return withUnit(figure(o.b.low), o.unit)
}

// verdictWords says a verdict as its severity has it.
func (h *hearing) verdictWords(o *outcome) string {
	words := o.verdict.String()
	if o.ver.cond.Severity == permit.AsInformation && o.verdict == NotApplicable {
		return "for information"
	}
	if o.verdict == NotComplied && !h.duty {
		switch o.ver.cond.Severity {
		case permit.AsBenchmark:
			words += " with the benchmark: action is due, no breach by itself"
		case permit.AsActionLevel:
			words += " with the action level, which is internal"
		}
	}
	switch {
	case o.margin == nil || len(o.limits) == 0 || h.duty:
	case *o.margin < 0 && o.verdict == Complied:
		words += " once rounded"
	case *o.margin < 0 && o.verdict == NotComplied && beyond(o.limits[o.decisive].Comparator):
		words += ", short by " + withUnit(figure(-*o.margin), o.unit)
	case *o.margin == 0 && o.verdict == NotComplied:
		words += ", for it is equal to the limit"
	case *o.margin < 0 && o.verdict == NotComplied && o.limits[o.decisive].Comparator == permit.Between:
		words += ", outside by " + withUnit(figure(-*o.margin), o.unit)
	case *o.margin < 0 && o.verdict == NotComplied:
		words += ", over by " + withUnit(figure(-*o.margin), o.unit)
	}
	return words
}

// beyond tells whether a limit asks for at least so much.
func beyond(c permit.Comparator) bool { return c == permit.AtLeastLimit || c == permit.Above }

// countsSentence gives the counts that stand beside every roll-up.
func (h *hearing) countsSentence(j *Judgement) string {
	one, many := h.nouns()
	c := &j.Counts
	s := fmt.Sprintf("%s due, %d judged, %d complied, %d not complied, %d cannot be judged", plural(c.Due, one, many), c.Judged, c.Complied, c.NotComplied, c.CannotBeJudged)
	if c.NotYetDue > 0 {
		s += fmt.Sprintf(", %d not yet due", c.NotYetDue)
	}
	if c.NotApplicable > 0 {
		s += fmt.Sprintf(", %d not applicable", c.NotApplicable)
	}
	return s
}

// nouns names what is counted.
func (h *hearing) nouns() (one, many string) {
	c := h.line.last().cond
	if h.duty {
		return dutyNouns(c)
	}
	switch c.Kind {
	case permit.Interval, permit.Ordered:
		return "act", "acts"
	case permit.Dated:
		return "term", "terms"
	case permit.Stated:
		return "statement", "statements"
	}
	if c.Rule.Name != permit.Every && c.Rule.Name != "" {
		return windowNoun(c.Rule.Per)
	}
	switch {
	case h.q == nil:
	case h.q.Form == quantity.Levels && (c.Window.Kind == calendar.Instant || c.Window.Kind == calendar.Event):
		return "survey", "surveys"
	case h.q.Form == quantity.Series && c.Window.Kind == calendar.Instant:
		return "day", "days"
	}
	return windowNoun(c.Window)
}

func dutyNouns(c *permit.Condition) (one, many string) {
	d := dutyOf(c)
	switch {
	case d != nil && d.Every != nil:
		return windowNoun(*d.Every)
	case c.Kind == permit.Interval:
		return "day", "days"
	case d != nil && !everyWindow(d) && c.Rule.Per.Kind != "":
		return windowNoun(c.Rule.Per)
	case d != nil && !everyWindow(d):
		return "month", "months"
	}
	return windowNoun(c.Window)
}

// rollupSentence says the verdict to date, the counts, and the window that
// tells most.
func (h *hearing) rollupSentence(j *Judgement, best *outcome) string {
	v := h.line.last()
	if len(h.run) > 0 {
		v = &h.run[len(h.run)-1]
	}
	s := h.subject(v) + ": " + j.Verdict.String() + " to date, " + h.countsSentence(j) + "."
	if v.cond.Severity == permit.AsInformation && !h.duty && j.Verdict == NotApplicable {
		one, many := h.nouns()
		s = h.subject(v) + ": for information, not judged; " + plural(j.Counts.NotApplicable, one, many) + "."
	}
	if best == nil {
		return s + " " + h.nothingYet(v)
	}
	c := &j.Counts
	if j.Verdict == NotComplied || j.Verdict == CannotBeJudged || c.Due+c.NotYetDue+c.NotApplicable <= 1 || best.margin != nil {
		return s + " " + h.lead(j, best) + h.sentence(best)
	}
	return s
}

func (h *hearing) lead(j *Judgement, best *outcome) string {
	switch {
	case j.Counts.Due+j.Counts.NotYetDue+j.Counts.NotApplicable <= 1:
		return ""
	case best.margin != nil && best.verdict == NotComplied:
		return "Worst: "
	case best.margin != nil:
		return "Nearest: "
	}
	return "Last: "
}

// nothingYet says why there is no window at all.
func (h *hearing) nothingYet(v *version) string {
	switch {
	case v.span.From.After(h.at):
		return "In force from " + day(v.span.From, h.zone) + "."
	case v.cond.Kind == permit.Ordered:
		return "No such act is on record yet."
	case v.cond.Kind == permit.Dated:
		return "What the term counts from is not on record yet."
	case v.cond.Kind == permit.Interval:
		return "No act is on record."
	}
	return "Nothing to judge is on record."
}

// rule says by which rules a version was judged: rounding, less-than results,
// coverage, window and day.
func (h *hearing) rule(v *version) string {
	if h.ruled != v.cond {
		h.ruled, h.ruleText = v.cond, h.ruleOf(v)
	}
	return h.ruleText
}

func (h *hearing) ruleOf(v *version) string {
	c := v.cond
	if c.Kind != permit.Measured && c.Kind != permit.Counted {
		return "days in " + v.zone.String()
	}
	parts := []string{"compared unrounded (to 1e-9)"}
	switch c.Rounding.Mode {
	case permit.ToLimitDecimals:
		parts[0] = "rounded to the limit's decimals before comparing, halves away from zero"
	case permit.ToStep:
		parts[0] = "rounded to " + c.Rounding.To + " before comparing, halves away from zero"
	}
	if h.q != nil && (h.q.Form == quantity.Series || h.q.Form == quantity.Samples) {
		parts = append(parts, "less-than results: "+nondetectWords[c.Nondetect])
	}
	if h.q != nil && h.q.Form == quantity.Series {
		parts = append(parts, "coverage needed: "+needText(c.Coverage.Window))
	}
	if c.Coverage.Per != "" {
		parts = append(parts, c.Coverage.Per+" % of the windows of a period needed")
	}
	if c.Statistic.Integrate != "" {
		parts = append(parts, "energy taken over "+c.Statistic.Integrate)
	}
	day := "days in " + v.zone.String()
	if c.Window.Kind == calendar.PermitDay && c.Window.UTC {
		day = "days in UTC"
	}
	return strings.Join(append(parts, string(c.Straddle), day), "; ")
}

var nondetectWords = map[permit.Nondetect]string{
	permit.Bracket: "anything from nothing to the reporting limit", "": "anything from nothing to the reporting limit",
	permit.AsZero: "as zero", permit.AsHalf: "as half the reporting limit", permit.AsFull: "as the full reporting limit",
	permit.Estimated: "estimated",
}
