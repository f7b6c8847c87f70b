package calendar

import (
	"fmt"
	"strings"
	"time"
)

// ParseClock reads a time of day as 07:00, from 00:00 to 24:00.
func ParseClock(s string) (Clock, error) {
	bad := fmt.Errorf("%q is not a time of day such as 07:00 (00:00 to 24:00)", s)
	if len(s) != 5 || s[2] != ':' {
		return 0, bad
	}
	for _, i := range [...]int{0, 1, 3, 4} {
		if s[i] < '0' || s[i] > '9' {
			return 0, bad
		}
	}
	h, m := int(s[0]-'0')*10+int(s[1]-'0'), int(s[3]-'0')*10+int(s[4]-'0')
	if m > 59 || h > 24 || h == 24 && m > 0 {
		return 0, bad
	}
	return Clock(h*60 + m), nil
}

// EveryDay is the set of all weekdays.
const EveryDay Days = 1<<7 - 1

// week lists the weekdays from Monday, as conditions name them.
var week = [7]struct {
	day   time.Weekday
	short string
	long  string
}{
	{time.Monday, "mon", "monday"},
	{time.Tuesday, "tue", "tuesday"},
	{time.Wednesday, "wed", "wednesday"},
	{time.Thursday, "thu", "thursday"},
	{time.Friday, "fri", "friday"},
	{time.Saturday, "sat", "saturday"},
	{time.Sunday, "sun", "sunday"},
}

func weekIndex(name string) (int, bool) {
	for i, w := range week {
		if name == w.short || name == w.long {
			return i, true
		}
	}
	return 0, false
}

// ParseDays reads a set of weekdays: "mon-fri", "sat", "mon,wed-fri",
// "every day". A range may run over the end of the week: "fri-mon". Short and
// full names are read, in any case.
func ParseDays(s string) (Days, error) {
	text := strings.ToLower(strings.TrimSpace(s))
	if text == "every day" {
		return EveryDay, nil
	}
	var set Days
	for _, part := range strings.Split(text, ",") {
		from, to, isRange := strings.Cut(strings.TrimSpace(part), "-")
		if !isRange {
			to = from
		}
		i, okFrom := weekIndex(strings.TrimSpace(from))
		j, okTo := weekIndex(strings.TrimSpace(to))
		if !okFrom || !okTo {
			return 0, fmt.Errorf("%q in %q is no weekday: write mon, tue, wed, thu, fri, sat, sun, ranges such as mon-fri, or every day", part, s)
		}
		for k := i; ; k = (k + 1) % 7 {
			set |= 1 << uint(week[k].day)
			if k == j {
				break
			}
		}
	}
	return set, nil
}

// FormatDays writes a set of weekdays as ParseDays reads it, from Monday,
// with runs of three or more as ranges. An empty set is "".
func FormatDays(d Days) string {
	if d == EveryDay {
		return "every day"
	}
	var parts []string
	for i := 0; i < 7; i++ {
		if !d.Has(week[i].day) {
			continue
		}
		j := i
		for j+1 < 7 && d.Has(week[j+1].day) {
			j++
		}
		switch {
		case j-i >= 2:
			parts = append(parts, week[i].short+"-"+week[j].short)
		case j-i == 1:
			parts = append(parts, week[i].short, week[j].short)
		default:
			parts = append(parts, week[i].short)
		}
		i = j
	}
	return strings.Join(parts, ",")
}
