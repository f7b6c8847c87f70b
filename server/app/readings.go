package app

import (
	"context"
	"time"

	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Column is what one pixel column of a chart holds: nothing between the least
// and the greatest is lost when a line is drawn through the four.
type Column struct {
	Start                 time.Time
	First, Min, Max, Last float64
}

// Stretch is a span without a value that counts, and why.
type Stretch struct {
	From, To time.Time
	Reason   string
}

// Reduced are the readings of a channel over a span, reduced for a chart.
type Reduced struct {
	Channel  series.Channel
	From, To time.Time
	Columns  []Column
	Missing  []Stretch // no reading on file
	Excluded []Stretch // readings on file that do not count
	Rejected []Rejected
	Unlisted int // stretches that neither Missing nor Excluded has room for
	N, Valid int
	Coverage *float64 // nil for instants
	Max      *float64
	MaxAt    time.Time
}

// Most columns a chart is answered with, and stretches listed.
const (
	maxColumns   = 4000
	maxStretches = 2000
)

// Readings reduces a channel's readings over [from, to) to at most columns
// columns (M4 of Jugel et al., PVLDB 7(10), 2014: first, least, greatest, last
// of each), as they were known at the time asked for.
func (s *Service) Readings(ctx context.Context, who Actor, w When, channel string, from, to time.Time, columns int) (*Reduced, error) {
	snap, err := s.on(ctx, who, w)
	if err != nil {
		return nil, err
	}
	out := &Reduced{From: from, To: to}
	found := false
	for _, c := range snap.Record.Channels("", "") {
		if c.Code == channel {
			out.Channel, found = c, true
		}
	}
	if !found {
		return nil, fault(NotFound, "there is no channel %q", channel)
	}
	if !from.Before(to) {
		return nil, fault(Invalid, "the span must end after it begins")
	}
	blocks, err := snap.Record.Readings(channel, from, to)
	if err != nil {
		return nil, internal("reading the channel", err)
	}
	columns = min(max(columns, 1), maxColumns)
	r := reducer{out: out, from: from.UnixMilli(), to: to.UnixMilli(), columns: int64(columns), at: -1, end: from.UnixMilli()}
	for _, b := range blocks {
		for i := range b.Start {
			r.take(b, i)
		}
	}
	r.finish()
	if len(out.Excluded) > 0 {
		received, err := snap.Record.AsReceived(channel, from, to)
		if err != nil {
			return nil, internal("reading the channel", err)
		}
		r.rejected(blocks, received)
	}
	return out, nil
}

type reducer struct {
	out      *Reduced
	from, to int64 // UTC ms
	columns  int64
	at       int64 // column being filled
	end      int64 // where the last reading ended
	covered  int64
	spans    bool
	most     float64 // greatest that counts
	mostAt   int64
}

func (r *reducer) take(b *series.Block, i int) {
	start := b.Start[i]
	if start < r.from || start >= r.to {
		return
	}
	r.out.N++
	if b.Span > 0 {
		r.spans = true
		if start > r.end {
			r.out.Missing = r.list(r.out.Missing, r.end, start, "no reading on file")
		}
		r.end = max(r.end, start+b.Span)
	}
	if !b.Mark[i].Counts() {
		r.out.Excluded = r.list(r.out.Excluded, start, start+max(b.Span, 1), reasonOf(b.Mark[i]))
		return
	}
	r.out.Valid++
	r.covered += b.Span
	v := unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}.Float()
	if r.out.Valid == 1 || v > r.most {
		r.most, r.mostAt = v, start
	}
	col := (start - r.from) * r.columns / (r.to - r.from)
	if col != r.at {
		r.at = col
		r.out.Columns = append(r.out.Columns, Column{Start: time.UnixMilli(start).UTC(), First: v, Min: v, Max: v, Last: v})
		return
	}
	c := &r.out.Columns[len(r.out.Columns)-1]
	c.Min, c.Max, c.Last = min(c.Min, v), max(c.Max, v), v
}

func (r *reducer) finish() {
	if r.out.Valid > 0 {
		r.out.Max, r.out.MaxAt = &r.most, time.UnixMilli(r.mostAt).UTC()
	}
	if !r.spans {
		return
	}
	if r.end < r.to {
		r.out.Missing = r.list(r.out.Missing, r.end, r.to, "no reading on file")
	}
	share := unit.Round9(float64(r.covered) / float64(r.to-r.from))
	r.out.Coverage = &share
}

// list adds a span to a list of the answer, and counts it where the list is full.
func (r *reducer) list(l []Stretch, from, to int64, reason string) []Stretch {
	if len(l) >= maxStretches && !joins(l, from, reason) {
		r.out.Unlisted++
	}
	return stretch(l, from, to, reason)
}

// joins tells whether a span touches the last of a list.
func joins(l []Stretch, from int64, reason string) bool {
	n := len(l)
	return n > 0 && l[n-1].Reason == reason && l[n-1].To.UnixMilli() >= from
}

// stretch adds a span to a list, joined to the last where they touch.
func stretch(l []Stretch, from, to int64, reason string) []Stretch {
	a, b := time.UnixMilli(from).UTC(), time.UnixMilli(to).UTC()
	if joins(l, from, reason) {
		l[len(l)-1].To = b
		return l
	}
	if len(l) >= maxStretches {
		return l
	}
	return append(l, Stretch{a, b, reason})
}

var reasons = map[series.Mark]string{
	series.Blank: "no value in the file", series.Wind: "rejected: wind", series.Rain: "rejected: rain",
	series.Calibrating: "rejected: calibration", series.Overload: "rejected: overload",
	series.Maintenance: "rejected: maintenance", series.Interference: "rejected: interference",
	series.Doubtful: "instrument out of check, or not known where it stood", series.Unreadable: "not a number in the file",
}

func reasonOf(m series.Mark) string {
	if r := reasons[m]; r != "" {
		return r
	}
	return "left out"
}
