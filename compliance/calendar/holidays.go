package calendar

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// Holidays is a list of holidays with its source and the years it covers. In
// those years every day that is not listed is no holiday; outside them nothing
// is known.
type Holidays struct {
	ID, Source       string
	FromYear, ToYear int       // both included
	Days             []Holiday // in order of date
}

// Holiday is one day of a list.
type Holiday struct {
	Date  Date
	Title string
	Note  string // such as "substitute day"; may be ""
}

// ErrNotCovered is wrapped when a year is not on a holiday list.
var ErrNotCovered = errors.New("not on file")

// ErrNoList is wrapped when a rule turns on holidays and no list is given.
var ErrNoList = errors.New("no holiday list is named")

// Is tells whether d is a holiday of the list. It wraps ErrNotCovered for a
// year the list does not cover and ErrNoList when h is nil.
func (h *Holidays) Is(d Date) (bool, error) {
	if h == nil {
		return false, fmt.Errorf("whether %s is a holiday: %w", d, ErrNoList)
	}
	if d.Year < h.FromYear || d.Year > h.ToYear {
		return false, fmt.Errorf("holidays for %d in list %s: %w (it covers %d to %d)", d.Year, h.ID, ErrNotCovered, h.FromYear, h.ToYear)
	}
	_, found := slices.BinarySearchFunc(h.Days, d, func(x Holiday, d Date) int { return x.Date.Compare(d) })
	return found, nil
}

// Working tells whether d is a working day: neither Saturday nor Sunday nor a
// holiday of the list. Saturdays and Sundays need no list.
func (h *Holidays) Working(d Date) (bool, error) {
	if w := d.Weekday(); w == time.Saturday || w == time.Sunday {
		return false, nil
	}
	holiday, err := h.Is(d)
	return !holiday && err == nil, err
}

// In returns the holidays of one year, in order.
func (h *Holidays) In(year int) []Holiday {
	var out []Holiday
	for _, d := range h.Days {
		if d.Date.Year == year {
			out = append(out, d)
		}
	}
	return out
}

// settle sorts the days and refuses duplicates and days outside the years.
func (h *Holidays) settle() error {
	slices.SortStableFunc(h.Days, func(a, b Holiday) int { return a.Date.Compare(b.Date) })
	var errs []error
	for i, d := range h.Days {
		if d.Date.Year < h.FromYear || d.Date.Year > h.ToYear {
			errs = append(errs, fmt.Errorf("holiday list %s: %s is outside the years %d to %d it covers", h.ID, d.Date, h.FromYear, h.ToYear))
		}
		if i > 0 && d.Date == h.Days[i-1].Date {
			errs = append(errs, fmt.Errorf("holiday list %s: %s stands twice", h.ID, d.Date))
		}
	}
	return errors.Join(errs...)
}
