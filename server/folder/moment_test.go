package folder

import (
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

func london(t *testing.T) *time.Location {
	t.Helper()
	loc, err := calendar.LoadZone("Europe/London")
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func TestParseMoment(t *testing.T) {
	loc := london(t)
	for _, c := range []struct {
		name, text, utc string
		precision       book.Precision
		offset, back    string
	}{
		{"a day in winter", "2026-01-15", "2026-01-15T00:00:00.000Z", book.ToDay, "+00:00", "2026-01-15"},
		{"a day in summer", "2026-04-06", "2026-04-05T23:00:00.000Z", book.ToDay, "+01:00", "2026-04-06"},
		{"the site's clock", "2026-04-06 09:12", "2026-04-06T08:12:00.000Z", book.ToMinute, "+01:00", "2026-04-06T09:12+01:00"},
		{"with its offset", "2026-04-06T09:12+05:30", "2026-04-06T03:42:00.000Z", book.ToMinute, "+05:30", "2026-04-06T09:12+05:30"},
		{"the first of a repeated hour", "2026-10-25T01:30+01:00", "2026-10-25T00:30:00.000Z", book.ToMinute, "+01:00", "2026-10-25T01:30+01:00"},
		{"the second of a repeated hour", "2026-10-25T01:30+00:00", "2026-10-25T01:30:00.000Z", book.ToMinute, "+00:00", "2026-10-25T01:30+00:00"},
		{"UTC, offset not told", "2026-04-06T08:12Z", "2026-04-06T08:12:00.000Z", book.ToMinute, "", "2026-04-06T08:12Z"},
		{"seconds", "2026-04-06 09:12:30", "2026-04-06T08:12:30.000Z", book.ToMillisecond, "+01:00", "2026-04-06T09:12:30+01:00"},
		{"milliseconds", "2026-04-06T09:12:30.25+01:00", "2026-04-06T08:12:30.250Z", book.ToMillisecond, "+01:00", "2026-04-06T09:12:30.250+01:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := parseMoment(c.text, loc)
			if err != nil {
				t.Fatal(err)
			}
			if got := book.FormatInstant(m.at); got != c.utc || m.precision != c.precision || m.offset != c.offset {
				t.Errorf("%s %s %q, want %s %s %q", got, m.precision, m.offset, c.utc, c.precision, c.offset)
			}
			if got := formatMoment(m, loc); got != c.back {
				t.Errorf("written back %s, want %s", got, c.back)
			}
		})
	}
}

func TestParseMomentRefuses(t *testing.T) {
	loc := london(t)
	for _, c := range []struct{ name, text, says string }{
		{"a clock that shows it twice", "2026-10-25 01:30", "+01:00 for the first or +00:00 for the second"},
		{"a clock that never shows it", "2026-03-29 01:30", "no such time"},
		{"no such day", "2026-02-30", "2026-02-30"},
		{"no such hour", "2026-02-28 25:00", "no time of day"},
		{"day first", "28/02/2026", "is no time"},
		{"month words", "6 April 2026", "is no time"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := parseMoment(c.text, loc); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("error %v, want one with %q", err, c.says)
			}
		})
	}
}

func TestUntil(t *testing.T) {
	loc := london(t)
	day, _ := parseMoment("2026-03-27", loc)
	minute, _ := parseMoment("2026-03-27 08:00", loc)
	last, err := parseUntil("2026-03-29", day, loc) // the day the clocks go forward, included whole
	if err != nil || book.FormatInstant(last) != "2026-03-29T23:00:00.000Z" || formatUntil(last, day, loc) != "2026-03-29" {
		t.Errorf("last day included: %s, %v", last, err)
	}
	end, err := parseUntil("2026-03-27 17:30", minute, loc)
	if err != nil || book.FormatInstant(end) != "2026-03-27T17:30:00.000Z" {
		t.Errorf("end of a spell: %s, %v", end, err)
	}
	if _, err := parseUntil("2026-03-29", minute, loc); err == nil {
		t.Error("a date as the end of a spell with hours was taken")
	}
}

// TestRowIDsDependOnContent: not on how a time is written nor on the order of
// columns; a reference alone decides where there is one.
func TestRowIDsDependOnContent(t *testing.T) {
	loc := london(t)
	a, _ := parseMoment("2026-04-06 09:12", loc)
	b, _ := parseMoment("2026-04-06T09:12+01:00", loc)
	draft := func(m moment, text string) *book.Draft {
		return &book.Draft{Kind: "diary.1", At: m.at, Precision: m.precision, Offset: m.offset, By: "p1", Body: book.Object{"act": "none", "text": text}}
	}
	seen := map[string]int{}
	one := rowKey(draft(a, "x"), "", 0, seen)
	if rowKey(draft(b, "x"), "", 0, map[string]int{}) != one {
		t.Error("two ways to write one time give two keys")
	}
	if rowKey(draft(a, "x"), "", 0, seen) == one || rowKey(draft(a, "y"), "", 0, map[string]int{}) == one {
		t.Error("a second row, or another content, has the key of the first")
	}
	if k := rowKey(draft(a, "x"), "D1", 0, seen); k != "D1" {
		t.Errorf("key %q, want the reference", k)
	}
	if k := rowKey(draft(a, "x"), "D1", 2, seen); k != "D1 correction 2" {
		t.Errorf("key %q of the second correction", k)
	}
}

func TestNearestName(t *testing.T) {
	names := []string{"material", "direction", "number"}
	for word, want := range map[string]string{"matrial": "material", "Direction": "direction", "nmber": "number", "xyz": ""} {
		if got := nearest(word, names); got != want {
			t.Errorf("nearest to %q: %q, want %q", word, got, want)
		}
	}
}
