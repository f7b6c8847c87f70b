package series

import (
	"slices"
	"time"
)

// Reject returns the blocks with every reading that touches [from, to) given
// the mark: a minute of which a part was spoiled is spoiled. Instants are
// touched when they lie in it. Blocks without such readings come back as they
// are, others as copies, so the readings as imported stay. A reading that
// already carries no value keeps the mark it has. A mark that counts, or an
// empty stretch, changes nothing.
func Reject(blocks []*Block, from, to time.Time, mark Mark) []*Block {
	f, t := from.UnixMilli(), to.UnixMilli()
	if mark.Counts() || f >= t {
		return blocks
	}
	out := slices.Clone(blocks)
	for k, b := range blocks {
		i, j := b.Touching(f, t)
		if i >= j {
			continue
		}
		c := *b
		c.Coefficient, c.Mark = slices.Clone(b.Coefficient), slices.Clone(b.Mark)
		for ; i < j; i++ {
			if c.Mark[i].Counts() {
				c.Mark[i], c.Coefficient[i] = mark, 0
			}
		}
		out[k] = &c
	}
	return out
}

// Touching returns the range of readings that share an instant with [from,
// to), ms; an instant does when it lies in it.
func (b *Block) Touching(from, to int64) (i, j int) {
	least := from - b.Span
	if b.Span > 0 {
		least++ // Start + Span > from
	}
	i, _ = slices.BinarySearch(b.Start, least)
	j, _ = slices.BinarySearch(b.Start, to)
	return i, j
}
