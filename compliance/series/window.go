package series

import (
	"slices"
	"sort"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Windows computes one result for each span. The blocks must be of one
// channel, in time order and not overlapping; the spans may come in any order
// and may overlap. The work is that of the readings in the spans, not of all
// there are. It wraps ErrRequest when the request makes no sense; a window
// that has no value says so in its result.
func Windows(blocks []*Block, spans []calendar.Span, req Request) ([]Result, error) {
	w, err := newWalker(blocks, &req)
	if err != nil {
		return nil, err
	}
	out := make([]Result, len(spans))
	for i := range spans {
		w.begin()
		w.take(spans[i])
		out[i] = w.end()
	}
	return out, nil
}

// Over computes one result over several stretches taken together, such as the
// working hours of a month. The stretches must be in order and apart from one
// another, as calendar.Merge leaves them.
func Over(blocks []*Block, parts []calendar.Span, req Request) (Result, error) {
	w, err := newWalker(blocks, &req)
	if err != nil {
		return Result{}, err
	}
	w.begin()
	for _, p := range parts {
		w.take(p)
	}
	return w.end(), nil
}

// sample is one reading as a window sees it.
type sample struct {
	start  int64 // of the reading, ms
	span   int64 // of the reading, ms
	ms     int64 // of it inside the window; 0 for an instant
	weight int64 // ms, or 1 for an instant
	begins bool  // it begins inside the window
	value  unit.Decimal
	mark   Mark
}

// walker takes readings window by window.
type walker struct {
	blocks []*Block
	req    *Request
	acc    accumulator
	whole  bool // readings count whole, where they begin
	r      Result
	left   [len(markNames)]Exclusion
	seen   int64 // ms of readings of whatever mark
	spans  bool  // readings with a length were seen
	s      sample
}

func newWalker(blocks []*Block, req *Request) (*walker, error) {
	acc, err := req.accumulator()
	if err != nil {
		return nil, err
	}
	w := &walker{req: req, acc: acc}
	w.blocks = slices.DeleteFunc(slices.Clone(blocks), func(b *Block) bool { return b.Len() == 0 })
	switch req.Stat {
	case Sum, Count, Percentile, Median, Single, Change:
		w.whole = true
	}
	return w, nil
}

func (w *walker) begin() {
	w.r = Result{}
	w.left = [len(markNames)]Exclusion{}
	w.seen, w.spans = 0, false
	w.acc.reset()
}

// last returns the end of the last reading of the block, ms.
func (b *Block) last() int64 { return b.Start[len(b.Start)-1] + b.Span }

// take walks the readings that touch the span.
func (w *walker) take(span calendar.Span) {
	from, to := span.From.UnixMilli(), span.To.UnixMilli()
	if from >= to {
		return
	}
	w.r.WindowMs += to - from
	k := sort.Search(len(w.blocks), func(k int) bool { return w.blocks[k].last() >= from })
	for ; k < len(w.blocks) && w.blocks[k].Start[0] < to; k++ {
		b := w.blocks[k]
		i, j := b.Touching(from, to)
		for ; i < j; i++ {
			if n := w.run(b, i, j, from, to); n > 0 {
				i += n - 1
				continue
			}
			w.reading(b, i, from, to)
		}
	}
	if change, ok := w.acc.(*changeAcc); ok {
		w.closing(change, to)
	}
}

func (w *walker) reading(b *Block, i int, from, to int64) {
	s := &w.s
	*s = sample{start: b.Start[i], span: b.Span, weight: 1, mark: b.Mark[i], begins: b.Start[i] >= from}
	if b.Span > 0 {
		s.ms = min(s.start+b.Span, to) - max(s.start, from)
		s.weight = s.ms
		w.seen += s.ms
	}
	if !s.mark.Counts() {
		e := &w.left[s.mark]
		e.Mark = s.mark
		e.N++
		e.Ms += s.ms
		return
	}
	w.r.CoveredMs += s.ms
	if w.whole && !s.begins {
		return
	}
	w.count(s)
	s.value = b.Value(i)
	w.acc.add(s)
}

// run takes readings i on at once while they are valid and wholly inside, for
// an energy mean; it gives the same bits as one reading after another. It
// returns how many it took.
func (w *walker) run(b *Block, i, j int, from, to int64) int {
	a, ok := w.acc.(*energyAcc)
	if !ok || b.Span == 0 || b.Start[i] < from {
		return 0
	}
	n := 0
	for i+n < j && b.Mark[i+n] == Valid && b.Start[i+n]+b.Span <= to {
		n++
	}
	if n == 0 {
		return 0
	}
	a.addRun(b, i, i+n)
	ms := int64(n) * b.Span
	w.seen += ms
	w.r.CoveredMs += ms
	if w.r.N == 0 {
		w.r.First = b.Start[i]
	}
	w.r.N += n
	w.r.Last = b.Start[i+n-1]
	w.spans = true
	return n
}

func (w *walker) count(s *sample) {
	if w.r.N == 0 {
		w.r.First = s.start
	}
	w.r.N++
	w.r.Last = s.start
	switch s.mark {
	case Below:
		w.r.Below++
	case Above:
		w.r.Above++
	}
	if s.span == 0 {
		w.r.Instants = true
	} else {
		w.spans = true
	}
}

// closing hands a difference the reading that stands exactly at the end: a
// meter read at midnight closes one day and opens the next.
func (w *walker) closing(c *changeAcc, to int64) {
	k := sort.Search(len(w.blocks), func(k int) bool { b := w.blocks[k]; return b.Start[len(b.Start)-1] >= to })
	if k == len(w.blocks) {
		return
	}
	b := w.blocks[k]
	i, found := slices.BinarySearch(b.Start, to)
	if !found || !b.Mark[i].Counts() {
		return
	}
	s := sample{start: to, span: b.Span, weight: 1, mark: b.Mark[i], begins: true, value: b.Value(i)}
	w.count(&s)
	c.add(&s)
}

func (w *walker) end() Result {
	r := &w.r
	for _, e := range w.left {
		if e.N > 0 {
			r.Excluded = append(r.Excluded, e)
		}
	}
	r.GapMs = r.WindowMs - w.seen
	if r.Instants && w.spans {
		r.Why = "readings of instants and of intervals do not mix"
		return *r
	}
	if r.Instants {
		r.GapMs = 0
	}
	if r.WindowMs > 0 {
		r.Coverage = float64(r.CoveredMs) / float64(r.WindowMs)
	}
	if r.N == 0 && w.req.Stat != Count && w.req.Stat != Duration {
		r.Why = noReadings
		return *r
	}
	o := w.acc.result(r)
	if o.why != "" {
		r.Why = o.why
		return *r
	}
	w.settle(r, o)
	return *r
}

// settle rounds the outcome and picks the value by the rule asked for.
func (w *walker) settle(r *Result, o outcome) {
	r.OK = true
	r.AsZero, r.AsHalf, r.AsFull = unit.Round9(o.zero), unit.Round9(o.half), unit.Round9(o.full)
	r.Low, r.High = unit.Round9(o.low), unit.Round9(o.high)
	r.Value = r.AsFull
	switch w.req.Nondetect {
	case AsZero:
		r.Value = r.AsZero
	case AsHalf:
		r.Value = r.AsHalf
	}
	if w.req.Nondetect != "" && w.req.Nondetect != Bracket {
		r.Low = r.Value
		if r.Above == 0 {
			r.High = r.Value
		}
	}
}
