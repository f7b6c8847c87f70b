package calendar

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// ErrNoGrid is wrapped when a kind of window follows the events, samples or
// readings themselves, so that the calendar alone cannot list its windows.
var ErrNoGrid = errors.New("windows of this kind follow the record, not the calendar")

// ErrTooMany is wrapped when a span holds more windows than can be listed.
var ErrTooMany = errors.New("too many windows")

// maxWindows bounds one list: more than 100 years of 15-minute windows, far
// above any permit's use.
const maxWindows = 4_000_000

// Windows returns every window of the period that shares an instant with
// span, whole and in order. Windows are half-open; days, weeks, months and
// years begin at the start of their date in loc, so a day of a clock change
// lasts 23 or 25 hours. Clock hours and minutes follow the wall clock, but in
// absolute time: the repeated hour is a window of its own, the skipped one is
// none. Rolling windows of days, months and years end at the end of each
// local day, and so overlap. A whole life is the span itself.
//
// It wraps ErrNoGrid for instants, events, exposure periods and rolling hours.
func (p Period) Windows(span Span, loc *time.Location) ([]Span, error) {
	if span.Empty() {
		return nil, nil
	}
	switch p.Kind {
	case Instant, Event, Exposure, RollingHour:
		return nil, fmt.Errorf("%s: %w", p, ErrNoGrid)
	case WholeLife:
		return []Span{span}, nil
	case RollingDays, RollingMon, RollingYear:
		return p.rollingWindows(span, loc)
	}
	w, err := p.At(span.From, loc)
	if err != nil {
		return nil, err
	}
	var out []Span
	for w.From.Before(span.To) {
		if !w.Overlap(span).Empty() {
			if len(out) == maxWindows {
				return nil, fmt.Errorf("%s from %s to %s: %w", p, span.From.Format(time.RFC3339), span.To.Format(time.RFC3339), ErrTooMany)
			}
			out = append(out, w)
		}
		if out, w = p.alike(out, w, span, loc); len(out) == maxWindows {
			continue // and say so above
		}
		if w, err = p.after(w, loc); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// alike appends the windows of clock minutes after w that lie whole between
// two changes of the zone's offset, where each is as long as the other, up to
// the end of the span; it returns the last window.
func (p Period) alike(out []Span, w, span Span, loc *time.Location) ([]Span, Span) {
	if p.Kind != Minutes && p.Kind != ClockHour || len(out) == 0 {
		return out, w
	}
	length := time.Duration(p.minutes()) * time.Minute
	begin, end := w.To.In(loc).ZoneBounds()
	if w.To.Equal(begin) { // the first window after a change may be short
		return out, w
	}
	if end.IsZero() || span.To.Before(end) {
		end = span.To
	}
	if more := int(end.Sub(w.To) / length); cap(out)-len(out) < more {
		out = slices.Grow(out, min(more, maxWindows))
	}
	for !w.To.Add(length).After(end) && len(out) < maxWindows {
		w = Span{w.To, w.To.Add(length)}
		out = append(out, w)
	}
	return out, w
}

// At returns the window that holds t. A shift need not hold it: then it is
// the shift that began last before t. Of rolling windows it is the one that
// ends with the day of t. It wraps ErrNoGrid where Windows does, and for a
// whole life.
func (p Period) At(t time.Time, loc *time.Location) (Span, error) {
	switch p.Kind {
	case Minutes, ClockHour:
		return clockWindow(t, p.minutes(), loc), nil
	case Shift:
		return p.shiftAt(t, loc), nil
	case RollingDays, RollingMon, RollingYear:
		return p.rollingTo(DateOf(t, loc).AddDays(1), loc), nil
	}
	d, loc, err := p.dateAt(t, loc)
	if err != nil {
		return Span{}, err
	}
	return p.dayWindow(d, loc), nil
}

func (p Period) minutes() int {
	if p.Kind == ClockHour {
		return 60
	}
	return p.N
}

// after returns the window that follows w.
func (p Period) after(w Span, loc *time.Location) (Span, error) {
	if p.Kind == Shift {
		d := DateOf(w.From, loc)
		if next := p.shiftOn(d, loc); next.From.After(w.From) {
			return next, nil // the date before was left out by the zone
		}
		return p.shiftOn(d.AddDays(1), loc), nil
	}
	return p.At(w.To, loc)
}

// clockWindow cuts time where the wall clock passes a multiple of n minutes,
// and where it is set.
func clockWindow(t time.Time, n int, loc *time.Location) Span {
	t = t.In(loc)
	length := time.Duration(n) * time.Minute
	off := offset(t)
	wall := t.UTC().Add(off)
	// The first instant of the wall-clock hour: Truncate works from a
	// midnight, and every n divides the hour.
	from := wall.Truncate(length).Add(-off)
	to := from.Add(length)
	if offset(from.In(loc)) != off {
		from = change(from, t, loc)
	}
	if last := to.Add(-time.Nanosecond); offset(last.In(loc)) != off {
		to = change(t, last, loc)
	}
	return Span{from.In(loc), to.In(loc)}
}

func (p Period) shiftOn(d Date, loc *time.Location) Span {
	end := d
	if p.Ends <= p.Starts {
		end = d.AddDays(1)
	}
	return Span{d.At(p.Starts, loc), end.At(p.Ends, loc)}
}

func (p Period) shiftAt(t time.Time, loc *time.Location) Span {
	d := DateOf(t, loc)
	if s := p.shiftOn(d, loc); !s.From.After(t) {
		return s
	}
	return p.shiftOn(d.AddDays(-1), loc)
}

// dateAt returns the first date of the window that holds t, and the zone its
// dates are in.
func (p Period) dateAt(t time.Time, loc *time.Location) (Date, *time.Location, error) {
	if p.Kind == PermitDay {
		if p.UTC {
			loc = time.UTC
		}
		d := DateOf(t, loc)
		if t.Before(d.At(p.Starts, loc)) {
			d = d.AddDays(-1)
		}
		return d, loc, nil
	}
	d := DateOf(t, loc)
	switch p.Kind {
	case LocalDay:
	case Week:
		d = d.AddDays(-((int(d.Weekday()) - int(p.Weekday) + 7) % 7))
	case FourWeeks:
		_, into := floorDiv(d.Sub(p.Anchor), 28)
		d = d.AddDays(-into)
	case Month:
		d.Day = 1
	case Quarter:
		d = Date{d.Year, (d.Month-1)/3*3 + 1, 1}
	case Year:
		d = Date{d.Year, time.January, 1}
	case PermitYear:
		first := p.yearFrom(d.Year)
		if d.Before(first) {
			first = p.yearFrom(d.Year - 1)
		}
		d = first
	default:
		return Date{}, nil, fmt.Errorf("%s: %w", p, ErrNoGrid)
	}
	return d, loc, nil
}

// yearFrom returns the first day of the permit year that begins in year. One
// from 29 February begins on 1 March where there is none.
func (p Period) yearFrom(year int) Date {
	return dateIn(Date{year, p.Anchor.Month, p.Anchor.Day}.utc())
}

// dayWindow returns the window whose first date is d.
func (p Period) dayWindow(d Date, loc *time.Location) Span {
	var next Date
	switch p.Kind {
	case PermitDay:
		return Span{d.At(p.Starts, loc), d.AddDays(1).At(p.Starts, loc)}
	case Week:
		next = d.AddDays(7)
	case FourWeeks:
		next = d.AddDays(28)
	case Month:
		next = d.AddMonths(1)
	case Quarter:
		next = d.AddMonths(3)
	case Year:
		next = d.AddMonths(12)
	case PermitYear:
		next = p.yearFrom(d.Year + 1)
	default:
		next = d.AddDays(1)
	}
	return Span{d.Start(loc), next.Start(loc)}
}

func (p Period) rollingWindows(span Span, loc *time.Location) ([]Span, error) {
	var out []Span
	for end := DateOf(span.From, loc).AddDays(1); ; end = end.AddDays(1) {
		w := p.rollingTo(end, loc)
		if !w.From.Before(span.To) {
			return out, nil
		}
		if len(out) == maxWindows {
			return nil, fmt.Errorf("%s: %w", p, ErrTooMany)
		}
		if !w.Overlap(span).Empty() && (len(out) == 0 || !w.To.Equal(out[len(out)-1].To)) {
			out = append(out, w)
		}
	}
}

// rollingTo returns the rolling window that ends where the date end begins.
func (p Period) rollingTo(end Date, loc *time.Location) Span {
	var first Date
	switch p.Kind {
	case RollingDays:
		first = end.AddDays(-p.N)
	case RollingMon:
		first = end.AddMonths(-p.N)
	default:
		first = end.AddMonths(-12 * p.N)
	}
	return Span{first.Start(loc), end.Start(loc)}
}
