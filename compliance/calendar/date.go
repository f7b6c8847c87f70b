package calendar

import (
	"fmt"
	"time"
)

// ParseDate reads 2006-01-02, years 0001 to 9999.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse("2006-01-02", s)
	if err != nil || len(s) != 10 || t.Year() < 1 {
		return Date{}, fmt.Errorf("%q is not a date such as 2026-04-06", s)
	}
	return dateIn(t), nil
}

func dateIn(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// DateOf returns the civil date of an instant in a zone.
func DateOf(t time.Time, loc *time.Location) Date { return dateIn(t.In(loc)) }

// utc returns midnight of the date in UTC; all date arithmetic goes through it.
func (d Date) utc() time.Time { return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC) }

// IsZero tells whether the date was never set.
func (d Date) IsZero() bool { return d == Date{} }

// Valid tells whether the calendar has such a date.
func (d Date) Valid() bool { return dateIn(d.utc()) == d && d.Year >= 1 && d.Year <= 9999 }

// AddDays returns the date n days later, or earlier when n is below zero.
func (d Date) AddDays(n int) Date { return dateIn(d.utc().AddDate(0, 0, n)) }

// AddMonths returns the corresponding date n months later, or the last day of
// that month when it has no such day: 3 months from 30 November is the last
// of February.
func (d Date) AddMonths(n int) Date {
	months := d.Year*12 + int(d.Month) - 1 + n
	year, month := floorDiv(months, 12)
	m := time.Month(month + 1)
	return Date{year, m, min(d.Day, daysIn(year, m))}
}

func floorDiv(a, b int) (q, r int) {
	q, r = a/b, a%b
	if r < 0 {
		q, r = q-1, r+b
	}
	return q, r
}

func daysIn(year int, m time.Month) int {
	return time.Date(year, m+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// Sub returns the days from e to d.
func (d Date) Sub(e Date) int { return int(d.utc().Sub(e.utc()) / (24 * time.Hour)) }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.utc().Weekday() }

// Before tells whether d is earlier than e.
func (d Date) Before(e Date) bool { return d.Compare(e) < 0 }

// Compare returns -1, 0 or 1 as d is earlier than, the same as or later than e.
func (d Date) Compare(e Date) int { return d.utc().Compare(e.utc()) }

// Start returns the first instant of the date in the zone: local midnight,
// the earlier one where the clock shows midnight twice, and where it shows
// none the instant the clock jumps past it. On a date that the zone left out
// it is the instant of that change, which is also the start of the next date.
func (d Date) Start(loc *time.Location) time.Time {
	first, _, _ := Local(d.utc(), loc)
	return first
}

// At returns the instant the clock shows c on the date: the earlier one when
// it shows it twice, the instant of the jump when it shows it never. 24:00 is
// the start of the next date.
func (d Date) At(c Clock, loc *time.Location) time.Time {
	if c >= 24*60 {
		d, c = d.AddDays(int(c)/(24*60)), c%(24*60)
	}
	first, _, _ := Local(d.utc().Add(time.Duration(c)*time.Minute), loc)
	return first
}

// Local turns a wall-clock reading, given as if it were UTC, into instants of
// the zone. n is how often the clock shows it: 1 mostly; 2 in a repeated hour,
// with the earlier and the later instant; 0 in a skipped hour, with the
// instant of the jump twice.
func Local(wall time.Time, loc *time.Location) (first, last time.Time, n int) {
	wall = wall.UTC()
	// No offset passes 15 hours, so the zone's rule a day before and a day
	// after are the ones in question.
	before := wall.Add(-24 * time.Hour).In(loc)
	a := wall.Add(-offset(before))
	b := wall.Add(-offset(wall.Add(24 * time.Hour).In(loc)))
	okA := shows(a, wall, loc)
	if a.Equal(b) {
		if okA {
			return a.In(loc), a.In(loc), 1
		}
		return jump(before, wall, loc)
	}
	okB := shows(b, wall, loc)
	switch {
	case okA && okB:
		if b.Before(a) {
			a, b = b, a
		}
		return a.In(loc), b.In(loc), 2
	case okA:
		return a.In(loc), a.In(loc), 1
	case okB:
		return b.In(loc), b.In(loc), 1
	}
	return jump(before, wall, loc)
}

func offset(t time.Time) time.Duration {
	_, s := t.Zone()
	return time.Duration(s) * time.Second
}

func shows(t, wall time.Time, loc *time.Location) bool {
	return t.Add(offset(t.In(loc))).Equal(wall)
}

// jump finds the change of clock that skips the wall reading.
func jump(before, wall time.Time, loc *time.Location) (first, last time.Time, n int) {
	at := change(before, wall.Add(24*time.Hour), loc)
	return at, at, 0
}

// change finds the instant, to the second, at which the offset of from gives
// way; to must have another one. It halves the span instead of asking
// Time.ZoneBounds, which in Go 1.26 reports an end that is none on the last
// day of leap years.
func change(from, to time.Time, loc *time.Location) time.Time {
	old, a, b := offset(from.In(loc)), from.Unix(), to.Unix()
	for b-a > 1 {
		mid := a + (b-a)/2
		if offset(time.Unix(mid, 0).In(loc)) == old {
			a = mid
		} else {
			b = mid
		}
	}
	return time.Unix(b, 0).In(loc)
}
