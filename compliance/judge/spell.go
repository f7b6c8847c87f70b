package judge

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

// spell writes an elapsed time: "45 min", "11.5 h", "3 d".
func spell(d time.Duration) string {
	switch {
	case d < time.Minute:
		return decimals(d.Seconds(), 3) + " s"
	case d < 2*time.Hour:
		return decimals(d.Minutes(), 1) + " min"
	case d < 72*time.Hour:
		return decimals(d.Hours(), 2) + " h"
	}
	return decimals(d.Hours()/24, 2) + " d"
}

// spelt reads a span of time such as "11 h" or "90 min".
func spelt(s string) (time.Duration, bool) {
	number, word, _ := strings.Cut(strings.TrimSpace(s), " ")
	d, err := unit.ParseDecimal(number)
	if err != nil {
		return 0, false
	}
	hours, err := unit.Convert(d.Float(), word, "h")
	if err != nil {
		return 0, false
	}
	return time.Duration(hours * float64(time.Hour)), true
}

// when writes an instant in the site's zone, with the zone.
func when(t time.Time, loc *time.Location) string {
	return t.In(loc).Format("Mon 2 Jan 2006 15:04 MST")
}

// day writes the date of an instant in the zone.
func day(t time.Time, loc *time.Location) string { return t.In(loc).Format("Mon 2 Jan 2006") }

// spanText writes a window as short as it can be said without doubt.
func spanText(s calendar.Span, loc *time.Location) string {
	from, to := s.From.In(loc), s.To.In(loc)
	midnight := from.Equal(calendar.DateOf(from, loc).Start(loc))
	switch {
	case s.From.Equal(s.To):
		return when(s.From, loc)
	case midnight && to.Equal(calendar.DateOf(from, loc).AddDays(1).Start(loc)):
		return day(s.From, loc)
	case midnight && to.Equal(calendar.DateOf(to, loc).Start(loc)):
		return day(s.From, loc) + " to " + day(s.To.Add(-time.Millisecond), loc)
	case calendar.DateOf(from, loc) == calendar.DateOf(to, loc):
		return from.Format("Mon 2 Jan 2006 15:04") + "–" + to.Format("15:04 MST")
	}
	return when(s.From, loc) + " to " + when(s.To, loc)
}

// windowNoun names the windows of a period: one and several.
func windowNoun(p calendar.Period) (string, string) {
	switch p.Kind {
	case calendar.ClockHour, calendar.RollingHour:
		return "hour", "hours"
	case calendar.Minutes:
		return fmt.Sprintf("%d-minute window", p.N), fmt.Sprintf("%d-minute windows", p.N)
	case calendar.LocalDay, calendar.PermitDay:
		return "day", "days"
	case calendar.Shift:
		return "shift", "shifts"
	case calendar.Week:
		return "week", "weeks"
	case calendar.Month:
		return "month", "months"
	case calendar.Quarter:
		return "quarter", "quarters"
	case calendar.Year, calendar.PermitYear:
		return "year", "years"
	case calendar.Event:
		return "event", "events"
	case calendar.Instant, calendar.Exposure:
		return "sample", "samples"
	}
	return "window", "windows"
}

// msTime is an instant of UTC milliseconds.
func msTime(ms int64) time.Time { return time.UnixMilli(ms).UTC() }
