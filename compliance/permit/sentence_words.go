package permit

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// listed writes a, b and c.
func listed(parts []string, last string) string {
	switch len(parts) {
	case 0:
		return ""
	case 1:
		return parts[0]
	}
	comma := ", "
	for _, p := range parts {
		if strings.Contains(p, ", ") {
			comma = "; "
		}
	}
	if len(parts) == 2 && comma == "; " {
		return parts[0] + "; " + last + " " + parts[1]
	}
	return strings.Join(parts[:len(parts)-1], comma) + " " + last + " " + parts[len(parts)-1]
}

func placeWords(p Place) string {
	var words string
	switch {
	case p.Mode == WholeSite:
		words = "the whole site"
	case len(p.Codes) == 1:
		words = p.Codes[0]
	case p.Mode == Any:
		words = "any of " + listed(p.Codes, "and")
	case p.Mode == MeanOf:
		words = "the mean of " + listed(p.Codes, "and")
	default:
		words = "each of " + listed(p.Codes, "and")
	}
	if p.BufferM != "" {
		words += " and within " + p.BufferM + " m of it"
	}
	return words
}

// plainWindows are windows that need no number in words.
var plainWindows = map[calendar.PeriodKind][2]string{
	calendar.Instant:     {"in each result", "results"},
	calendar.Event:       {"at each event", "events"},
	calendar.Exposure:    {"in each exposure period", "exposure periods"},
	calendar.ClockHour:   {"in each clock hour", "clock hours"},
	calendar.LocalDay:    {"on each local day", "days"},
	calendar.Month:       {"in each calendar month", "calendar months"},
	calendar.Quarter:     {"in each quarter of the calendar year", "quarters"},
	calendar.Year:        {"in each calendar year", "calendar years"},
	calendar.RollingHour: {"in any 60 minutes", "spans of 60 minutes"},
	calendar.WholeLife:   {"over the whole time the condition stands", "windows"},
}

// periodWords says a window as "in each clock hour".
func periodWords(p calendar.Period) string {
	if w, ok := plainWindows[p.Kind]; ok {
		return w[0]
	}
	switch p.Kind {
	case calendar.Minutes:
		return fmt.Sprintf("in each %d minutes by the clock", p.N)
	case calendar.Shift:
		return fmt.Sprintf("in each shift from %s to %s", p.Starts, p.Ends)
	case calendar.PermitDay:
		if p.UTC {
			return fmt.Sprintf("in each 24 hours from %s UTC", p.Starts)
		}
		return fmt.Sprintf("in each day from %s to %s by the local clock", p.Starts, p.Starts)
	case calendar.Week:
		return "in each week beginning on " + p.Weekday.String()
	case calendar.FourWeeks:
		return "in each 28 days counted from " + dateWords(p.Anchor)
	case calendar.PermitYear:
		return fmt.Sprintf("in each year beginning on %d %s", p.Anchor.Day, p.Anchor.Month)
	case calendar.RollingDays:
		return consecutive(p.N, "day")
	case calendar.RollingMon:
		return consecutive(p.N, "month")
	case calendar.RollingYear:
		return consecutive(p.N, "year")
	}
	return "at any time"
}

func consecutive(n int, word string) string {
	if n == 1 {
		return "in any one " + word + ", whenever it begins"
	}
	return fmt.Sprintf("in any %d consecutive %ss", n, word)
}

// windowNouns names several windows.
func windowNouns(p calendar.Period) string {
	if w, ok := plainWindows[p.Kind]; ok {
		return w[1]
	}
	switch p.Kind {
	case calendar.Minutes:
		return fmt.Sprintf("%d-minute windows", p.N)
	case calendar.Shift:
		return "shifts"
	case calendar.PermitDay:
		return "days"
	case calendar.Week:
		return "weeks"
	case calendar.FourWeeks:
		return "spans of 28 days"
	case calendar.PermitYear:
		return "years"
	}
	return "windows"
}

// scheduleWords says in which hours.
func scheduleWords(s *calendar.Schedule) string {
	var parts []string
	one := true // every slot uses holidays alike
	for _, slot := range s.Slots {
		one = one && slot.Holidays == s.Slots[0].Holidays
	}
	for _, slot := range s.Slots {
		words := slotWords(slot)
		if !one {
			words += holidayWords(slot.Holidays)
		}
		parts = append(parts, words)
	}
	words := listed(parts, "and")
	if one && len(s.Slots) > 0 {
		words += holidayWords(s.Slots[0].Holidays)
	}
	if s.Complement {
		return "at all times other than " + words
	}
	return words
}

func slotWords(s calendar.Slot) string {
	days := "on holidays"
	if s.Holidays != calendar.Only {
		days = daysWords(s.Days)
	}
	hours := fmt.Sprintf("%s to %s", s.From, s.To)
	switch {
	case s.From == 0 && (s.To == 24*60 || s.To == 0):
		hours = "all day"
	case s.To <= s.From:
		hours += " the next day"
	}
	words := days + " " + hours
	switch {
	case !s.First.IsZero() && !s.Last.IsZero():
		words += fmt.Sprintf(" from %s to %s", dateWords(s.First), dateWords(s.Last))
	case !s.First.IsZero():
		words += " from " + dateWords(s.First)
	case !s.Last.IsZero():
		words += " to " + dateWords(s.Last)
	}
	return words
}

func holidayWords(h calendar.HolidayUse) string {
	switch h {
	case calendar.Closed:
		return " but not on holidays"
	case calendar.Ignored:
		return ", holidays included"
	}
	return ""
}

// daysWords says a set of weekdays, from Monday, runs of three or more short.
func daysWords(d calendar.Days) string {
	if d == calendar.EveryDay {
		return "every day"
	}
	var parts []string
	for i := 0; i < 7; i++ {
		j := i
		for j < 7 && d.Has(weekday(j)) {
			j++
		}
		switch n := j - i; {
		case n == 0:
			continue
		case n >= 3:
			parts = append(parts, weekday(i).String()+" to "+weekday(j-1).String())
		default:
			for k := i; k < j; k++ {
				parts = append(parts, weekday(k).String())
			}
		}
		i = j
	}
	if len(parts) == 0 {
		return "no day"
	}
	return listed(parts, "and")
}

// weekday counts from Monday.
func weekday(i int) time.Weekday { return time.Weekday((i + 1) % 7) }
