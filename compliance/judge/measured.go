package judge

import (
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// batchSpan is how much time is read from a channel at once, so that memory
// does not grow with the years.
const batchSpan = 40 * 24 * time.Hour

// readingsOutcomes judges each window of a quantity that is read from
// channels, before any outer rule.
func (h *hearing) readingsOutcomes() ([]outcome, error) {
	stats, run, err := h.statistics()
	if err != nil {
		return nil, err
	}
	h.run = run
	chans, err := h.channels()
	if err != nil {
		return nil, err
	}
	h.readUnit = unitOf(chans, h.q)
	if h.cond().Window.Kind == calendar.RollingHour {
		if err := h.rollingOf(chans); err != nil {
			return nil, err
		}
	}
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	for len(wins) > 0 {
		n := batch(wins)
		got, err := h.judgeBatch(wins[:n], chans, stats)
		if err != nil {
			return nil, err
		}
		if out == nil {
			out = got
		} else {
			out = append(out, got...)
		}
		wins = wins[n:]
	}
	sortOutcomes(out)
	return out, nil
}

// unitOf is the unit that readings come in.
func unitOf(chans []series.Channel, q *quantity.Quantity) string {
	if len(chans) > 0 {
		return chans[0].Unit
	}
	return q.Unit
}

// batch returns how many windows are read together.
func batch(wins []window) int {
	n := 1
	for n < len(wins) && wins[n].span.To.Sub(wins[0].span.From) <= batchSpan {
		n++
	}
	return n
}

// statistics returns what is computed of each window. "Each reading by
// itself" is judged day by day on the greatest and least reading, which comes
// to the same and keeps the list readable.
func (h *hearing) statistics() ([]permit.StatisticName, []version, error) {
	c := h.cond()
	if c.Nondetect == permit.Estimated {
		return nil, nil, notBuilt("estimate of less-than readings")
	}
	if c.Window.Kind != calendar.Instant {
		if c.Statistic.Name == permit.Value || c.Statistic.Name == "" {
			return nil, nil, notBuilt("single value of a " + c.Window.String() + " of readings")
		}
		return []permit.StatisticName{c.Statistic.Name}, h.run, nil
	}
	run := make([]version, len(h.run))
	for i, v := range h.run {
		day := *v.cond
		day.Window = calendar.Period{Kind: calendar.LocalDay}
		v.cond = &day
		run[i] = v
	}
	return extremes(c.Limits), run, nil
}

// extremes says which of greatest and least decide limits on every reading.
func extremes(limits []permit.Limit) []permit.StatisticName {
	var above, below bool
	for i := range limits {
		switch limits[i].Comparator {
		case permit.AtMostLimit, permit.Below:
			above = true
		case permit.AtLeastLimit, permit.Above:
			below = true
		default:
			above, below = true, true
		}
	}
	var out []permit.StatisticName
	if above || !below {
		out = append(out, permit.Maximum)
	}
	if below {
		out = append(out, permit.Minimum)
	}
	return out
}

// channels returns the channels of the quantity at the place.
func (h *hearing) channels() ([]series.Channel, error) {
	list := h.rec.Channels(h.q.Code, h.place)
	if want := h.cond().With["channel"]; want != "" {
		var only []series.Channel
		for _, c := range list {
			if c.Code == want {
				only = append(only, c)
			}
		}
		list = only
	}
	for _, c := range list[min(1, len(list)):] {
		if !unit.Same(c.Unit, list[0].Unit) {
			return nil, &fault{cause: "channels " + list[0].Code + " and " + c.Code + " differ in unit", remedy: "name one channel in the condition"}
		}
	}
	h.bearings(list) // what is asked of instruments is noted before any month is
	return list, nil
}

// judgeBatch judges windows whose readings are fetched together.
func (h *hearing) judgeBatch(wins []window, chans []series.Channel, stats []permit.StatisticName) ([]outcome, error) {
	blocks, err := h.blocks(chans, closed(covering(wins)))
	if err != nil {
		return nil, err
	}
	out := make([]outcome, len(wins))
	imports := h.importsOf(blocks)
	for s, name := range stats {
		results, err := h.results(blocks, wins, name)
		if err != nil {
			return nil, err
		}
		others, err := h.besideWindows(wins, name)
		if err != nil {
			return nil, err
		}
		for i := range wins {
			if s == 0 {
				h.judgeReadings(&out[i], &wins[i], &results[i], name, chans, others.at(i))
				continue
			}
			var o outcome
			h.judgeReadings(&o, &wins[i], &results[i], name, chans, others.at(i))
			if worse(o.verdict, out[i].verdict) {
				out[i] = o
			}
		}
	}
	for i := range out {
		if used := h.importEntries(imports, out[i].span); len(out[i].entries) == 0 {
			out[i].entries = used
		} else {
			out[i].entries = bySeq(append(used[:len(used):len(used)], out[i].entries...))
		}
		if h.s.opts.Working {
			out[i].steps = append(readingSteps(&out[i], blocks, &wins[i], stats), out[i].steps...)
		}
	}
	return out, nil
}

// closed takes in the reading that stands just at the end: a meter read at
// midnight closes the day.
func closed(s calendar.Span) calendar.Span {
	s.To = s.To.Add(time.Millisecond)
	return s
}

// blocks fetches the readings of the channels that were complete by the time
// of judging.
func (h *hearing) blocks(chans []series.Channel, span calendar.Span) ([]*series.Block, error) {
	var all [][]*series.Block
	by := h.asks()
	for _, c := range chans {
		got, err := h.rec.readings(c.Code, span.From, earlier(span.To, h.at), by)
		if err != nil {
			return nil, err
		}
		if got = endedBy(got, h.at.UnixMilli()); len(got) > 0 {
			all = append(all, got)
		}
	}
	switch len(all) {
	case 0:
		return nil, nil
	case 1:
		return all[0], nil
	}
	return together(all)
}

// endedBy drops readings that were still running at an instant, UTC ms.
func endedBy(blocks []*series.Block, at int64) []*series.Block {
	for i := len(blocks) - 1; i >= 0; i-- {
		b := blocks[i]
		n := b.Len()
		for n > 0 && b.Start[n-1]+b.Span > at {
			n--
		}
		if n == b.Len() {
			return blocks[:i+1]
		}
		if n > 0 {
			short := *b
			short.Start, short.Coefficient, short.Mark = b.Start[:n], b.Coefficient[:n], b.Mark[:n]
			return append(append([]*series.Block(nil), blocks[:i]...), &short)
		}
	}
	return nil
}

// results computes one statistic of each window.
func (h *hearing) results(blocks []*series.Block, wins []window, name permit.StatisticName) ([]series.Result, error) {
	c := h.cond()
	req := series.Request{Stat: string(name), Nondetect: string(c.Nondetect)}
	if name == permit.Percentile {
		p, err := unit.ParseDecimal(c.Statistic.Percentile)
		if err != nil {
			return nil, err
		}
		req.Percentile = p
	}
	if err := h.selected(&req, blocks); err != nil {
		return nil, err
	}
	spans := make([]calendar.Span, len(wins))
	cut := false
	for i := range wins {
		spans[i] = wins[i].span
		cut = cut || wins[i].parts != nil
	}
	out, err := series.Windows(blocks, spans, req)
	if err != nil || !cut {
		return out, err
	}
	for i := range wins {
		if wins[i].parts == nil {
			continue
		}
		if out[i], err = series.Over(blocks, wins[i].parts, req); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// judgeReadings turns the statistic of one window into its outcome, o.
func (h *hearing) judgeReadings(o *outcome, w *window, r *series.Result, name permit.StatisticName, chans []series.Channel, others map[string]elsewhere) {
	o.span, o.ver, o.excluded, o.others = w.span, w.ver, excludedOf(r, chans), others
	share := unit.Round9(r.Coverage)
	o.coverage = &share
	from := h.q.Unit
	if len(chans) > 0 {
		from = chans[0].Unit
	}
	from = unitOfStatistic(name, from)
	all := h.bearings(chans)
	near := all.within(w.span)
	if r.N == 0 || !r.OK {
		h.nothing(o, chans, r.Why)
		near.say(o)
		return
	}
	full := h.integrated(w, r, name)
	enough := covered(r, w.ver.cond.Coverage.Window)
	b := bounds{full.Low, full.High}
	if (!enough || h.pending(o)) && w.ver.cond.Severity != permit.AsInformation {
		b = gapBounds(name, &full, h.q.NotBelow)
	}
	b = near.widened(name, b, h.q)
	f, err := h.weigh(o, b, from)
	if err != nil {
		*o = o.lost(asFault(err))
		return
	}
	h.decideReadings(o, f, enough, &full, from, name)
	near.say(o)
}

// pending tells whether the window had not ended at the time of judging.
func (h *hearing) pending(o *outcome) bool { return o.span.To.After(h.at) }

// nothing sets the verdict of a window without a single valid reading or
// result.
func (h *hearing) nothing(o *outcome, chans []series.Channel, why string) {
	c := o.ver.cond
	o.reason = "no valid reading"
	if len(chans) == 0 {
		o.reason = "no channel of " + h.q.Title + " is on file"
		if h.place != "" {
			o.reason += " for " + h.place
		}
	} else if why != "" {
		o.reason = why
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
		o.verdict, o.cause, o.remedy = CannotBeJudged, o.reason, "import the readings, or say why there are none"
	}
}

// importsOf lists which import each stretch of blocks came with; blocks that
// follow one another from one import are one stretch.
func (h *hearing) importsOf(blocks []*series.Block) []importSpan {
	var out []importSpan
	for _, b := range blocks {
		if b.Len() == 0 || b.Import == 0 {
			continue
		}
		from, to := b.Start[0], b.Start[b.Len()-1]+max(b.Span, 1)
		if n := len(out); n > 0 && out[n-1].seq == b.Import && out[n-1].to == from {
			out[n-1].to = to
			continue
		}
		s := importSpan{from: from, to: to, seq: b.Import}
		if e := h.rec.bySeq(b.Import); e != nil {
			s.entries = []*book.Entry{e}
		}
		out = append(out, s)
	}
	return out
}

type importSpan struct {
	from, to, seq int64
	entries       []*book.Entry // the import
}

// importEntries returns the imports that touch a window, oldest first. What is
// returned is shared.
func (h *hearing) importEntries(list []importSpan, w calendar.Span) []*book.Entry {
	from, to := w.From.UnixMilli(), w.To.UnixMilli()
	var out []*book.Entry
	for i := range list {
		s := &list[i]
		switch {
		case s.from >= to || s.to <= from || len(s.entries) == 0:
		case out == nil:
			out = s.entries[:1:1]
		case out[len(out)-1] != s.entries[0]:
			out = append(out, s.entries[0])
		}
	}
	if len(out) > 1 {
		return bySeq(out)
	}
	return out
}
