package folder

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

// moment is an instant as a person wrote it.
type moment struct {
	at        time.Time // UTC
	precision book.Precision
	offset    string // as told, or as the site's clock showed; "" when told in UTC with Z
}

const momentForms = "write 2026-04-06, 2026-04-06 09:12 in the site's time, or 2026-04-06T09:12+01:00"

var momentForm = regexp.MustCompile(`^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2})(?::(\d{2})(\.\d{1,3})?)?(Z|[+-]\d{2}:\d{2})?)?$`)

// parseMoment reads a date, a local time in the site's zone, or a time with
// offset. A local time that the clock shows twice or never is refused.
func parseMoment(s string, loc *time.Location) (moment, error) {
	m := momentForm.FindStringSubmatch(s)
	if m == nil {
		return moment{}, fmt.Errorf("%q is no time; %s", s, momentForms)
	}
	date, err := calendar.ParseDate(m[1])
	if err != nil {
		return moment{}, err
	}
	if m[2] == "" {
		at := date.Start(loc)
		return moment{at.UTC(), book.ToDay, offsetOf(at.In(loc))}, nil
	}
	clock, precision, err := clockOf(m)
	if err != nil {
		return moment{}, fmt.Errorf("%q: %w", s, err)
	}
	wall := time.Date(date.Year, date.Month, date.Day, 0, 0, 0, 0, time.UTC).Add(clock)
	switch m[5] {
	case "Z":
		return moment{wall, precision, ""}, nil
	case "":
		return localMoment(wall, precision, loc, s)
	}
	off, err := parseOffset(m[5])
	if err != nil {
		return moment{}, fmt.Errorf("%q: %w", s, err)
	}
	return moment{wall.Add(-off), precision, m[5]}, nil
}

// clockOf reads hours, minutes, seconds and their fraction.
func clockOf(m []string) (time.Duration, book.Precision, error) {
	text, precision := m[2]+":00", book.ToMinute
	if m[3] != "" {
		text, precision = m[2]+":"+m[3]+m[4], book.ToMillisecond
	}
	t, err := time.Parse("15:04:05", text)
	if err != nil {
		return 0, "", fmt.Errorf("%s is no time of day", text)
	}
	return t.Sub(time.Date(0, 1, 1, 0, 0, 0, 0, time.UTC)), precision, nil
}

func localMoment(wall time.Time, precision book.Precision, loc *time.Location, s string) (moment, error) {
	first, last, n := calendar.Local(wall, loc)
	switch n {
	case 0:
		return moment{}, fmt.Errorf("the clocks in %s went forward over %s, so there was no such time; give the offset, such as %s%s", loc, s,
			strings.Replace(s, " ", "T", 1), offsetOf(first.In(loc)))
	case 2:
		return moment{}, fmt.Errorf("the clocks in %s showed %s twice; give the offset, %s for the first or %s for the second", loc, s,
			offsetOf(first.In(loc)), offsetOf(last.In(loc)))
	}
	return moment{first.UTC(), precision, offsetOf(first.In(loc))}, nil
}

func parseOffset(s string) (time.Duration, error) {
	t, err := time.Parse("-07:00", s)
	if err != nil {
		return 0, fmt.Errorf("%s is no offset such as +01:00", s)
	}
	_, seconds := t.Zone()
	return time.Duration(seconds) * time.Second, nil
}

func offsetOf(t time.Time) string { return t.Format("-07:00") }

// formatMoment writes an instant as parseMoment reads it back: with the offset
// it was told in, or in UTC with Z where none was.
func formatMoment(m moment, loc *time.Location) string {
	if m.precision == book.ToDay {
		return calendar.DateOf(m.at, loc).String()
	}
	at, suffix := m.at.UTC(), "Z"
	if m.offset != "" {
		off, err := parseOffset(m.offset)
		if err == nil {
			at, suffix = m.at.UTC().Add(off), m.offset
		}
	}
	layout := "2006-01-02T15:04"
	switch {
	case at.Nanosecond() != 0:
		layout += ":05.000"
	case m.precision == book.ToMillisecond || at.Second() != 0:
		layout += ":05"
	}
	return at.Format(layout) + suffix
}

// parseUntil reads the end that goes with a beginning. A date alone is the
// last day included, and goes only with a beginning told as a date.
func parseUntil(s string, at moment, loc *time.Location) (time.Time, error) {
	m, err := parseMoment(s, loc)
	if err != nil {
		return time.Time{}, err
	}
	if (m.precision == book.ToDay) != (at.precision == book.ToDay) {
		return time.Time{}, fmt.Errorf("%q and its beginning are not told alike; give both as dates or both with their times", s)
	}
	if m.precision == book.ToDay {
		return calendar.DateOf(m.at, loc).AddDays(1).Start(loc).UTC(), nil
	}
	return m.at, nil
}

// formatUntil writes an end as parseUntil reads it back.
func formatUntil(until time.Time, at moment, loc *time.Location) string {
	if at.precision == book.ToDay {
		return calendar.DateOf(until, loc).AddDays(-1).String()
	}
	return formatMoment(moment{until, book.ToMinute, at.offset}, loc)
}

// parseInstantCell reads an instant in a field of a body: with offset or in
// the site's time, never a date alone.
func parseInstantCell(s string, loc *time.Location) (string, error) {
	m, err := parseMoment(s, loc)
	if err != nil {
		return "", err
	}
	if m.precision == book.ToDay {
		return "", fmt.Errorf("%q has no time of day; %s", s, momentForms)
	}
	return book.FormatInstant(m.at), nil
}

// formatInstantCell writes an instant of a body in the site's time with offset.
func formatInstantCell(s string, loc *time.Location) string {
	t, err := book.ParseInstant(s)
	if err != nil {
		return s
	}
	return formatMoment(moment{t, book.ToMinute, offsetOf(t.In(loc))}, loc)
}
