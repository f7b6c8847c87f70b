// Package calendar holds the rules of time that permits are written in: local
// days and hours of a zone, working hours with holidays, fixed and rolling
// periods, legal deadlines, sunrise and sunset. All spans are half-open.
//
// Zones load only from the release embedded in the program.
package calendar

import (
	"fmt"
	"time"
)

// Span is the half-open interval [From, To).
type Span struct{ From, To time.Time }

// Empty tells whether the span holds no instant.
func (s Span) Empty() bool { return !s.From.Before(s.To) }

// Length returns the elapsed time, which on a clock-change day is not 24 h.
func (s Span) Length() time.Duration { return s.To.Sub(s.From) }

// Contains tells whether other lies wholly inside s.
func (s Span) Contains(other Span) bool {
	return !other.From.Before(s.From) && !other.To.After(s.To)
}

// Overlap returns the part that both share; it may be empty.
func (s Span) Overlap(other Span) Span {
	if other.From.After(s.From) {
		s.From = other.From
	}
	if other.To.Before(s.To) {
		s.To = other.To
	}
	return s
}

// Date is a civil date, without zone.
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// String writes the date as 2006-01-02.
func (d Date) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, int(d.Month), d.Day) }

// Clock is a time of day in minutes after midnight, 0 to 1440 (24:00).
type Clock int

// String writes the clock time as 15:04.
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", int(c)/60, int(c)%60) }

// Days is a set of weekdays: bit n is time.Weekday n.
type Days uint8

// Has tells whether the set holds the weekday.
func (d Days) Has(w time.Weekday) bool { return d&(1<<uint(w)) != 0 }

// Slot is one stretch of a schedule: on these weekdays, from and to clock
// times (to at or before from runs over midnight and belongs to the day it
// starts on). A zero First or Last leaves the range of dates open there; Last
// is included.
type Slot struct {
	Days        Days
	From, To    Clock
	First, Last Date
	// Holidays says what a holiday does to the slot.
	Holidays HolidayUse
}

// HolidayUse says what a holiday of the permit's list does to a slot.
type HolidayUse string

// The uses there are. The default is Closed.
const (
	Closed  HolidayUse = "closed"  // no opening on a holiday
	Ignored HolidayUse = "ignored" // holidays are like other days
	Only    HolidayUse = "only"    // opens on holidays alone, whatever the weekday
)

// Schedule is a list of slots in a zone with a holiday list. Complement turns
// it into "at all other times".
type Schedule struct {
	Slots      []Slot
	Complement bool
}

// PeriodKind is a kind of window.
type PeriodKind string

// The kinds of window there are.
const (
	Instant     PeriodKind = "instant"      // each reading or sample by itself
	Event       PeriodKind = "event"        // each blast, load, visit
	Minutes     PeriodKind = "minutes"      // clock minutes: N divides 60
	ClockHour   PeriodKind = "clock hour"   //
	Shift       PeriodKind = "shift"        // Starts to Ends, belongs to the day it starts on
	LocalDay    PeriodKind = "local day"    //
	PermitDay   PeriodKind = "permit day"   // day beginning at Starts; UTC when UTC is set
	Week        PeriodKind = "week"         // beginning on Weekday
	Month       PeriodKind = "month"        // calendar month
	FourWeeks   PeriodKind = "28 days"      // counted from Anchor
	Quarter     PeriodKind = "quarter"      // calendar quarter
	Year        PeriodKind = "year"         // calendar year
	PermitYear  PeriodKind = "permit year"  // beginning on Anchor's month and day
	RollingDays PeriodKind = "rolling days" // every span of N days ending at a day's end
	RollingMon  PeriodKind = "rolling months"
	RollingYear PeriodKind = "rolling years"
	RollingHour PeriodKind = "rolling hour" // any 60 minutes, at the data's step
	WholeLife   PeriodKind = "whole life"   // from first force to the time of judging
	Exposure    PeriodKind = "exposure"     // the sample's own from and to
)

// Period is a window as a condition names it.
type Period struct {
	Kind    PeriodKind
	N       int          // Minutes, Rolling*
	Starts  Clock        // PermitDay, Shift
	Ends    Clock        // Shift
	Weekday time.Weekday // Week
	Anchor  Date         // FourWeeks, PermitYear
	UTC     bool         // PermitDay in UTC, not in the site's zone
}
