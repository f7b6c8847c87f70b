package judge

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// backgroundKind is the kind of entry that a background value is.
const backgroundKind = "background.1"

// resolved is one limit of a condition with its number filled in for a window.
type resolved struct {
	low, high permit.Limit // differ where the number itself lies between two
	why       *fault       // why there is no number; nil when there is
	steps     []Step       // how the number came about
	entries   []*book.Entry
}

// plain returns the limits of an outcome's version where they are numbers as
// they stand, and no consent may change them.
func (h *hearing) plain(o *outcome) ([]permit.Limit, bool) {
	list := o.ver.cond.Limits
	if h.s.opts.Rules >= 2 && len(h.rec.Entries(consentKind)) > 0 {
		return nil, false
	}
	for i := range list {
		switch list[i].Form {
		case permit.OfBackground, permit.OfOtherPlace, permit.OfCurve, permit.OfShare, permit.OfSurface:
			return nil, false
		}
	}
	return list[:len(list):len(list)], true
}

// limits returns the limits of an outcome's version as they applied to its
// window: numbers that come from elsewhere, such as a background or another
// place, are looked up.
func (h *hearing) limits(o *outcome) []resolved {
	list := o.ver.cond.Limits
	own, consent, err := h.consentLimits(o)
	if err != nil {
		return []resolved{noNumber(permit.Limit{}, asFault(err))}
	}
	if consent != nil {
		list = own
	}
	out := make([]resolved, len(list))
	for i := range list {
		l := list[i]
		switch l.Form {
		case permit.OfBackground:
			out[i] = h.background(o, l)
		case permit.OfOtherPlace:
			out[i] = h.besides(o, l)
		case permit.OfCurve:
			out[i] = onCurve(o, l)
		case permit.OfShare:
			out[i] = h.shareOf(o, l)
		case permit.OfSurface:
			out[i] = noNumber(l, asFault(notBuilt("limit above a surface; name the survey in with: {before: …}")))
		default:
			out[i] = resolved{low: l, high: l}
		}
	}
	if consent != nil {
		out[0].entries = append(out[0].entries, consent)
		out[0].steps = append([]Step{step(fmt.Sprintf("consent %s (entry %d) sets", consent.Body.Text("reference"), consent.Seq), list[0].String())}, out[0].steps...)
	}
	return out
}

func noNumber(l permit.Limit, f *fault) resolved { return resolved{low: l, high: l, why: f} }

// number makes a limit of a number.
func number(l permit.Limit, v unit.Decimal, unitName string) permit.Limit {
	l.Form, l.Value, l.Unit = permit.Constant, v, unitName
	return l
}

// decimalOf writes a derived number as a decimal, rounded once.
func decimalOf(v float64) (unit.Decimal, error) {
	return unit.ParseDecimal(strconv.FormatFloat(unit.Round9(v), 'f', -1, 64))
}

// background adds to the background value that stood when the window began.
// Of several entries of one name the last by then counts.
func (h *hearing) background(o *outcome, l permit.Limit) resolved {
	var found *book.Entry
	for _, e := range h.rec.Entries(backgroundKind) {
		if e.Body == nil || e.Body.Text("name") != l.Background || e.At.After(o.span.From) {
			continue
		}
		if q := e.Body.Text("quantity"); q != "" && h.q != nil && q != h.q.Code {
			continue
		}
		found = e
	}
	if found == nil {
		return noNumber(l, &fault{cause: "background " + l.Background + " is not on file for that time", remedy: "enter the background " + l.Background + " with the survey it comes from"})
	}
	v, err := unit.ParseDecimal(found.Body.Text("value"))
	from := found.Body.Text("unit")
	if err == nil && !unit.Same(from, l.Unit) {
		var in float64
		if in, err = unit.Convert(v.Float(), from, l.Unit); err == nil {
			v, err = decimalOf(in)
		}
	}
	if err != nil {
		return noNumber(l, &fault{cause: "background " + l.Background + ": " + err.Error(), remedy: "correct the entry of the background"})
	}
	sum, err := v.Add(l.Value)
	if err != nil {
		return noNumber(l, &fault{cause: "background " + l.Background + ": " + err.Error(), remedy: "correct the entry of the background"})
	}
	words := "background " + l.Background + fmt.Sprintf(" (entry %d) and the allowance", found.Seq)
	value := v.String() + " + " + l.Value.String() + " = " + sum.String()
	if l.Floor != nil && sum.Cmp(*l.Floor) < 0 {
		sum, value = *l.Floor, value+", no lower than "+l.Floor.String()
	}
	if l.Cap != nil && sum.Cmp(*l.Cap) > 0 {
		sum, value = *l.Cap, value+", no higher than "+l.Cap.String()
	}
	n := number(l, sum, l.Unit)
	return resolved{low: n, high: n, steps: []Step{step(words, withUnit(value, l.Unit))}, entries: []*book.Entry{found}}
}

// besides adds to what was found at another place in the same window, or with
// the sample nearest in time. Per cent are of what was found there.
func (h *hearing) besides(o *outcome, l permit.Limit) resolved {
	other, known := o.others[l.Other]
	if !known {
		return noNumber(l, &fault{cause: "there is nothing on file at " + l.Other + " to compare with", remedy: "measure at both places at the same time, or enter the result at " + l.Other})
	}
	target := l.Unit
	if l.Unit == "%" {
		target = other.unit
	}
	b, err := converted(other.b, other.unit, target)
	if err != nil {
		return noNumber(l, asFault(err))
	}
	if l.Value.Coefficient < 0 {
		// "At least 2 below" is no more than the other less 2.
		l.Comparator = opposite[l.Comparator]
	}
	at := func(v float64) (permit.Limit, error) {
		sum := v + l.Value.Float()
		if l.Unit == "%" {
			sum = v * (1 + l.Value.Float()/100)
		}
		d, err := decimalOf(sum)
		return number(l, d, target), err
	}
	low, errLow := at(b.low)
	high, errHigh := at(b.high)
	if errLow != nil || errHigh != nil {
		return noNumber(l, &fault{cause: "what was found at " + l.Other + " is not known closely enough", remedy: "enter the result at " + l.Other})
	}
	return resolved{low: low, high: high, steps: []Step{step("at "+l.Other+other.when, withUnit(span(b), target)), step("and the allowance", withUnit(l.Value.String(), l.Unit))}, entries: other.entries}
}

var opposite = map[permit.Comparator]permit.Comparator{
	permit.AtMostLimit: permit.AtLeastLimit, permit.AtLeastLimit: permit.AtMostLimit, permit.Below: permit.Above, permit.Above: permit.Below, permit.Equal: permit.Equal,
}

// onCurve reads the limit off its curve at the frequency or distance of the
// result.
func onCurve(o *outcome, l permit.Limit) resolved {
	x, words, unitName := o.frequency, "frequency", "Hz"
	if l.Along == permit.Distance {
		x, words, unitName = o.distance, "distance", "m"
	}
	if !(x > 0) {
		return noNumber(l, &fault{cause: "the " + words + " of the result is not on file", remedy: "enter the " + words + " with the result"})
	}
	p := l.Points
	y := p[0].Y.Float()
	for i := 1; i < len(p); i++ {
		x0, x1 := p[i-1].X.Float(), p[i].X.Float()
		if x >= x1 {
			y = p[i].Y.Float()
			continue
		}
		if x > x0 {
			y = p[i-1].Y.Float() + float64((x-x0)/(x1-x0)*(p[i].Y.Float()-p[i-1].Y.Float()))
		}
		break
	}
	d, err := decimalOf(y)
	if err != nil {
		return noNumber(l, asFault(err))
	}
	n := number(l, d, l.Unit)
	return resolved{low: n, high: n, steps: []Step{step("limit on the curve at a "+words+" of "+withUnit(exact(x), unitName), withUnit(d.String(), l.Unit))}}
}

// shareOf takes per cent of another quantity's total in the same window.
func (h *hearing) shareOf(o *outcome, l permit.Limit) resolved {
	q := h.s.list.Named(l.Other)
	if q == nil || q.Observe == nil {
		return noNumber(l, &fault{cause: "the total of " + l.Other + " cannot be had", remedy: "name a quantity that is read from entries"})
	}
	list, err := h.observeOf(q, nil, h.place, h.from())
	if err != nil {
		return noNumber(l, asFault(err))
	}
	w := window{span: o.span, ver: o.ver}
	in := inWindow(&w, list)
	values, lost := sampled(in, permit.AsFull, q.NotBelow)
	if len(values) == 0 || len(lost) > 0 {
		return noNumber(l, &fault{cause: "nothing of " + q.Title + " is on file for the window", remedy: "enter it, or the figure that is missing"})
	}
	target := q.Unit
	if h.q != nil && h.q.Unit != "" {
		target = h.q.Unit
	}
	b, err := converted(totals(values, false), q.Unit, target)
	if err != nil {
		return noNumber(l, asFault(err))
	}
	low, errLow := decimalOf(b.low * l.Value.Float() / 100)
	high, errHigh := decimalOf(b.high * l.Value.Float() / 100)
	if errLow != nil || errHigh != nil {
		return noNumber(l, &fault{cause: "the total of " + q.Title + " is not known closely enough", remedy: "enter the figure that is missing"})
	}
	return resolved{low: number(l, low, target), high: number(l, high, target), entries: entriesOf(in),
		steps: []Step{step("total of "+q.Title, withUnit(span(b), target)), step("of it", withUnit(l.Value.String(), "%"))}}
}

// fitsResolved compares bounds with a limit whose number may itself lie
// between two.
func fitsResolved(b bounds, r *resolved, c *permit.Condition) fit {
	if r.why != nil {
		return open
	}
	low := fits(prepared(b, c.Rounding, &r.low), &r.low)
	if high := fits(prepared(b, c.Rounding, &r.high), &r.high); high != low {
		return open
	}
	return low
}

// elsewhere is what was found at another place.
type elsewhere struct {
	b       bounds
	unit    string
	when    string // where it is not the window itself: " at 10:05"
	entries []*book.Entry
}

// otherPlaces lists the places that limits compare with.
func otherPlaces(c *permit.Condition) []string {
	var out []string
	for i := range c.Limits {
		if c.Limits[i].Form == permit.OfOtherPlace {
			out = append(out, c.Limits[i].Other)
		}
	}
	return out
}

// comparesSingly tells whether limits go by single results: by those of
// another place nearest in time, or by the frequency or distance of each.
func comparesSingly(c *permit.Condition) bool {
	for i := range c.Limits {
		if f := c.Limits[i].Form; f == permit.OfOtherPlace || f == permit.OfCurve {
			return true
		}
	}
	return false
}

// pairedWithin is how far apart two samples may lie to be a pair.
// Source: common practice for samples above and below an outfall.
const pairedWithin = time.Hour

// beside is what was found at other places, by window; nil when no limit
// compares with any.
type beside []map[string]elsewhere

func (b beside) at(i int) map[string]elsewhere {
	if b == nil {
		return nil
	}
	return b[i]
}

// besideWindows computes the statistic of each window at the places that
// limits compare with.
func (h *hearing) besideWindows(wins []window, name permit.StatisticName) (beside, error) {
	places := otherPlaces(wins[0].ver.cond)
	if len(places) == 0 {
		return nil, nil
	}
	out := make(beside, len(wins))
	for _, place := range places {
		chans := h.rec.Channels(h.q.Code, place)
		if len(chans) == 0 {
			continue
		}
		blocks, err := h.blocks(chans, closed(covering(wins)))
		if err != nil {
			return nil, err
		}
		results, err := h.results(blocks, wins, name)
		if err != nil {
			return nil, err
		}
		imports := h.importsOf(blocks)
		about := h.bearings(chans)
		for i := range wins {
			r := &results[i]
			if r.N == 0 || !r.OK || !covered(r, wins[i].ver.cond.Coverage.Window) {
				continue
			}
			if out[i] == nil {
				out[i] = map[string]elsewhere{}
			}
			near := about.within(wins[i].span)
			out[i][place] = elsewhere{b: near.widened(name, bounds{r.Low, r.High}, h.q), unit: chans[0].Unit, entries: h.importEntries(imports, wins[i].span)}
		}
	}
	return out, nil
}

// besideSamples finds for each place that limits compare with what was found
// there: of single results the one nearest in time, at most an hour away; of
// windows the statistic of those inside.
func (h *hearing) besideSamples(w *window, single bool, name permit.StatisticName) (map[string]elsewhere, error) {
	places := otherPlaces(w.ver.cond)
	if len(places) == 0 {
		return nil, nil
	}
	out := map[string]elsewhere{}
	for _, place := range places {
		list, err := h.otherSingles(place)
		if err != nil {
			return nil, err
		}
		var in []quantity.Observation
		when := ""
		for i := range list {
			x := &list[i]
			switch {
			case single && apartBy(x.From, w.span.From) <= pairedWithin && (len(in) == 0 || apartBy(x.From, w.span.From) < apartBy(in[0].From, w.span.From)):
				in = []quantity.Observation{*x}
				when = " at " + x.From.In(w.ver.zone).Format("15:04")
			case !single && w.holds(x.From):
				in = append(in, *x)
			}
		}
		values, lost := sampled(in, w.ver.cond.Nondetect, h.q.NotBelow)
		if len(values) == 0 || len(lost) > 0 {
			continue
		}
		stat := name
		if single {
			stat = permit.Value
		}
		b, err := statOf(stat, values, w.ver.cond.Statistic.Percentile)
		if err != nil {
			return nil, err
		}
		out[place] = elsewhere{b: b, unit: h.q.Unit, when: when, entries: entriesOf(in)}
	}
	return out, nil
}

// otherSingles reads the single results at another place, once.
func (h *hearing) otherSingles(place string) ([]quantity.Observation, error) {
	if list, done := h.othersRead[place]; done {
		return list, nil
	}
	there := *h
	there.place = place
	list, err := there.singles()
	if err != nil {
		return nil, err
	}
	if h.othersRead == nil {
		h.othersRead = map[string][]quantity.Observation{}
	}
	h.othersRead[place] = list
	return list, nil
}

func apartBy(a, b time.Time) time.Duration { return time.Duration(math.Abs(float64(a.Sub(b)))) }
