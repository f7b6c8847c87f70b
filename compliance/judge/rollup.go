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

// telling picks the window that says most about a roll-up: among those of the
// gravest verdict the one with the least margin, else the last.
func telling(list []outcome) *outcome {
	var best *outcome
	for i := range list {
		o := &list[i]
		switch {
		case best == nil || worse(o.verdict, best.verdict):
			best = o
		case worse(best.verdict, o.verdict):
		case best.margin == nil:
			best = o
		case o.margin != nil && *o.margin < *best.margin:
			best = o
		}
	}
	return best
}

// rollup writes the outcomes of one condition at one place as one Judgement.
func (h *hearing) rollup(list []outcome) Judgement {
	span := h.sofar()
	j := h.base(h.line.last(), span)
	for i := range list {
		j.Counts.add(list[i].verdict)
	}
	j.Verdict = j.Counts.verdict()
	if len(list) == 0 && !h.next.IsZero() {
		j.Verdict = NotYetDue
	}
	best := telling(list)
	if best != nil {
		h.fill(&j, best)
		j.Excluded = allExcluded(list)
		if h.s.opts.Working {
			j.Working = best.steps
		}
	}
	used := h.allEntries(list)
	j.Evidence = evidence(used)
	j.Digest = digest(h.s.opts.Rules, []string{h.line.permit, j.Condition, h.place}, used)
	j.Inner = allInner(list)
	j.Months = h.months(list)
	j.Sentence = h.rollupSentence(&j, best)
	if j.Verdict == CannotBeJudged {
		j.Cause, j.Remedy = firstCause(list)
	}
	if h.s.opts.Windows {
		j.Windows = make([]Judgement, len(list))
		for i := range list {
			j.Windows[i] = h.written(&list[i])
		}
	}
	if !h.next.IsZero() {
		next := h.next.UTC()
		j.Recheck = &next
	}
	j.Reads = h.rec.reads(span)
	return j
}

// base fills in what every judgement of a version has.
func (h *hearing) base(v *version, span calendar.Span) Judgement {
	j := Judgement{
		Permit: h.line.permit, Version: v.notice, Clause: v.cond.Clause, Condition: h.line.id,
		Title: v.cond.Title, Severity: string(v.cond.Severity), Place: h.place,
		Window:   Window{span.From.UTC(), span.To.UTC()},
		Excluded: []Excluded{}, Evidence: []Evidence{}, Rule: h.rule(v),
	}
	if h.duty {
		j.Condition += dutySuffix
		j.Title, j.Severity = "duty to monitor: "+j.Title, string(permit.AsLimit)
	}
	return j
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
	j := h.base(o.ver, o.span)
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

// months rolls the windows up by the local month they begin in.
func (h *hearing) months(list []outcome) []Judgement {
	var out []Judgement
	for first := 0; first < len(list); {
		begin := list[first].span.From.In(h.zone)
		month := calendar.Date{Year: begin.Year(), Month: begin.Month(), Day: 1}
		span := calendar.Span{From: month.Start(h.zone), To: month.AddMonths(1).Start(h.zone)}
		end := first
		for end < len(list) && list[end].span.From.Before(span.To) {
			end++
		}
		out = append(out, h.month(span, list[first:end]))
		first = end
	}
	return out
}

func (h *hearing) month(span calendar.Span, list []outcome) Judgement {
	best := telling(list)
	j := h.base(best.ver, span)
	for i := range list {
		j.Counts.add(list[i].verdict)
	}
	j.Verdict = j.Counts.verdict()
	h.fill(&j, best)
	j.Excluded = allExcluded(list)
	j.Sentence = h.countsSentence(&j)
	if j.Verdict == CannotBeJudged {
		j.Cause, j.Remedy = firstCause(list)
	}
	return j
}

func allExcluded(list []outcome) []Excluded {
	out := []Excluded{}
	for i := range list {
		out = append(out, list[i].excluded...)
	}
	if out = merged(out); out == nil {
		out = []Excluded{}
	}
	return out
}

func allInner(list []outcome) *Counts {
	var sum *Counts
	for i := range list {
		c := list[i].inner
		if c == nil {
			continue
		}
		if sum == nil {
			sum = &Counts{}
		}
		sum.Due += c.Due
		sum.Judged += c.Judged
		sum.Complied += c.Complied
		sum.NotComplied += c.NotComplied
		sum.CannotBeJudged += c.CannotBeJudged
		sum.NotYetDue += c.NotYetDue
		sum.NotApplicable += c.NotApplicable
	}
	return sum
}

// firstCause returns the commonest cause; of equals the first.
func firstCause(list []outcome) (cause, remedy string) {
	count := map[string]int{}
	for i := range list {
		if o := &list[i]; o.verdict == CannotBeJudged {
			count[o.cause]++
		}
	}
	most := 0
	for i := range list {
		if o := &list[i]; o.verdict == CannotBeJudged && count[o.cause] > most {
			most, cause, remedy = count[o.cause], o.cause, o.remedy
		}
	}
	return cause, remedy
}

// allEntries gathers what the judgement rests on: the notices, what its
// windows used, and the lists and plans that were read.
func (h *hearing) allEntries(list []outcome) []*book.Entry {
	seen := map[book.ID]bool{}
	var out []*book.Entry
	take := func(e *book.Entry) {
		if e != nil && !seen[e.ID] {
			seen[e.ID] = true
			out = append(out, e)
		}
	}
	for i := range h.run {
		take(h.run[i].entry)
	}
	for i := range list {
		for _, e := range list[i].entries {
			take(e)
		}
	}
	for _, e := range h.rec.used {
		take(e)
	}
	for _, c := range names(h.rec.notes[noteChannel]) {
		for _, e := range h.rec.rejectionEntries(c, h.sofar()) {
			take(e)
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
