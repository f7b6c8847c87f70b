package calendar

import (
	"errors"
	"io"
	"time"
)

var errNotBuilt = errors.New("not built in this commit")

// LoadZone returns a zone from the embedded release. "Local" and "" are refused.
func LoadZone(name string) (*time.Location, error) { return nil, errNotBuilt }

// ZoneData returns the bytes of a zone (TZif) from the embedded release.
func ZoneData(name string) ([]byte, error) { return nil, errNotBuilt }

// ParseDate reads 2006-01-02.
func ParseDate(s string) (Date, error) { return Date{}, errNotBuilt }

// DateOf returns the civil date of an instant in a zone.
func DateOf(t time.Time, loc *time.Location) Date { return Date{} }

// Start returns the first instant of the date in the zone.
func (d Date) Start(loc *time.Location) time.Time { return time.Time{} }

// At returns the instant of a clock time on the date in the zone.
func (d Date) At(c Clock, loc *time.Location) time.Time { return time.Time{} }

// AddDays returns the date n days later.
func (d Date) AddDays(n int) Date { return d }

// AddMonths returns the corresponding date n months later, or the last day.
func (d Date) AddMonths(n int) Date { return d }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return 0 }

// Before tells whether d is earlier than e.
func (d Date) Before(e Date) bool { return false }

// Compare returns -1, 0 or 1.
func (d Date) Compare(e Date) int { return 0 }

// IsZero tells whether the date was never set.
func (d Date) IsZero() bool { return d == Date{} }

// ParseClock reads 15:04 and 24:00.
func ParseClock(s string) (Clock, error) { return 0, errNotBuilt }

// ParseDays reads "mon-fri", "sat", "mon,wed-fri", "every day".
func ParseDays(s string) (Days, error) { return 0, errNotBuilt }

// FormatDays writes a set of weekdays as ParseDays reads it.
func FormatDays(d Days) string { return "" }

// ParsePeriod reads a window as a condition names it.
func ParsePeriod(text string) (Period, error) { return Period{}, errNotBuilt }

// String writes the period as ParsePeriod reads it.
func (p Period) String() string { return "" }

// Windows returns every whole window of the period that intersects span, in
// order.
func (p Period) Windows(span Span, loc *time.Location) ([]Span, error) { return nil, errNotBuilt }

// At returns the window that holds t.
func (p Period) At(t time.Time, loc *time.Location) (Span, error) { return Span{}, errNotBuilt }

// Holidays is a list of holidays with its source and the years it covers.
type Holidays struct {
	ID, Source       string
	FromYear, ToYear int // both included
	Days             []Holiday
}

// Holiday is one day of a list.
type Holiday struct {
	Date  Date
	Title string
	Note  string
}

// ErrNotCovered is wrapped when a year is not on a holiday list.
var ErrNotCovered = errors.New("holidays not on file")

// ErrNoList is wrapped when a rule needs a holiday list and none is given.
var ErrNoList = errors.New("no holiday list is named")

// Is tells whether d is a holiday. A year not covered is ErrNotCovered.
func (h *Holidays) Is(d Date) (bool, error) { return false, errNotBuilt }

// ReadHolidays reads a published list (division names the nation) or our own.
func ReadHolidays(r io.Reader, division string) (*Holidays, error) { return nil, errNotBuilt }

// Open returns the open stretches inside span, merged, in order. A nil
// schedule is always open.
func (s *Schedule) Open(span Span, loc *time.Location, h *Holidays) ([]Span, error) {
	return nil, errNotBuilt
}

// Covers tells whether the window is wholly open, and whether part of it is.
func (s *Schedule) Covers(window Span, loc *time.Location, h *Holidays) (whole, part bool, err error) {
	return false, false, errNotBuilt
}

// Counting says which days a term counts.
type Counting string

// The countings there are.
const (
	After         Counting = "after"          // the day itself is not counted
	BeginningWith Counting = "beginning with" // the day itself is the first
	ClearDays     Counting = "clear"          // neither end is counted
)

// Roll says what becomes of a last day that is no working day.
type Roll string

// The rolls there are.
const (
	NoRoll      Roll = "none"
	NextWorking Roll = "next working day"
	PrevWorking Roll = "previous working day"
)

// Term is a length of legal time.
type Term struct {
	N        int
	Unit     string // minute, hour, day, working day, week, month, year; plural allowed
	Counting Counting
	Before   bool // counted back
	Roll     Roll
}

// Limit is when a term ends: the last day, and the instant it is over.
type Limit struct {
	Last Date
	Ends time.Time
}

// Due returns when the term counted from an instant ends.
func Due(from time.Time, term Term, loc *time.Location, h *Holidays) (Limit, error) {
	return Limit{}, errNotBuilt
}

// SunTimes are the almanac times of a date, in UTC.
type SunTimes struct {
	Rise, Set  time.Time
	Dawn, Dusk time.Time // civil twilight
	Sun        bool      // the sun both rises and sets
	Twilight   bool      // dawn and dusk both exist
}

// Sun returns the almanac times of a date at a place, degrees north and east.
func Sun(d Date, latDeg, lonDeg float64) SunTimes { return SunTimes{} }
