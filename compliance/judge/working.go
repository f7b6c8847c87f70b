package judge

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/student"
	"github.com/swardbook/swardbook/compliance/unit"
)

// mostListed is how many readings or results are written out one by one; of
// more the sum stands, with their number.
const mostListed = 100

func step(words, value string) Step { return Step{Words: words, Value: value} }

// used is the readings that count in a window, in order, with the time that
// each covers of it.
type used struct {
	values []float64
	ms     []int64
	total  int64 // ms
	equal  bool  // all cover the same time
	cut    int   // how many lie over an edge of the window
}

// counting finds the readings that count in a window. Whole says that they
// count whole where they begin, as sums do.
func counting(blocks []*series.Block, w *window, whole bool) used {
	u := used{equal: true}
	parts := w.parts
	if parts == nil {
		parts = []calendar.Span{w.span}
	}
	for _, p := range parts {
		from, to := p.From.UnixMilli(), p.To.UnixMilli()
		for _, b := range blocks {
			for i, start := range b.Start {
				inside := start >= from && start < to || !whole && start < from && start+b.Span > from
				if inside && b.Mark[i].Counts() {
					if !whole && (start < from || start+b.Span > to) {
						u.cut++
					}
					u.add(unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}.Float(), min(start+b.Span, to)-max(start, from))
				}
			}
		}
	}
	return u
}

func (u *used) add(v float64, ms int64) {
	u.equal = u.equal && (len(u.ms) == 0 || u.ms[0] == ms)
	u.values, u.ms, u.total = append(u.values, v), append(u.ms, ms), u.total+ms
}

// readingSteps writes the arithmetic of one window of readings.
func readingSteps(o *outcome, blocks []*series.Block, w *window, stats []permit.StatisticName) []Step {
	u := counting(blocks, w, false)
	steps := []Step{step("readings that count", strconv.Itoa(len(u.values)))}
	if n := len(u.values); n > 0 && n <= mostListed {
		steps = append(steps, step("the readings", listed(u.values)))
	}
	if name := o.ver.cond.Statistic.Name; u.cut > 0 && (name == permit.EnergyMean || name == permit.ArithmeticMean) {
		steps = append(steps, step("readings over an edge of the window, taken by their part of it: an estimate", strconv.Itoa(u.cut)))
	}
	for _, name := range stats {
		of := u
		switch name {
		case permit.Sum, permit.Percentile, permit.Median, permit.Change:
			of = counting(blocks, w, true)
		}
		steps = append(steps, statSteps(name, of, w)...)
	}
	if o.coverage != nil {
		steps = append(steps, step("measured time over window", fmt.Sprintf("%s min / %s min = %s", minutes(u.total), minutes(w.length().Milliseconds()), percent(*o.coverage))),
			step("coverage needed", needText(w.ver.cond.Coverage.Window)))
	}
	for _, x := range o.excluded {
		steps = append(steps, step("left out: "+x.Reason, fmt.Sprintf("%s, %s min", plural(x.Count, "reading", "readings"), exact(unit.Round9(x.Seconds/60)))))
	}
	return append(steps, limitSteps(o)...)
}

func minutes(ms int64) string { return exact(unit.Round9(float64(ms) / 60000)) }

// statSteps writes how a statistic is made, so that a calculator can follow.
func statSteps(name permit.StatisticName, u used, w *window) []Step {
	if len(u.values) == 0 {
		return nil
	}
	switch name {
	case permit.EnergyMean:
		return energySteps(u, w)
	case permit.ArithmeticMean:
		return meanOfSteps(u)
	case permit.Sum:
		return []Step{step("sum", exact(unit.Round9(exactSum(u.values))))}
	case permit.Maximum, permit.Minimum:
		f, _ := statFunc(name, "")
		return []Step{step(map[permit.StatisticName]string{permit.Maximum: "greatest", permit.Minimum: "least"}[name], exact(f(u.values)))}
	}
	return rankSteps(name, u, w)
}

// rankSteps writes a statistic that goes by the order of the readings.
func rankSteps(name permit.StatisticName, u used, w *window) []Step {
	n := len(u.values)
	switch name {
	case permit.Percentile:
		p, err := unit.ParseDecimal(w.ver.cond.Statistic.Percentile)
		if err != nil {
			return nil
		}
		return []Step{step(fmt.Sprintf("in order of size, number %s %% of %d rounded up", p, n), exact(nearestRank(u.values, p.Float())))}
	case permit.Median:
		return []Step{step("the middle in order of size", exact(unit.Round9(median(u.values))))}
	case permit.Change:
		return []Step{step("first", exact(u.values[0])), step("last", exact(u.values[n-1]))}
	case permit.GeometricMean:
		return []Step{step("root number "+strconv.Itoa(n)+" of their product", exact(unit.Round9(geometricMean(u.values))))}
	}
	return nil
}

// energySteps writes an energy mean; readings of different length count by
// their minutes.
func energySteps(u used, w *window) []Step {
	sum, words, by, divisor := 0.0, "sum of 10^(L/10)", "divided by their number, "+strconv.Itoa(len(u.values)), float64(len(u.values))
	if !u.equal {
		words, by, divisor = "sum of 10^(L/10) × minutes", "divided by the minutes measured, "+minutes(u.total), float64(u.total)/60000
	}
	for i, v := range u.values {
		if u.equal {
			sum += unit.Energy(v)
		} else {
			sum += float64(unit.Energy(v) * (float64(u.ms[i]) / 60000))
		}
	}
	steps := []Step{step(words, scientific(sum)), step(by, scientific(sum/divisor)), step("10·lg of it", exact(unit.Round9(unit.Level(sum/divisor))))}
	if text := w.ver.cond.Statistic.Integrate; text != "" {
		steps = append(steps, step("plus 10·lg of the window's time over the "+text+" stated", spell(w.length())))
	}
	return steps
}

// meanOfSteps writes an arithmetic mean.
func meanOfSteps(u used) []Step {
	n := len(u.values)
	if u.equal {
		sum := exactSum(u.values)
		return []Step{step("sum", exact(unit.Round9(sum))), step("divided by their number, "+strconv.Itoa(n), exact(unit.Round9(sum/float64(n))))}
	}
	sum := 0.0
	for i, v := range u.values {
		sum += float64(v * (float64(u.ms[i]) / 60000))
	}
	return []Step{
		step("sum of readings × minutes", exact(unit.Round9(sum))),
		step("divided by the minutes measured, "+minutes(u.total), exact(unit.Round9(sum/(float64(u.total)/60000)))),
	}
}

// exactSum adds decimals without rounding between.
func exactSum(values []float64) float64 {
	var t unit.Total
	for _, v := range values {
		d, err := unit.ParseDecimal(strconv.FormatFloat(v, 'f', -1, 64))
		if err != nil {
			return plainSum(values)
		}
		t.Add(d)
	}
	return t.Float()
}

func scientific(v float64) string { return strconv.FormatFloat(v, 'e', 9, 64) }

func listed(values []float64) string {
	s := ""
	for i, v := range values {
		if i > 0 {
			s += " "
		}
		s += exact(v)
	}
	return s
}

// limitSteps writes the comparison and the verdict.
func limitSteps(o *outcome) []Step {
	var steps []Step
	if o.valued {
		value := o.shown
		if o.b.known() && value == "" {
			value = exact(o.b.low)
		}
		steps = append(steps, step("value", withUnit(value, o.unit)))
	}
	steps = append(steps, o.derived...)
	for i := range o.limits {
		l := &o.limits[i]
		if at, ok := roundingStep(o.ver.cond.Rounding, l); ok && o.valued && o.b.known() {
			steps = append(steps, step("rounded to "+at.String(), withUnit(exact(rounded(o.b.low, at)), o.unit)))
		}
		steps = append(steps, step("limit of "+o.ver.notice, limitText(l)))
	}
	if o.margin != nil {
		steps = append(steps, step("margin", withUnit(exact(*o.margin), o.unit)))
	}
	if o.reason != "" {
		steps = append(steps, step("note", o.reason))
	}
	return append(steps, step("verdict", o.verdict.String()))
}

// sampleSteps writes the arithmetic of one window of single results.
func sampleSteps(o *outcome, list []quantity.Observation, values []sample, name permit.StatisticName) []Step {
	var steps []Step
	for i := range list {
		if i == mostListed {
			steps = append(steps, step("and more", plural(len(list)-i, "result", "results")))
			break
		}
		steps = append(steps, step(observed(&list[i], o.ver.zone), resultText(&list[i])))
	}
	low, high := ends(values, false), ends(values, true)
	switch {
	case name == permit.LowerBound && len(values) > 1 && listed(low) == listed(high):
		steps = append(steps, boundSteps(low, o.ver.cond.Statistic.Percentile)...)
	case estimates(o.ver.cond, name, values):
		if e, err := estimate(values, o.ver.cond.With["estimate"]); err == nil {
			steps = append(steps, e.steps...)
		}
	case len(values) > 1:
		u := used{equal: true}
		for _, v := range high {
			u.add(v, 0)
		}
		steps = append(steps, statSteps(name, u, &window{span: o.span, ver: o.ver})...)
		if listed(low) != listed(high) {
			steps = append(steps, step("with less-than results as nothing", exact(o.b.low)), step("with them in full", exact(o.b.high)))
		}
	}
	return append(steps, limitSteps(o)...)
}

// boundSteps writes the one-sided lower confidence bound of a mean.
func boundSteps(v []float64, confidence string) []Step {
	p, err := unit.ParseDecimal(confidence)
	if err != nil {
		return nil
	}
	n := float64(len(v))
	mean := plainSum(v) / n
	s, t := deviation(v, mean), student.Quantile(p.Float()/100, n-1)
	return []Step{
		step("results", strconv.Itoa(len(v))),
		step("their mean", exact(unit.Round9(mean))),
		step("their standard deviation s, divided by n − 1", exact(unit.Round9(s))),
		step(fmt.Sprintf("Student's t, one-sided %s %%, %d degrees of freedom", p, len(v)-1), exact(unit.Round9(t))),
		step("mean − t·s/√n", exact(unit.Round9(mean-float64(t*s/math.Sqrt(n))))),
	}
}

// observed names an observation: when, what, where, and its entry.
func observed(o *quantity.Observation, zone *time.Location) string {
	s := when(o.From, zone)
	if o.Precision == book.ToDay {
		s = day(o.From, zone)
	}
	if o.Name != "" {
		s += " " + o.Name
	}
	if o.Place != "" {
		s += " at " + o.Place
	}
	if o.Entry != nil {
		s += fmt.Sprintf(" (entry %d)", o.Entry.Seq)
	}
	if o.Note != "" {
		s += ": " + o.Note
	}
	return s
}

func resultText(o *quantity.Observation) string {
	switch {
	case !o.Mark.Counts():
		return markWords(o.Mark)
	case o.Text != "":
		return o.Text
	case o.Mark == series.Below:
		return "< " + exact(o.Value)
	case o.Low != 0 || o.High != 0:
		return fmt.Sprintf("%s, between %s and %s", exact(o.Value), exact(o.Low), exact(o.High))
	}
	return exact(o.Value)
}

// countedSteps writes what was counted.
func countedSteps(o *outcome, list []quantity.Observation) []Step {
	var steps []Step
	for i := range list {
		if i == mostListed {
			steps = append(steps, step("and more", plural(len(list)-i, "record", "records")))
			break
		}
		steps = append(steps, step(observed(&list[i], o.ver.zone), resultText(&list[i])))
	}
	return append(steps, limitSteps(o)...)
}

// countSteps writes how many windows are over and how many may be.
func countSteps(o *outcome, g *group, t tally, n, allowed int) []Step {
	steps := []Step{step("windows that count", strconv.Itoa(n))}
	listedOver := 0
	for i := range g.inner {
		if w := &g.inner[i]; w.verdict == NotComplied && listedOver < mostListed {
			listedOver++
			steps = append(steps, step("over: "+spanText(w.span, o.ver.zone), withUnit(span(w.b), w.unit)))
		}
	}
	steps = append(steps, step("over", strconv.Itoa(t.over)))
	if t.missing+t.unsure > 0 {
		steps = append(steps, step("missing or open", strconv.Itoa(t.missing+t.unsure)))
	}
	if r := o.ver.cond.Rule; r.Name == permit.AtMostTable {
		for _, s := range r.Table {
			if n >= s.From && n <= s.To {
				steps = append(steps, step("line of the look-up table", fmt.Sprintf("%d to %d: %d allowed", s.From, s.To, s.K)))
			}
		}
	}
	return append(append(steps, step("allowed", strconv.Itoa(allowed))), limitSteps(o)...)
}

func consecutiveSteps(o *outcome, seen []*outcome, rule permit.Rule, failing []string) []Step {
	steps := []Step{step("in order", plural(len(seen), "result", "results"))}
	for i, w := range seen {
		if w.verdict == NotComplied {
			steps = append(steps, step(fmt.Sprintf("number %d over", i+1), withUnit(span(w.b), w.unit)))
		}
	}
	steps = append(steps, step(fmt.Sprintf("most over among any %d", rule.N), exact(o.b.low)))
	for _, f := range failing {
		steps = append(steps, step("numbers "+f, "over the allowance"))
	}
	return append(steps, limitSteps(o)...)
}

func meanSteps(o *outcome, g *group, b bounds) []Step {
	low, _ := windowValues(g)
	steps := []Step{step("windows", listed(low)), step("their mean", span(b))}
	return append(steps, limitSteps(o)...)
}

// actSteps writes an act beside the hours of its day.
func actSteps(o *outcome, a *quantity.Observation, open []calendar.Span, days *calendar.Holidays) []Step {
	steps := []Step{step(observed(a, o.ver.zone), spanText(o.span, o.ver.zone))}
	if days != nil {
		d := calendar.DateOf(o.span.From, o.ver.zone)
		is, err := days.Is(d)
		word := "not a holiday of the list " + days.ID
		for _, x := range days.In(d.Year) {
			if err == nil && is && x.Date == d {
				word = x.Title + " in the list " + days.ID
			}
		}
		steps = append(steps, step(d.String(), word))
	}
	if len(open) == 0 {
		steps = append(steps, step("hours allowed that day", "none"))
	}
	for _, p := range open {
		steps = append(steps, step("hours allowed", spanText(p, o.ver.zone)))
	}
	return append(steps, limitSteps(o)...)
}

// dueSteps writes how a term was counted and what fulfilled it.
func dueSteps(h *hearing, o *outcome, d *due, k int, done []quantity.Observation) []Step {
	dl := h.cond().Deadline
	steps := []Step{step("counted from", d.words)}
	if dl.N > 0 || dl.Unit != "" {
		words := plural(dl.N, dl.Unit, dl.Unit+"s")
		if dl.Before {
			words += " before"
		}
		steps = append(steps, step("term", words+", "+string(dl.Counting)))
	}
	steps = append(steps, step("last day in time", h.last(d)))
	if k >= 0 {
		steps = append(steps, step(observed(&done[k], o.ver.zone), h.moment(&done[k])))
	}
	return append(steps, limitSteps(o)...)
}

func presentSteps(h *hearing, o *outcome, in []quantity.Observation) []Step {
	var steps []Step
	for i := range in {
		steps = append(steps, step(observed(&in[i], o.ver.zone), h.moment(&in[i])))
	}
	return append(steps, limitSteps(o)...)
}
