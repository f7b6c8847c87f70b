package calendar

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// Counting says which days a term counts.
type Counting string

// The countings there are. After is the default.
const (
	After         Counting = "after"          // "within n days of, after, from": the day itself is not counted
	BeginningWith Counting = "beginning with" // the day itself is the first
	ClearDays     Counting = "clear"          // n whole days between, neither end counted
)

// Roll says what becomes of a last day that is no working day.
type Roll string

// The rolls there are. NoRoll is the default: ordinary planning time limits of
// the United Kingdom do not roll; Regulation 1182/71 (EEC, Euratom) does.
const (
	NoRoll      Roll = "none"
	NextWorking Roll = "next working day"
	PrevWorking Roll = "previous working day"
)

// Term is a length of legal time.
type Term struct {
	N        int    // 0 or more
	Unit     string // minute, hour, day, working day, week, month, year; plural as well
	Counting Counting
	Before   bool // counted back from the event
	Roll     Roll
}

// Limit is when a term ends.
type Limit struct {
	Last Date      // the last day on which the act is in time
	Ends time.Time // the instant the term is over: the start of the next day, or for minutes and hours the instant itself
}

// ErrTerm is wrapped when a term cannot be counted as it is written.
var ErrTerm = errors.New("term cannot be counted")

// Due returns when the term counted from an instant ends, in dates of the
// zone. Of days, the date of the instant counts, not its hour.
//
//   - Months and years end on the corresponding date, or on the last day of a
//     month that has none: 3 months from 30 November end on the last of
//     February. Beginning with a date, they end on the day before the
//     corresponding one.
//   - Clear days leave n whole days between: "5 clear days before" gives the
//     latest day with five days between it and the event; after, the first day
//     with n days between.
//   - Working days are those of the holiday list (Holidays.Working), which
//     only they and Roll need.
//   - Minutes and hours are elapsed time.
//
// It wraps ErrTerm, ErrNoList or ErrNotCovered.
//
// Source: the ordinary rules of counting time as in Interpretation Act 1978
// (UK) Sch. 1 "month" and the corresponding-date rule of the courts (common
// practice); check values in the tests.
func Due(from time.Time, term Term, loc *time.Location, h *Holidays) (Limit, error) {
	if term.N < 0 || term.N > 100_000 {
		return Limit{}, fmt.Errorf("%d %ss: %w: a number from 0 to 100000 is needed", term.N, term.Unit, ErrTerm)
	}
	unit := strings.TrimSuffix(term.Unit, "s")
	if unit == "minute" || unit == "hour" {
		return elapsed(from, term, unit, loc)
	}
	start := DateOf(from, loc)
	last, err := lastDay(start, term, unit, h)
	if err != nil {
		return Limit{}, err
	}
	if last, err = term.Roll.apply(last, h); err != nil {
		return Limit{}, err
	}
	if last.Year < 1 || last.Year > 9999 {
		return Limit{}, fmt.Errorf("%d %ss from %s: %w: the year is out of range", term.N, unit, start, ErrTerm)
	}
	return Limit{Last: last, Ends: last.AddDays(1).Start(loc)}, nil
}

func elapsed(from time.Time, term Term, unit string, loc *time.Location) (Limit, error) {
	if term.Roll != NoRoll && term.Roll != "" || term.Counting == ClearDays || term.Counting == BeginningWith {
		return Limit{}, fmt.Errorf("%ss: %w: elapsed time neither rolls nor counts days", unit, ErrTerm)
	}
	d := time.Duration(term.N) * time.Minute
	if unit == "hour" {
		d *= 60
	}
	if term.Before {
		d = -d
	}
	ends := from.Add(d).In(loc)
	return Limit{Last: DateOf(ends, loc), Ends: ends}, nil
}

// lastDay counts from start without roll.
func lastDay(start Date, term Term, unit string, h *Holidays) (Date, error) {
	way := 1
	if term.Before {
		way = -1
	}
	n := term.N
	switch unit {
	case "week":
		n, unit = 7*n, "day"
	case "year":
		n, unit = 12*n, "month"
	}
	switch unit {
	case "day":
		switch term.Counting {
		case BeginningWith:
			n = max(n-1, 0)
		case ClearDays:
			n++
		}
		return start.AddDays(way * n), nil
	case "month":
		return monthsFrom(start, n*way, term.Counting), nil
	case "working day":
		return workingDays(start, way, n, term.Counting, h)
	}
	return Date{}, fmt.Errorf("unit %q: %w: known are minute, hour, day, working day, week, month, year", term.Unit, ErrTerm)
}

func monthsFrom(start Date, n int, counting Counting) Date {
	d := start.AddMonths(n)
	way := 1
	if n < 0 {
		way = -1
	}
	switch {
	case counting == ClearDays:
		return d.AddDays(way)
	case counting == BeginningWith && n != 0 && d.Day == start.Day:
		return d.AddDays(-way)
	}
	return d
}

func workingDays(d Date, way, n int, counting Counting, h *Holidays) (Date, error) {
	if counting == BeginningWith && n > 0 {
		is, err := h.Working(d)
		if err != nil {
			return Date{}, err
		}
		if is {
			n--
		}
	}
	for n > 0 {
		d = d.AddDays(way)
		is, err := h.Working(d)
		if err != nil {
			return Date{}, err
		}
		if is {
			n--
		}
	}
	if counting == ClearDays {
		d = d.AddDays(way)
	}
	return d, nil
}

func (r Roll) apply(d Date, h *Holidays) (Date, error) {
	way := 1
	switch r {
	case NoRoll, "":
		return d, nil
	case PrevWorking:
		way = -1
	case NextWorking:
	default:
		return Date{}, fmt.Errorf("roll %q: %w: known are none, next working day, previous working day", r, ErrTerm)
	}
	for {
		is, err := h.Working(d)
		if err != nil || is {
			return d, err
		}
		d = d.AddDays(way)
	}
}
