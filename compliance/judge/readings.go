package judge

import (
	"sort"

	"github.com/swardbook/swardbook/compliance/series"
)

// stamped marks blocks with the import they came with.
func stamped(blocks []*series.Block, seq int64) []*series.Block {
	out := make([]*series.Block, len(blocks))
	for i, b := range blocks {
		if b.Import != seq {
			c := *b
			c.Import = seq
			b = &c
		}
		out[i] = b
	}
	return out
}

// layered lays later imports over earlier ones: a reading gives way where a
// later import has one that begins at the same instant or overlaps its span.
// Lists come in order of receipt; each is in time order without overlaps.
func layered(lists [][]*series.Block) []*series.Block {
	if len(lists) == 0 {
		return nil
	}
	out := lists[0]
	for _, over := range lists[1:] {
		out = overlaid(out, over)
	}
	return out
}

// overlaid lays one list of blocks over another.
func overlaid(under, over []*series.Block) []*series.Block {
	var out []*series.Block
	for _, b := range under {
		out = append(out, uncovered(b, over)...)
	}
	out = append(out, over...)
	sort.SliceStable(out, func(i, j int) bool { return out[i].Start[0] < out[j].Start[0] })
	return untangled(out)
}

// uncovered returns what of a block no reading of the lists above it covers.
func uncovered(b *series.Block, over []*series.Block) []*series.Block {
	var out []*series.Block
	over = touching(over, b)
	if len(over) == 0 {
		return []*series.Block{b}
	}
	run := -1
	flush := func(end int) {
		if run >= 0 && run < end {
			out = append(out, part(b, run, end))
		}
		run = -1
	}
	for i := range b.Start {
		if coveredBy(b.Start[i], b.Span, over) {
			flush(i)
		} else if run < 0 {
			run = i
		}
	}
	flush(b.Len())
	return out
}

// touching returns the blocks whose time touches that of b.
func touching(list []*series.Block, b *series.Block) []*series.Block {
	var out []*series.Block
	for _, o := range list {
		if n := o.Len(); n > 0 && o.Start[0] < b.Start[b.Len()-1]+max(b.Span, 1) && o.Start[n-1]+max(o.Span, 1) > b.Start[0] {
			out = append(out, o)
		}
	}
	return out
}

// coveredBy tells whether a reading of the blocks begins with, or overlaps,
// the reading that begins at start.
func coveredBy(start, span int64, over []*series.Block) bool {
	for _, b := range over {
		n := b.Len()
		if n == 0 || b.Start[0] >= start+max(span, 1) || b.Start[n-1]+max(b.Span, 1) <= start {
			continue
		}
		i := sort.Search(n, func(i int) bool { return b.Start[i]+max(b.Span, 1) > start })
		if i < n && b.Start[i] < start+max(span, 1) {
			return true
		}
	}
	return false
}

// part returns readings i to j of a block, sharing its memory.
func part(b *series.Block, i, j int) *series.Block {
	c := *b
	c.Start, c.Coefficient, c.Mark = b.Start[i:j], b.Coefficient[i:j], b.Mark[i:j]
	return &c
}

// untangled splits blocks that reach into one another, so that all stand in
// order of time. Blocks come in order of their first reading.
func untangled(list []*series.Block) []*series.Block {
	var out []*series.Block
	for len(list) > 0 {
		b := list[0]
		if len(list) == 1 || b.Start[b.Len()-1] < list[1].Start[0] {
			out, list = append(out, b), list[1:]
			continue
		}
		cut := sort.Search(b.Len(), func(i int) bool { return b.Start[i] >= list[1].Start[0] })
		if cut > 0 {
			out = append(out, part(b, 0, cut))
		}
		rest := part(b, cut, b.Len())
		list = append([]*series.Block(nil), list[1:]...)
		at := sort.Search(len(list), func(i int) bool { return list[i].Start[0] > rest.Start[0] })
		list = append(list[:at], append([]*series.Block{rest}, list[at:]...)...)
	}
	return out
}

// together takes the blocks of several channels of one quantity at one place
// as one series. Two that measure at the same time are a conflict.
func together(lists [][]*series.Block) ([]*series.Block, error) {
	out := lists[0]
	for _, next := range lists[1:] {
		for _, b := range next {
			for i := range b.Start {
				if b.Mark[i].Counts() && coveredBy(b.Start[i], b.Span, out) {
					return nil, &fault{cause: "two channels measure the same thing at the same time", remedy: "name the channel in the condition"}
				}
			}
		}
		out = overlaid(out, next)
	}
	return out, nil
}
