package calendar

import (
	"os"
	"testing"
	"time"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := LoadZone(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func date(t testing.TB, s string) Date {
	t.Helper()
	d, err := ParseDate(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func instant(t testing.TB, s string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

func days(t testing.TB, s string) Days {
	t.Helper()
	d, err := ParseDays(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func clock(t testing.TB, s string) Clock {
	t.Helper()
	c, err := ParseClock(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// published reads the published bank holidays of the United Kingdom, see
// testdata/open/SOURCES.md.
func published(t testing.TB, division string) *Holidays {
	t.Helper()
	f, err := os.Open("../../testdata/open/calendar/uk_bank_holidays.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h, err := ReadHolidays(f, division)
	if err != nil {
		t.Fatal(err)
	}
	return h
}
