package judge

import (
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// ordered sorts observations by time, then by entry, and drops what lies
// after the time of judging.
func ordered(list []quantity.Observation, at time.Time) []quantity.Observation {
	out := make([]quantity.Observation, 0, len(list))
	for _, o := range list {
		if !o.From.After(at) {
			out = append(out, o)
		}
	}
	sort.SliceStable(out, func(i, j int) bool {
		if !out[i].From.Equal(out[j].From) {
			return out[i].From.Before(out[j].From)
		}
		return seqOf(out[i].Entry) < seqOf(out[j].Entry)
	})
	return out
}

func seqOf(e *book.Entry) int64 {
	if e == nil {
		return 0
	}
	return e.Seq
}

// sampleOutcomes judges a quantity that is observed in single results, before
// any outer rule.
func (h *hearing) sampleOutcomes() ([]outcome, error) {
	if h.cond().Nondetect == permit.Estimated && h.s.opts.Rules < 3 {
		return nil, notBuilt("estimate of less-than results")
	}
	list, err := h.singles()
	if err != nil {
		return nil, err
	}
	switch h.cond().Window.Kind {
	case calendar.Instant, calendar.Exposure:
		out, err := h.singly(list)
		if err == nil && len(out) == 0 && h.awaited() {
			out = append(out, h.noResult())
		}
		return out, err
	case calendar.Event, "":
		return h.singly(list)
	}
	return h.together(list)
}

// awaited tells whether a result belongs on file though nothing says when:
// the condition has begun, binds, and no duty of its own asks for results.
func (h *hearing) awaited() bool {
	c := h.cond()
	return h.s.opts.Rules >= 2 && c.Duty == nil && c.Severity != permit.AsInformation && h.from().Before(h.at)
}

// noResult is the outcome of a condition on results of which there is none.
// Silence is no compliance, and no reason to pass the condition over.
func (h *hearing) noResult() outcome {
	o := outcome{span: h.sofar(), ver: &h.run[len(h.run)-1], reason: "no result is on file"}
	if h.cond().Missing == permit.NotDone {
		o.verdict, o.absent = NotComplied, true
		o.reason += "; presumed not done until one is"
		return o
	}
	o.verdict, o.cause, o.remedy = CannotBeJudged, o.reason, "enter the results; or, where none is due yet, say from when or in which phase the condition is in force"
	return o
}

// mostSingly is how many readings of a channel are judged one by one.
const mostSingly = 200_000

// singles returns the single results in force: those of entries, and readings
// of channels of the quantity taken one by one.
func (h *hearing) singles() ([]quantity.Observation, error) {
	var list []quantity.Observation
	var err error
	if h.q.Observe != nil {
		if list, err = h.observe(h.from()); err != nil {
			return nil, err
		}
	}
	chans, err := h.channels()
	if err != nil {
		return nil, err
	}
	frequency, err := h.frequencies(len(chans))
	if err != nil {
		return nil, err
	}
	by := h.asks()
	for _, c := range chans {
		blocks, err := h.rec.readings(c.Code, h.from(), earlier(h.to(), h.at.Add(time.Millisecond)), by)
		if err != nil {
			return nil, err
		}
		for _, b := range blocks {
			if len(list)+b.Len() > mostSingly {
				return nil, notBuilt("more than " + strconv.Itoa(mostSingly) + " readings taken one by one")
			}
			if list, err = h.readOff(list, b, &c, frequency); err != nil {
				return nil, err
			}
		}
	}
	return h.inForce(ordered(list, h.at)), nil
}

// frequencies reads the frequency that goes with each reading, by its time,
// where a limit runs along it: readings in Hz of the quantity of the same
// subject called frequency, at the same place.
func (h *hearing) frequencies(channels int) (map[int64]float64, error) {
	wanted := false
	for i := range h.cond().Limits {
		l := &h.cond().Limits[i]
		wanted = wanted || l.Form == permit.OfCurve && l.Along == permit.Frequency
	}
	if !wanted || channels == 0 {
		return nil, nil
	}
	subject, _, _ := strings.Cut(h.q.Code, ".")
	out := map[int64]float64{}
	for _, c := range h.rec.Channels(subject+".frequency", h.place) {
		blocks, err := h.rec.Readings(c.Code, h.from(), earlier(h.to(), h.at.Add(time.Millisecond)))
		if err != nil {
			return nil, err
		}
		for _, b := range blocks {
			for i := range b.Start {
				if b.Mark[i] == series.Valid {
					out[b.Start[i]] = unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}.Float()
				}
			}
		}
	}
	return out, nil
}

// readOff appends the readings of a block as single results.
func (h *hearing) readOff(list []quantity.Observation, b *series.Block, c *series.Channel, frequency map[int64]float64) ([]quantity.Observation, error) {
	entry := h.rec.bySeq(b.Import)
	about := h.bearings([]series.Channel{*c})
	for i := range b.Start {
		if b.Start[i]+b.Span > h.at.UnixMilli() {
			break
		}
		d := unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}
		v, err := converted(certain(d.Float()), c.Unit, h.q.Unit)
		if err != nil {
			return nil, err
		}
		o := quantity.Observation{
			From: msTime(b.Start[i]), To: msTime(b.Start[i] + b.Span), Precision: book.ToMillisecond,
			Place: c.Place, Name: c.Code, Value: v.low, Mark: b.Mark[i], Entry: entry, FrequencyHz: frequency[b.Start[i]],
		}
		near := about.within(calendar.Span{From: o.From, To: later(o.To, o.From.Add(time.Millisecond))})
		if wide := near.widened(permit.Value, v, h.q); !wide.known() && o.Mark.Counts() {
			o.Low, o.High = wide.low, wide.high
		}
		list = append(list, o)
	}
	return list, nil
}

// inForce drops observations outside the run.
func (h *hearing) inForce(list []quantity.Observation) []quantity.Observation {
	out := list[:0:0]
	for _, o := range list {
		if !o.From.Before(h.from()) && o.From.Before(h.to()) {
			out = append(out, o)
		}
	}
	return out
}

// singly judges each observation by itself, by the version in force at its
// own time, where its schedule is open.
func (h *hearing) singly(list []quantity.Observation) ([]outcome, error) {
	var out []outcome
	for i := range list {
		s := &list[i]
		w := window{span: calendar.Span{From: s.From, To: later(s.From, s.To)}, ver: h.versionAt(s.From)}
		applies, err := h.openAt(w.ver, s.From)
		if err != nil {
			out = append(out, cannot(w.span, w.ver, asFault(err)))
			continue
		}
		if applies {
			out = append(out, h.judgeSamples(&w, list[i:i+1], permit.Value))
		}
	}
	return out, nil
}

// openAt tells whether the schedule of a version is open at an instant.
func (h *hearing) openAt(v *version, t time.Time) (bool, error) {
	if !h.duringPhase(v, t) {
		return false, nil
	}
	if v.cond.Schedule == nil {
		return true, nil
	}
	days, err := h.holidays(v)
	if err != nil {
		return false, err
	}
	open, err := v.cond.Schedule.Open(calendar.Span{From: t, To: t.Add(time.Millisecond)}, v.zone, days)
	return len(open) > 0, err
}

// together judges the observations of each window taken together.
func (h *hearing) together(list []quantity.Observation) ([]outcome, error) {
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	for i := range wins {
		w := &wins[i]
		first := sort.Search(len(list), func(k int) bool { return !list[k].From.Before(w.span.From) })
		var in []quantity.Observation
		for k := first; k < len(list) && list[k].From.Before(w.span.To); k++ {
			if w.holds(list[k].From) {
				in = append(in, list[k])
			}
		}
		out = append(out, h.judgeSamples(w, in, w.ver.cond.Statistic.Name))
	}
	sortOutcomes(out)
	return out, nil
}

// judgeSamples judges the observations of one window.
func (h *hearing) judgeSamples(w *window, list []quantity.Observation, name permit.StatisticName) outcome {
	o := outcome{span: w.span, ver: w.ver}
	if len(list) == 1 {
		o.frequency, o.distance = list[0].FrequencyHz, list[0].DistanceM
	}
	values, lost := sampled(list, w.ver.cond.Nondetect, h.q.NotBelow)
	o.entries, o.excluded = entriesOf(list), lost
	if len(values) == 0 {
		h.noSample(&o, list)
		return o
	}
	b, from, err := h.statistic(w, name, values)
	if err != nil {
		return o.lost(asFault(err))
	}
	if o.others, err = h.besideSamples(w, name == permit.Value, name); err != nil {
		return o.lost(asFault(err))
	}
	f, err := h.weigh(&o, b, from)
	if err != nil {
		return o.lost(asFault(err))
	}
	h.decideSamples(&o, f, values, len(lost) > 0, name)
	if h.s.opts.Working {
		o.steps = sampleSteps(&o, list, values, name)
	}
	return o
}

// statistic computes the statistic of the results of a window, and its unit.
func (h *hearing) statistic(w *window, name permit.StatisticName, values []sample) (bounds, string, error) {
	switch {
	case name == permit.Share, name == permit.Count && h.q.Unit != "":
		b, err := chosen(name, values, w.ver.cond, h.q.Unit)
		return b, unitOfStatistic(name, h.q.Unit), err
	case name == permit.LowerBound:
		b, err := lowerBounds(values, w.ver.cond.Statistic.Percentile)
		return b, h.q.Unit, err
	}
	if estimates(w.ver.cond, name, values) {
		b, err := estimated(values, w.ver.cond.With["estimate"])
		return b, h.q.Unit, err
	}
	b, err := statOf(name, values, w.ver.cond.Statistic.Percentile)
	return b, h.q.Unit, err
}

// decideSamples sets the verdict of a window of samples.
func (h *hearing) decideSamples(o *outcome, f fit, values []sample, lost bool, name permit.StatisticName) {
	c := o.ver.cond
	switch {
	case c.Severity == permit.AsInformation || len(c.Limits) == 0:
		o.verdict = NotApplicable
		return
	case h.pending(o) && !(f == broken && growing(name, h.q.NotBelow)):
		o.verdict, o.margin = NotYetDue, nil
		return
	case f != broken && lost && name != permit.Value:
		o.settle(open, "a result is missing from the window", "enter the result, or say why there is none")
		return
	}
	if need := c.Coverage.LeastWindows; need > 0 && c.Rule.Name == permit.Every && name != permit.Value {
		if n := spaced(values, c.Coverage.SpacingHours); n < need && !(f == broken && growing(name, h.q.NotBelow)) {
			o.settle(open, tooFew, "take the samples that are needed")
			o.reason = plural(n, "sample", "samples") + " where " + strconv.Itoa(need) + " are needed"
			o.margin = nil
			return
		}
	}
	h.settleSamples(o, f)
}

// tooFew is the cause of windows with fewer samples than are needed.
const tooFew = "too few samples"

// settleSamples sets the verdict of a window whose data are complete. Less-than
// results, or the accuracy of a survey, may still leave it open.
func (h *hearing) settleSamples(o *outcome, f fit) {
	cause, remedy, whose := "less-than results leave it open", nondetectRemedy, "the less-than results"
	if h.q.Form == quantity.Levels {
		cause, remedy, whose = "the accuracy of the survey leaves it open", "survey again, or show by check points that the levels are better known", "the accuracy of the survey"
	}
	o.settle(f, cause, remedy)
	o.unsure = f == open
	switch {
	case o.b.known():
	case f == open:
		o.reason = whose + " leave " + span(o.b) + " possible"
		if h.q.Form == quantity.Levels {
			o.reason = whose + " leaves " + span(o.b) + " possible"
		}
	case h.q.Form == quantity.Levels:
		o.reason = "at the worst and at the best of the survey's accuracy"
	default:
		o.reason = "whatever the less-than results are taken as"
	}
}

// growing tells whether more data can only raise the statistic, so that a
// limit once broken stays broken.
func growing(name permit.StatisticName, floor *float64) bool {
	switch name {
	case permit.Value, permit.Maximum, permit.Count, permit.Duration:
		return true
	case permit.Sum:
		return floor != nil && *floor >= 0
	}
	return false
}

// noSample sets the verdict of a window without a result that counts.
func (h *hearing) noSample(o *outcome, list []quantity.Observation) {
	c := o.ver.cond
	o.reason = "no result on file"
	if len(list) > 0 {
		o.reason = "the result is missing: " + markWords(list[0].Mark)
	}
	switch {
	case h.pending(o):
		o.verdict = NotYetDue
	case c.Severity == permit.AsInformation:
		o.verdict = NotApplicable
	case c.Missing == permit.NotDone:
		o.verdict, o.absent = NotComplied, true
		o.reason += "; presumed not done until it is on file"
	default:
		o.verdict, o.cause, o.remedy = CannotBeJudged, o.reason, "enter the result, or say why there is none"
	}
}

// sample is one result with what it may stand for.
type sample struct {
	at        time.Time
	low, high unit.Decimal // high is the value; low differs for less-than results
	b         bounds       // the same as float64; of an uncertain figure its bounds
	exact     bool         // low and high say all there is
}

// sampled takes the results that count out of observations, and lists those
// that do not.
func sampled(list []quantity.Observation, rule permit.Nondetect, floor *float64) (values []sample, lost []Excluded) {
	for i := range list {
		o := &list[i]
		if !o.Mark.Counts() {
			lost = append(lost, Excluded{Reason: markWords(o.Mark), Count: 1})
			continue
		}
		values = append(values, sampleOf(o, rule, floor))
	}
	return values, merged(lost)
}

func sampleOf(o *quantity.Observation, rule permit.Nondetect, floor *float64) sample {
	d, err := unit.ParseDecimal(strconv.FormatFloat(o.Value, 'f', -1, 64))
	s := sample{at: o.From, low: d, high: d, b: certain(o.Value), exact: err == nil}
	switch {
	case o.Mark == series.Above:
		s.b, s.exact = gapBounds(permit.Maximum, &series.Result{Low: o.Value}, nil), false
	case o.Mark == series.Below:
		s.low, s.high = lessThan(d, rule)
		s.b = bounds{s.low.Float(), s.high.Float()}
		if rule == permit.Bracket && floor != nil && *floor < 0 {
			s.b.low, s.exact = *floor, false
		}
	case o.Low != 0 || o.High != 0:
		s.b, s.exact = bounds{o.Low, o.High}, false
	}
	return s
}

// lessThan says what a result below its reporting limit counts as.
func lessThan(d unit.Decimal, rule permit.Nondetect) (low, high unit.Decimal) {
	half := unit.Decimal{Coefficient: d.Coefficient * 5, Places: d.Places + 1}
	switch rule {
	case permit.AsZero:
		return unit.Decimal{}, unit.Decimal{}
	case permit.AsHalf:
		return half, half
	case permit.AsFull:
		return d, d
	}
	return unit.Decimal{}, d
}

// spaced counts samples that keep the least spacing from the one counted
// before, hours.
func spaced(values []sample, hours string) int {
	least, err := unit.ParseDecimal(hours)
	if err != nil {
		return len(values)
	}
	n := 0
	var last time.Time
	for i := range values {
		if n == 0 || unit.Compare(values[i].at.Sub(last).Hours(), least) >= 0 {
			n++
			last = values[i].at
		}
	}
	return n
}

// entriesOf returns the entries that observations rest on, by seq, once each.
func entriesOf(list []quantity.Observation) []*book.Entry {
	var out []*book.Entry
	for i := range list {
		if list[i].Entry != nil {
			out = append(out, list[i].Entry)
		}
	}
	return bySeq(out)
}
