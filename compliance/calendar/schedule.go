package calendar

import (
	"fmt"
	"slices"
	"time"
)

// Open returns the open stretches inside span, merged and in order. A nil
// schedule is open at all times. A slot over midnight belongs, with its
// weekday, its range of dates and its holiday rule, to the date it starts on.
// A clock time that is shown twice means the earlier, one that is skipped the
// instant of the jump. With Complement the result is the rest of the span.
//
// It wraps ErrNoList when a slot turns on holidays and h is nil, and
// ErrNotCovered when it needs a year that h does not cover.
func (s *Schedule) Open(span Span, loc *time.Location, h *Holidays) ([]Span, error) {
	if span.Empty() {
		return nil, nil
	}
	if s == nil {
		return []Span{span}, nil
	}
	var open []Span
	last := DateOf(span.To, loc)
	for d := DateOf(span.From, loc).AddDays(-1); !last.Before(d); d = d.AddDays(1) {
		for _, slot := range s.Slots {
			part := slot.on(d, loc).Overlap(span)
			if part.Empty() || !slot.inRange(d) {
				continue
			}
			is, err := slot.opens(d, h)
			if err != nil {
				return nil, fmt.Errorf("schedule: %w", err)
			}
			if is {
				open = append(open, part)
			}
		}
	}
	open = Merge(open)
	if s.Complement {
		return Rest(span, open), nil
	}
	return open, nil
}

// Covers tells whether the window is wholly open, and whether any part of it
// is. An empty window is neither.
func (s *Schedule) Covers(window Span, loc *time.Location, h *Holidays) (whole, part bool, err error) {
	open, err := s.Open(window, loc, h)
	if err != nil || len(open) == 0 {
		return false, false, err
	}
	return len(open) == 1 && open[0].Contains(window), true, nil
}

func (s Slot) on(d Date, loc *time.Location) Span {
	end := d
	if s.To <= s.From {
		end = d.AddDays(1)
	}
	return Span{d.At(s.From, loc), end.At(s.To, loc)}
}

func (s Slot) inRange(d Date) bool {
	return (s.First.IsZero() || !d.Before(s.First)) && (s.Last.IsZero() || !s.Last.Before(d))
}

// opens tells whether the slot opens on d. The list is asked only where the
// answer turns on it.
func (s Slot) opens(d Date, h *Holidays) (bool, error) {
	switch s.Holidays {
	case Ignored:
		return s.Days.Has(d.Weekday()), nil
	case Only:
		return h.Is(d)
	}
	if !s.Days.Has(d.Weekday()) {
		return false, nil
	}
	holiday, err := h.Is(d)
	return !holiday && err == nil, err
}

// Merge sorts spans and joins those that touch or overlap; empty ones go.
func Merge(spans []Span) []Span {
	spans = slices.DeleteFunc(slices.Clone(spans), Span.Empty)
	slices.SortStableFunc(spans, func(a, b Span) int { return a.From.Compare(b.From) })
	var out []Span
	for _, s := range spans {
		if n := len(out); n > 0 && !s.From.After(out[n-1].To) {
			if s.To.After(out[n-1].To) {
				out[n-1].To = s.To
			}
			continue
		}
		out = append(out, s)
	}
	return out
}

// Rest returns what of span lies outside the parts, which must be merged.
func Rest(span Span, parts []Span) []Span {
	var out []Span
	for _, p := range parts {
		if before := (Span{span.From, p.From}); !before.Empty() {
			out = append(out, before.Overlap(span))
		}
		if p.To.After(span.From) {
			span.From = p.To
		}
	}
	if !span.Empty() {
		out = append(out, span)
	}
	return out
}
