package judge

import (
	"math"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

// stretch is what the windows of one stretch of time came to, taken together:
// all that a roll-up needs to know of them. Stretches that follow one another
// join to that of the whole.
type stretch struct {
	counts   Counts
	inner    *Counts
	best     *outcome // the window that says most; nil when there is none
	excluded []Excluded
	entries  []*book.Entry // used by the windows, by seq, each once
	causes   []causeCount  // of cannot be judged, in order of first mention
	windows  []Judgement   // where windows are kept
}

// causeCount is how many windows cannot be judged for one cause.
type causeCount struct {
	cause, remedy string
	n             int
}

// stretchOf takes the outcomes of a stretch, in order of time, together.
func (h *hearing) stretchOf(list []outcome) stretch {
	var p stretch
	for i := range list {
		p.add(&list[i])
		p.best = moreTelling(p.best, &list[i])
	}
	p.excluded = merged(p.excluded)
	p.entries = bySeq(p.entries)
	if h.s.opts.Windows {
		p.windows = make([]Judgement, len(list))
		for i := range list {
			p.windows[i] = h.written(&list[i])
		}
	}
	return p
}

// add counts one outcome, but for what it says beside others.
func (p *stretch) add(o *outcome) {
	p.counts.add(o.verdict)
	p.inner = addInner(p.inner, o.inner)
	p.excluded = append(p.excluded, o.excluded...)
	if o.verdict == CannotBeJudged {
		p.blame(causeCount{o.cause, o.remedy, 1})
	}
	p.use(o.entries)
}

// use notes entries that a window rests on.
func (p *stretch) use(list []*book.Entry) {
	for _, e := range list {
		if n := len(p.entries); n == 0 || p.entries[n-1] != e {
			p.entries = append(p.entries, e)
		}
	}
}

// alone lets go of the list that the stretch was made of.
func (p *stretch) alone() {
	if p.best != nil {
		own := *p.best
		p.best = &own
	}
}

// join adds the stretch that follows.
func (p *stretch) join(q *stretch) {
	p.counts.sum(&q.counts)
	p.inner = addInner(p.inner, q.inner)
	if q.best != nil {
		p.best = moreTelling(p.best, q.best)
	}
	p.excluded = merged(append(p.excluded[:len(p.excluded):len(p.excluded)], q.excluded...))
	for _, c := range q.causes {
		p.blame(c)
	}
	p.entries = append(p.entries, q.entries...)
	p.windows = append(p.windows, q.windows...)
}

// blame counts windows that cannot be judged for one cause.
func (p *stretch) blame(c causeCount) {
	for i := range p.causes {
		if p.causes[i].cause == c.cause {
			p.causes[i].n += c.n
			return
		}
	}
	p.causes = append(p.causes, c)
}

// cause returns the commonest cause; of equals the first.
func (p *stretch) cause() (cause, remedy string) {
	most := 0
	for _, c := range p.causes {
		if c.n > most {
			most, cause, remedy = c.n, c.cause, c.remedy
		}
	}
	return cause, remedy
}

// moreTelling picks the window that says most about a roll-up: among those of
// the gravest verdict the one with the least margin, else the last.
func moreTelling(best, o *outcome) *outcome {
	switch {
	case best == nil || worse(o.verdict, best.verdict):
		return o
	case worse(best.verdict, o.verdict):
		return best
	case best.margin == nil:
		return o
	case o.margin != nil && *o.margin < *best.margin:
		return o
	}
	return best
}

func (c *Counts) sum(d *Counts) {
	c.Due += d.Due
	c.Judged += d.Judged
	c.Complied += d.Complied
	c.NotComplied += d.NotComplied
	c.CannotBeJudged += d.CannotBeJudged
	c.NotYetDue += d.NotYetDue
	c.NotApplicable += d.NotApplicable
}

func addInner(sum, c *Counts) *Counts {
	if c == nil {
		return sum
	}
	out := Counts{}
	if sum != nil {
		out = *sum
	}
	out.sum(c)
	return &out
}

// merged adds up exclusions of one channel and reason, in order of first
// mention, to the millisecond.
func merged(list []Excluded) []Excluded {
	var out []Excluded
	for _, x := range list {
		found := false
		for i := range out {
			if out[i].Channel == x.Channel && out[i].Reason == x.Reason {
				out[i].Count += x.Count
				out[i].Seconds = (math.Round(out[i].Seconds*1000) + math.Round(x.Seconds*1000)) / 1000
				found = true
			}
		}
		if !found {
			out = append(out, x)
		}
	}
	return out
}

// monthPart is the stretch of the windows that begin in one month of the zone
// that the roll-up goes by.
type monthPart struct {
	span calendar.Span
	*stretch
}

// parted sorts outcomes, in order of time, into months.
func (h *hearing) parted(list []outcome) []monthPart {
	var out []monthPart
	for first := 0; first < len(list); {
		span := h.monthAt(list[first].span.From)
		end := first
		for end < len(list) && list[end].span.From.Before(span.To) {
			end++
		}
		all := h.stretchOf(list[first:end])
		out = append(out, monthPart{span, &all})
		first = end
	}
	return out
}
