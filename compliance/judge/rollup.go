package judge

import (
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// add counts one window.
func (c *Counts) add(v Verdict) {
	switch v {
	case NotYetDue:
		c.NotYetDue++
		return
	case NotApplicable:
		c.NotApplicable++
		return
	}
	c.Due++
	switch v {
	case Complied:
		c.Judged++
		c.Complied++
	case NotComplied:
		c.Judged++
		c.NotComplied++
	default:
		c.CannotBeJudged++
	}
}

// verdict is the word for many windows: the worst of those that are due, else
// what is still to come, else not applicable.
func (c *Counts) verdict() Verdict {
	switch {
	case c.NotComplied > 0:
		return NotComplied
	case c.CannotBeJudged > 0:
		return CannotBeJudged
	case c.Complied > 0:
		return Complied
	case c.NotYetDue > 0:
		return NotYetDue
	}
	return NotApplicable
}

// gravity orders verdicts from the best to the worst of a roll-up.
var gravity = [...]int{NotApplicable: 0, NotYetDue: 1, Complied: 2, CannotBeJudged: 3, NotComplied: 4}

func worse(a, b Verdict) bool { return gravity[a] > gravity[b] }

// sortOutcomes sorts by beginning, then end; what is equal keeps its order.
func sortOutcomes(list []outcome) {
	sort.SliceStable(list, func(i, j int) bool {
		a, b := &list[i], &list[j]
		if !a.span.From.Equal(b.span.From) {
			return a.span.From.Before(b.span.From)
		}
		return a.span.To.Before(b.span.To)
	})
}

// rollup writes the months of one condition at one place as one Judgement.
func (h *hearing) rollup(months []monthPart) Judgement {
	span := h.sofar()
	var j Judgement
	h.base(&j, h.line.last(), span)
	var all stretch
	for i := range months {
		all.join(months[i].stretch)
	}
	j.Counts = all.counts
	j.Verdict = j.Counts.verdict()
	if all.best == nil && !h.next.IsZero() {
		j.Verdict = NotYetDue
	}
	if all.best != nil {
		if all.best.span.To.Equal(h.at) {
			h.rec.moving() // its words name the time of judging
		}
		h.fill(&j, all.best)
		j.Excluded = orNone(all.excluded)
		if h.s.opts.Working {
			j.Working = all.best.steps
		}
	}
	used := h.allEntries(all.entries)
	j.Evidence = evidence(used)
	j.Digest = digest(h.s.opts.Rules, []string{h.line.permit, j.Condition, h.place}, used)
	j.Inner = all.inner
	if len(months) > 0 {
		j.Months = make([]Judgement, len(months))
	}
	for i := range months {
		h.month(&j.Months[i], &months[i])
	}
	j.Sentence = h.rollupSentence(&j, all.best)
	if j.Verdict == CannotBeJudged {
		j.Cause, j.Remedy = all.cause()
	}
	if h.s.opts.Windows {
		if j.Windows = all.windows; j.Windows == nil {
			j.Windows = []Judgement{}
		}
	}
	if !h.next.IsZero() {
		next := h.next.UTC()
		j.Recheck = &next
	}
	j.Reads = h.rec.reads(span)
	return j
}

// orNone turns no exclusions into an empty list.
func orNone(list []Excluded) []Excluded {
	if list == nil {
		return []Excluded{}
	}
	return list
}

// base fills in what every judgement of a version has.
func (h *hearing) base(j *Judgement, v *version, span calendar.Span) {
	*j = Judgement{
		Permit: h.line.permit, Version: v.notice, Clause: v.cond.Clause, Condition: h.line.id,
		Title: v.cond.Title, Severity: string(v.cond.Severity), Place: h.place,
		Window:   Window{span.From.UTC(), span.To.UTC()},
		Excluded: []Excluded{}, Evidence: []Evidence{}, Rule: h.rule(v),
	}
	if h.duty {
		j.Condition += dutySuffix
		j.Title, j.Severity = "duty to monitor: "+j.Title, string(permit.AsLimit)
	}
}

// fill copies the figures of an outcome.
func (h *hearing) fill(j *Judgement, o *outcome) {
	j.Version, j.Rule = o.ver.notice, h.rule(o.ver)
	j.Unit, j.Shown, j.Margin, j.Coverage = o.unit, o.shown, o.margin, o.coverage
	if o.valued && o.b.known() {
		v := o.b.low
		j.Value = &v
	} else if o.valued && o.verdict == NotComplied && j.Shown != "" {
		if v, ok := o.proven(); ok {
			j.Value = &v
		}
	}
	switch {
	case o.limit != nil:
		j.Limit, j.LimitText = o.limit, o.text
	case len(o.limits) > 0:
		l := unit.Round9(o.limits[o.decisive].Value.Float())
		j.Limit, j.LimitText = &l, limitsText(o.limits, o.ver.cond.Join)
	default:
		j.LimitText = o.text
		if j.LimitText == "" && !h.duty {
			j.LimitText = limitsText(o.ver.cond.Limits, o.ver.cond.Join)
		}
	}
}

// proven is the end of the bounds that proves a limit broken.
func (o *outcome) proven() (float64, bool) {
	for _, v := range []float64{o.b.low, o.b.high} {
		if len(o.limits) > 0 && v > -1e300 && v < 1e300 && margin(v, &o.limits[o.decisive]) < 0 {
			return v, true
		}
	}
	return 0, false
}

// written writes one window as a Judgement.
func (h *hearing) written(o *outcome) Judgement {
	var j Judgement
	h.base(&j, o.ver, o.span)
	j.Verdict = o.verdict
	h.fill(&j, o)
	if o.excluded != nil {
		j.Excluded = o.excluded
	}
	used := bySeq(append([]*book.Entry{o.ver.entry}, o.entries...))
	j.Evidence = evidence(used)
	j.Counts.add(o.verdict)
	j.Inner = o.inner
	j.Working = o.steps
	j.Sentence = h.sentence(o)
	if o.verdict == CannotBeJudged {
		j.Cause, j.Remedy = o.cause, o.remedy
	}
	j.Digest = digest(h.s.opts.Rules, []string{h.line.permit, j.Condition, h.place, book.FormatInstant(o.span.From), book.FormatInstant(o.span.To)}, used)
	return j
}

func (h *hearing) month(j *Judgement, m *monthPart) {
	h.base(j, m.best.ver, m.span)
	j.Counts = m.counts
	j.Verdict = j.Counts.verdict()
	h.fill(j, m.best)
	j.Excluded = orNone(m.excluded)
	j.Sentence = h.countsSentence(j)
	if j.Verdict == CannotBeJudged {
		j.Cause, j.Remedy = m.cause()
	}
}

// allEntries gathers what the judgement rests on: the notices, what its
// windows used, and the lists and plans that were read.
func (h *hearing) allEntries(used []*book.Entry) []*book.Entry {
	var out []*book.Entry
	for i := range h.run {
		if e := h.run[i].entry; e != nil {
			out = append(out, e)
		}
	}
	out = append(append(out, used...), h.rec.used...)
	for _, c := range names(h.rec.notes[noteChannel]) {
		out = append(out, h.rec.rejectionEntries(c, h.sofar())...)
		for _, x := range h.rec.rejects[c] {
			h.rec.turn(x.from)
		}
	}
	return bySeq(out)
}

// blank is the judgement of a condition that cannot be judged as a whole.
func (h *hearing) blank(err error) outcome {
	f := asFault(err)
	span := h.sofar()
	if span.Empty() {
		span.To = span.From.Add(time.Millisecond)
	}
	return cannot(span, &h.run[len(h.run)-1], f)
}
