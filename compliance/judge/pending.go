package judge

import (
	"fmt"
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
)

// Pending are readings that loggers have sent and that no import entry holds
// yet. They count at once, as the latest received, and no pack rests on them.
// Nobody may change what is handed over.
type Pending struct {
	Channels []series.Channel           // each with at least one block
	Blocks   map[string][]*series.Block // by channel, in time order, Import 0
}

// span is from the first reading of a channel to the end of its last; the zero
// Span when there is none.
func (p *Pending) span(channel string) calendar.Span {
	if p == nil || len(p.Blocks[channel]) == 0 {
		return calendar.Span{}
	}
	list := p.Blocks[channel]
	last := list[len(list)-1]
	return calendar.Span{From: msTime(list[0].Start[0]), To: msTime(last.Start[last.Len()-1] + max(last.Span, 1))}
}

// channel returns what is said of a channel that there are readings of.
func (p *Pending) channel(code string) (series.Channel, bool) {
	if p != nil {
		for _, c := range p.Channels {
			if c.Code == code {
				return c, true
			}
		}
	}
	return series.Channel{}, false
}

// codes lists the channels that there are readings of.
func (p *Pending) codes() []string {
	if p == nil {
		return nil
	}
	out := make([]string, len(p.Channels))
	for i, c := range p.Channels {
		out[i] = c.Code
	}
	return out
}

// Pending returns what the record holds besides its entries; nil when nothing.
func (r *Record) Pending() *Pending { return r.pending }

// pends gives a record under construction its readings not yet sealed, in place
// of those it had.
func (r *Record) pends(p *Pending, before *Record) {
	r.pending = p
	gone := before.pending.codes()
	if p == nil && gone == nil {
		return
	}
	r.channels = slices.DeleteFunc(slices.Clone(r.channels), func(c series.Channel) bool {
		return slices.Contains(gone, c.Code) && len(r.imports[c.Code]) == 0
	})
	if p != nil {
		for _, c := range p.Channels {
			if len(r.imports[c.Code]) == 0 {
				r.channels = append(r.channels, c)
			}
		}
	}
	sort.Slice(r.channels, func(i, j int) bool { return r.channels[i].Code < r.channels[j].Code })
}

// unsealed returns the blocks of a channel that are not yet sealed and touch
// [from, to), marked.
func (r *Record) unsealed(channel string, from, to time.Time, mark marking) []*series.Block {
	s := r.pending.span(channel)
	if s == (calendar.Span{}) || !s.From.Before(to) || !s.To.After(from) {
		return nil
	}
	var out []*series.Block
	for _, b := range r.pending.Blocks[channel] {
		if i, j := b.Touching(from.UnixMilli(), to.UnixMilli()); i < j {
			out = append(out, b)
		}
	}
	if c, ok := r.pending.channel(channel); ok {
		return mark(out, c)
	}
	return out
}

// unsealed notes the channels whose readings not yet sealed are others than they
// were.
func (t *touched) unsealed(before, after *session) error {
	was, now := before.rec.pending, after.rec.pending
	if was == now {
		return nil
	}
	for _, code := range slices.Compact(slices.Sorted(slices.Values(slices.Concat(was.codes(), now.codes())))) {
		if was != nil && now != nil && slices.Equal(was.Blocks[code], now.Blocks[code]) {
			continue
		}
		t.kinds["import.1"] = true
		span := freshOf(was, now, code)
		if err := t.channel(code, span, before, after); err != nil {
			return fmt.Errorf("readings of %s not yet sealed: %w", code, err)
		}
	}
	return nil
}

// freshOf is the span in which two states of what is pending differ: what comes
// after the blocks they share.
func freshOf(was, now *Pending, code string) calendar.Span {
	if was == nil || now == nil {
		return hull(was.span(code), now.span(code))
	}
	a, b := was.Blocks[code], now.Blocks[code]
	n := 0
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	rest := func(list []*series.Block) calendar.Span {
		return (&Pending{Blocks: map[string][]*series.Block{code: list[n:]}}).span(code)
	}
	return hull(rest(a), rest(b))
}
