package judge

import (
	"math"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
)

// outcome is what one window came to, before it is written out as a
// Judgement.
type outcome struct {
	span    calendar.Span
	ver     *version
	verdict Verdict

	b        bounds // of the value, in unit; meaningful when valued
	valued   bool
	unit     string
	shown    string         // the value where one number does not say it
	limits   []permit.Limit // as they applied, numbers filled in
	decisive int            // which of limits says the margin
	margin   *float64
	limit    *float64 // where no single limit says it
	text     string   // limit text where limits do not say it
	coverage *float64

	reason   string // clause that ends the sentence of the verdict
	cause    string // of cannot be judged
	remedy   string
	excluded []Excluded
	entries  []*book.Entry
	inner    *Counts // windows inside, of grouped rules
	steps    []Step

	others              map[string]elsewhere // found at places that limits compare with
	frequency, distance float64              // of the result, Hz and m; 0: not known
	derived             []Step               // how the numbers of limits came about

	absent bool // not complied only because nothing is on file
	unsure bool // cannot be judged for another reason than missing data
	over   bool // the value is the number of windows over
	quiet  bool // the sentence gives the value with its reason, or not at all
}

// cannot is the outcome of a window that cannot be judged.
func cannot(span calendar.Span, v *version, f *fault) outcome {
	return outcome{span: span, ver: v, verdict: CannotBeJudged, cause: f.cause, remedy: f.remedy, reason: f.cause, unsure: true}
}

// lost turns an outcome into one that cannot be judged, keeping its value,
// coverage and evidence.
func (o outcome) lost(f *fault) outcome {
	o.verdict, o.cause, o.remedy, o.reason, o.unsure = CannotBeJudged, f.cause, f.remedy, f.cause, true
	o.margin = nil
	return o
}

// value sets what is known of the value.
func (o *outcome) value(b bounds, unitName string) {
	o.b, o.valued, o.unit = b, true, unitName
	if !b.known() {
		o.shown = span(b)
	}
}

// span writes bounds: "[11.0, 13.0]", "at least 56.104".
func span(b bounds) string {
	switch {
	case b.known():
		return figure(b.low)
	case math.IsInf(b.high, 1) && math.IsInf(b.low, -1):
		return "not known"
	case math.IsInf(b.high, 1):
		return "at least " + figure(b.low)
	case math.IsInf(b.low, -1):
		return "at most " + figure(b.high)
	}
	return "[" + figure(b.low) + ", " + figure(b.high) + "]"
}

// weigh compares what is known of a window's value with the limits that apply
// and keeps the numbers. It returns whether they are kept; the verdict is the
// caller's.
func (h *hearing) weigh(o *outcome, b bounds, from string) (fit, error) {
	c := o.ver.cond
	if list, ok := h.plain(o); ok {
		return h.weighPlain(o, b, from, list)
	}
	limits := h.limits(o)
	o.limits, o.derived = nil, nil
	to := from
	for i := range limits {
		if limits[i].why == nil {
			o.limits = append(o.limits, limits[i].low)
		}
		o.derived = append(o.derived, limits[i].steps...)
		o.entries = bySeq(append(o.entries[:len(o.entries):len(o.entries)], limits[i].entries...))
	}
	if len(o.limits) > 0 {
		to = o.limits[0].Unit
	}
	in, err := converted(b, from, to)
	if err != nil {
		return open, err
	}
	o.value(in, to)
	if len(limits) == 0 {
		return open, nil
	}
	fs := make([]fit, len(limits))
	var known []fit
	var why *fault
	for i := range limits {
		if why == nil && limits[i].why != nil {
			why = limits[i].why
		}
		if limits[i].why != nil {
			continue // stays open
		}
		each, err := converted(b, from, limits[i].low.Unit)
		if err != nil {
			return open, err
		}
		fs[i] = fitsResolved(each, &limits[i], c)
		known = append(known, fs[i])
	}
	o.decide(known, c.Join)
	f := joined(fs, c.Join)
	if f == open && why != nil {
		return open, why
	}
	return f, nil
}

// weighPlain is weigh where every limit is a number as it stands.
func (h *hearing) weighPlain(o *outcome, b bounds, from string, list []permit.Limit) (fit, error) {
	c := o.ver.cond
	o.limits, o.derived = list, nil
	to := from
	if len(list) > 0 {
		to = list[0].Unit
	}
	in, err := converted(b, from, to)
	if err != nil {
		return open, err
	}
	o.value(in, to)
	if len(list) == 0 {
		return open, nil
	}
	var few [4]fit
	fs := few[:0]
	for i := range list {
		each, err := converted(b, from, list[i].Unit)
		if err != nil {
			return open, err
		}
		fs = append(fs, fits(prepared(each, c.Rounding, &list[i]), &list[i]))
	}
	o.decide(fs, c.Join)
	return joined(fs, c.Join), nil
}

// prepared rounds bounds as the condition says.
func prepared(b bounds, r permit.Rounding, l *permit.Limit) bounds {
	if step, ok := roundingStep(r, l); ok {
		return b.rising(func(v float64) float64 { return rounded(v, step) })
	}
	return b
}

// decide picks the limit that says the margin: of "all of" the one nearest to
// being broken, of "any of" the one nearest to being kept.
func (o *outcome) decide(fs []fit, join permit.Join) {
	best := math.NaN()
	for i := range o.limits {
		m, ok := o.marginOf(i, fs[i])
		if !ok {
			continue
		}
		better := m < best
		if join == permit.AnyOf {
			better = m > best
		}
		if math.IsNaN(best) || better {
			best, o.decisive = m, i
			o.margin = &m
		}
	}
}

// marginOf is the margin of the worse end of the bounds where the limit is
// kept, of the better end where it is broken, so that it never says more than
// is known.
func (o *outcome) marginOf(i int, f fit) (float64, bool) {
	l := &o.limits[i]
	if l.Unit != o.limits[0].Unit && !unit.Same(l.Unit, o.limits[0].Unit) {
		return 0, false
	}
	low, high := margin(o.b.low, l), margin(o.b.high, l)
	m := math.Min(low, high)
	if f == broken {
		m = math.Max(low, high)
	}
	return m, !math.IsInf(m, 0) && !math.IsNaN(m) && (f != open || o.b.known())
}

// converted turns bounds into another unit, rounded once.
func converted(b bounds, from, to string) (bounds, error) {
	if unit.Same(from, to) {
		return b.rising(unit.Round9), nil
	}
	if err := unit.Convertible(from, to); err != nil {
		return b, &fault{cause: "units do not convert: " + err.Error(), remedy: "write the limit in a unit that the readings can be turned into"}
	}
	return b.rising(func(v float64) float64 {
		if math.IsInf(v, 0) {
			return v
		}
		in, _ := unit.Convert(v, from, to)
		return unit.Round9(in)
	}), nil
}

// settle turns a fit into the verdict of the outcome, given why it may be open.
func (o *outcome) settle(f fit, openCause, openRemedy string) {
	switch f {
	case kept:
		o.verdict = Complied
	case broken:
		o.verdict = NotComplied
	default:
		o.verdict, o.cause, o.remedy = CannotBeJudged, openCause, openRemedy
	}
}
