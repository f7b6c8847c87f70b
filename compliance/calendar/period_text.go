package calendar

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// periodForms lists what ParsePeriod reads, for messages.
const periodForms = "instant, event, exposure period, 15 minutes, clock hour, local day, day from 09:00, UTC day, " +
	"UTC day from 09:00, shift 19:00-07:00, week from monday, calendar month, 28 days from 2026-01-05, quarter, " +
	"calendar year, year from 04-01, rolling hour, rolling 7 days, rolling 12 months, rolling 3 years, whole life"

// plainPeriods are the windows that are named without a number.
var plainPeriods = []struct {
	text string
	p    Period
}{
	{"instant", Period{Kind: Instant}},
	{"event", Period{Kind: Event}},
	{"exposure period", Period{Kind: Exposure}},
	{"clock hour", Period{Kind: ClockHour}},
	{"local day", Period{Kind: LocalDay}},
	{"UTC day", Period{Kind: PermitDay, UTC: true}},
	{"calendar month", Period{Kind: Month}},
	{"quarter", Period{Kind: Quarter}},
	{"calendar year", Period{Kind: Year}},
	{"rolling hour", Period{Kind: RollingHour}},
	{"whole life", Period{Kind: WholeLife}},
}

// ParsePeriod reads a window as a condition names it, such as "clock hour",
// "day from 09:00" or "rolling 12 months". Anything else is an error that
// lists what is known.
func ParsePeriod(text string) (Period, error) {
	text = strings.TrimSpace(text)
	for _, plain := range plainPeriods {
		if text == plain.text {
			return plain.p, nil
		}
	}
	p, known, err := parseNumbered(text)
	if err != nil {
		return Period{}, fmt.Errorf("window %q: %w", text, err)
	}
	if !known {
		return Period{}, fmt.Errorf("window %q is not known; known are: %s", text, periodForms)
	}
	return p, nil
}

func parseNumbered(text string) (p Period, known bool, err error) {
	for _, form := range []struct {
		prefix string
		read   func(string) (Period, error)
	}{
		{"UTC day from ", func(s string) (Period, error) { return readPermitDay(s, true) }},
		{"day from ", func(s string) (Period, error) { return readPermitDay(s, false) }},
		{"shift ", readShift},
		{"week from ", readWeek},
		{"28 days from ", readFourWeeks},
		{"year from ", readPermitYear},
		{"rolling ", readRolling},
	} {
		if rest, ok := strings.CutPrefix(text, form.prefix); ok {
			p, err = form.read(rest)
			return p, true, err
		}
	}
	if n, ok := strings.CutSuffix(text, " minutes"); ok {
		p, err = readMinutes(n)
		return p, true, err
	}
	return Period{}, false, nil
}

func readPermitDay(s string, utc bool) (Period, error) {
	c, err := ParseClock(s)
	if err == nil && c == 24*60 {
		err = fmt.Errorf("a day from 24:00 is a day from 00:00")
	}
	return Period{Kind: PermitDay, Starts: c, UTC: utc}, err
}

func readShift(s string) (Period, error) {
	from, to, ok := strings.Cut(s, "-")
	if !ok {
		return Period{}, fmt.Errorf("write it as shift 19:00-07:00")
	}
	a, err := ParseClock(from)
	if err != nil {
		return Period{}, err
	}
	b, err := ParseClock(to)
	if err == nil && (a == b || a == 24*60) {
		err = fmt.Errorf("a shift needs a length and a start before 24:00")
	}
	return Period{Kind: Shift, Starts: a, Ends: b}, err
}

func readWeek(s string) (Period, error) {
	i, ok := weekIndex(s)
	if !ok {
		return Period{}, fmt.Errorf("%q is no weekday; write it as week from monday", s)
	}
	return Period{Kind: Week, Weekday: week[i].day}, nil
}

func readFourWeeks(s string) (Period, error) {
	d, err := ParseDate(s)
	return Period{Kind: FourWeeks, Anchor: d}, err
}

func readPermitYear(s string) (Period, error) {
	// A leap year, so that 02-29 can be named; in other years such a year
	// begins on 1 March.
	t, err := time.Parse("2006-01-02", "2000-"+s)
	if err != nil {
		return Period{}, fmt.Errorf("%q is no month and day; write it as year from 04-01", s)
	}
	return Period{Kind: PermitYear, Anchor: Date{Month: t.Month(), Day: t.Day()}}, nil
}

func readMinutes(s string) (Period, error) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n >= 60 || 60%n != 0 || strconv.Itoa(n) != s {
		return Period{}, fmt.Errorf("clock minutes must divide the hour: 1, 2, 3, 4, 5, 6, 10, 12, 15, 20 or 30 minutes; for 60 write clock hour")
	}
	return Period{Kind: Minutes, N: n}, nil
}

func readRolling(s string) (Period, error) {
	count, word, _ := strings.Cut(s, " ")
	n, err := strconv.Atoi(count)
	if err != nil || n < 1 || n > 10_000 || strconv.Itoa(n) != count {
		return Period{}, fmt.Errorf("write it as rolling 7 days, rolling 12 months, rolling 3 years or rolling hour")
	}
	switch word {
	case "day", "days":
		return Period{Kind: RollingDays, N: n}, nil
	case "month", "months":
		return Period{Kind: RollingMon, N: n}, nil
	case "year", "years":
		return Period{Kind: RollingYear, N: n}, nil
	}
	return Period{}, fmt.Errorf("%q is no length of a rolling window; days, months and years are", word)
}

// String writes the period as ParsePeriod reads it; "" for the zero Period.
func (p Period) String() string {
	for _, plain := range plainPeriods {
		if p == plain.p {
			return plain.text
		}
	}
	switch p.Kind {
	case Minutes:
		return fmt.Sprintf("%d minutes", p.N)
	case Shift:
		return fmt.Sprintf("shift %s-%s", p.Starts, p.Ends)
	case PermitDay:
		if p.UTC {
			return "UTC day from " + p.Starts.String()
		}
		return "day from " + p.Starts.String()
	case Week:
		return "week from " + strings.ToLower(p.Weekday.String())
	case FourWeeks:
		return "28 days from " + p.Anchor.String()
	case PermitYear:
		return fmt.Sprintf("year from %02d-%02d", int(p.Anchor.Month), p.Anchor.Day)
	case RollingDays:
		return rolling(p.N, "day")
	case RollingMon:
		return rolling(p.N, "month")
	case RollingYear:
		return rolling(p.N, "year")
	}
	return string(p.Kind)
}

func rolling(n int, word string) string {
	if n != 1 {
		word += "s"
	}
	return fmt.Sprintf("rolling %d %s", n, word)
}
