package calendar

import (
	"testing"
	"time"
)

func TestParseDate(t *testing.T) {
	for _, s := range []string{"2026-2-1", "2026-02-30", "01/02/2026", "", "2026-02-01T00:00", "0000-01-01"} {
		if d, err := ParseDate(s); err == nil {
			t.Errorf("%q was read as %s", s, d)
		}
	}
	if d := date(t, "2028-02-29"); d.String() != "2028-02-29" || d.Weekday() != time.Tuesday || !d.Valid() {
		t.Errorf("got %s, %s", d, d.Weekday())
	}
	if (Date{2027, 2, 29}).Valid() || !(Date{}).IsZero() {
		t.Error("a date that is none passes")
	}
}

func TestAddMonths(t *testing.T) {
	// First two and the aftercare case: examples X13 of the project's reference
	// page on legal time; the others worked by hand.
	cases := []struct {
		name, from string
		n          int
		want       string
	}{
		{"three from 30 November", "2026-11-30", 3, "2027-02-28"},
		{"five years from a leap day", "2028-02-29", 60, "2033-02-28"},
		{"back over the new year", "2026-01-31", -2, "2025-11-30"},
		{"to a leap February", "2027-11-30", 3, "2028-02-29"},
		{"none", "2026-05-31", 0, "2026-05-31"},
		{"twelve", "2026-04-06", 12, "2027-04-06"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got := date(t, c.from).AddMonths(c.n).String(); got != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
	if got := date(t, "2026-11-30").AddDays(84).String(); got != "2027-02-22" {
		t.Errorf("84 days from 30 November: %s", got) // X13
	}
	if date(t, "2027-02-22").Sub(date(t, "2026-11-30")) != 84 || date(t, "2026-01-01").Compare(date(t, "2025-12-31")) != 1 {
		t.Error("comparing dates is wrong")
	}
}

func TestClockText(t *testing.T) {
	for _, s := range []string{"7:00", "07:60", "24:01", "25:00", "0700", "07:00:00", "-1:00", ""} {
		if c, err := ParseClock(s); err == nil {
			t.Errorf("%q was read as %s", s, c)
		}
	}
	for _, s := range []string{"00:00", "07:05", "23:59", "24:00"} {
		if got := clock(t, s).String(); got != s {
			t.Errorf("%q came back as %q", s, got)
		}
	}
}

func TestDaysText(t *testing.T) {
	cases := []struct{ name, in, out string }{
		{"range", "mon-fri", "mon-fri"},
		{"one", "sat", "sat"},
		{"list with range", "mon,wed-fri", "mon,wed-fri"},
		{"two days are a list", "sat-sun", "sat,sun"},
		{"over the week's end", "fri-mon", "mon,fri-sun"},
		{"every day", "every day", "every day"},
		{"all seven", "mon-sun", "every day"},
		{"long names, capitals, spaces", " Monday , WED - friday ", "mon,wed-fri"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := FormatDays(days(t, c.in))
			if got != c.out {
				t.Errorf("got %q, want %q", got, c.out)
			}
			if days(t, got) != days(t, c.in) {
				t.Errorf("%q reads back differently", got)
			}
		})
	}
	for _, s := range []string{"", "weekday", "mon-", "-fri", "mon;tue", "mon,,tue"} {
		if d, err := ParseDays(s); err == nil {
			t.Errorf("%q was read as %q", s, FormatDays(d))
		}
	}
}
