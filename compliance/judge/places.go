package judge

import (
	"fmt"
	"strings"

	"github.com/swardbook/swardbook/compliance/permit"
)

// placesTogether judges a condition that takes several places as one: with
// "any" a window is as the worst of them, with "mean" their values are
// averaged before they are compared.
func (h *hearing) placesTogether() ([]outcome, error) {
	codes := h.cond().Place.Codes
	each := make([][]outcome, len(codes))
	for i, code := range codes {
		one := *h
		one.place, one.othersRead = code, nil
		one.run = make([]version, len(h.run))
		for k, v := range h.run {
			c := *v.cond
			c.Place = permit.Place{Mode: permit.Each, Codes: []string{code}, BufferM: c.Place.BufferM}
			v.cond = &c
			one.run[k] = v
		}
		list, err := one.judged()
		if err != nil {
			return nil, err
		}
		h.until(one.next)
		each[i] = list
	}
	var order []outcome
	at := map[[2]int64][]placed{}
	for i, list := range each {
		for k := range list {
			key := [2]int64{list[k].span.From.UnixMilli(), list[k].span.To.UnixMilli()}
			if at[key] == nil {
				order = append(order, list[k])
			}
			at[key] = append(at[key], placed{codes[i], &list[k]})
		}
	}
	var out []outcome
	for i := range order {
		key := [2]int64{order[i].span.From.UnixMilli(), order[i].span.To.UnixMilli()}
		if h.cond().Place.Mode == permit.Any {
			out = append(out, anyOf(at[key]))
		} else {
			out = append(out, h.meanOf(at[key], len(codes)))
		}
	}
	sortOutcomes(out)
	return out, nil
}

// placed is a window at one place.
type placed struct {
	code string
	o    *outcome
}

// anyOf takes the worst of the windows of one time; a place of which nothing
// is on file leaves it open unless another decides.
func anyOf(list []placed) outcome {
	worst := list[0]
	for _, p := range list[1:] {
		if worse(p.o.verdict, worst.o.verdict) || p.o.verdict == worst.o.verdict && p.o.margin != nil && worst.o.margin != nil && *p.o.margin < *worst.o.margin {
			worst = p
		}
	}
	out := *worst.o
	out.reason = strings.TrimPrefix(out.reason+"; at "+worst.code, "; ")
	for _, p := range list {
		out.entries = bySeq(append(out.entries[:len(out.entries):len(out.entries)], p.o.entries...))
	}
	return out
}

// meanOf averages the values of one time over the places and compares the mean.
func (h *hearing) meanOf(list []placed, places int) outcome {
	out := outcome{span: list[0].o.span, ver: h.versionAt(list[0].o.span.From)}
	var sum bounds
	var steps []Step
	for _, p := range list {
		out.entries = bySeq(append(out.entries[:len(out.entries):len(out.entries)], p.o.entries...))
		switch {
		case p.o.verdict == NotYetDue:
			out.verdict = NotYetDue
			return out
		case p.o.verdict == NotApplicable && len(out.ver.cond.Limits) > 0, !p.o.valued, p.o.verdict == CannotBeJudged && !p.o.unsure:
			return out.lost(&fault{cause: "there is no value at " + p.code, remedy: "enter what was found at " + p.code})
		}
		sum.low, sum.high = sum.low+p.o.b.low, sum.high+p.o.b.high
		steps = append(steps, step("at "+p.code, withUnit(span(p.o.b), p.o.unit)))
	}
	if len(list) < places {
		return out.lost(&fault{cause: fmt.Sprintf("only %d of %d places have a value", len(list), places), remedy: "enter what was found at the others"})
	}
	mean := bounds{sum.low / float64(places), sum.high / float64(places)}
	f, err := h.weigh(&out, mean, list[0].o.unit)
	if err != nil {
		return out.lost(asFault(err))
	}
	if len(out.ver.cond.Limits) == 0 {
		out.verdict = NotApplicable
	} else {
		out.settle(f, "less-than results leave it open", nondetectRemedy)
		out.unsure = f == open
	}
	if h.s.opts.Working {
		out.steps = append(append(steps, step("their mean", withUnit(span(out.b), out.unit))), limitSteps(&out)...)
	}
	return out
}
