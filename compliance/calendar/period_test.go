package calendar

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"
)

var periodTexts = []string{
	"instant", "event", "exposure period", "1 minutes", "15 minutes", "30 minutes", "clock hour", "local day",
	"day from 09:00", "UTC day", "UTC day from 09:00", "shift 19:00-07:00", "week from monday", "week from sunday",
	"calendar month", "28 days from 2026-01-05", "quarter", "calendar year", "year from 04-01", "year from 02-29",
	"rolling hour", "rolling 7 days", "rolling 1 day", "rolling 12 months", "rolling 3 years", "whole life",
}

func TestPeriodText(t *testing.T) {
	for _, text := range periodTexts {
		t.Run(text, func(t *testing.T) {
			p, err := ParsePeriod(text)
			if err != nil {
				t.Fatal(err)
			}
			if p.String() != text {
				t.Errorf("came back as %q", p.String())
			}
		})
	}
	for _, text := range []string{"", "fortnight", "7 minutes", "60 minutes", "day", "day from 9", "week from mo", "rolling 0 days",
		"rolling 7 weeks", "shift 07:00-07:00", "shift 07:00", "28 days from 2026-02-30", "year from 13-01", "Clock hour", "015 minutes"} {
		if p, err := ParsePeriod(text); err == nil {
			t.Errorf("%q was read as %s", text, p)
		}
	}
	if _, err := ParsePeriod("fortnight"); !strings.Contains(err.Error(), "calendar month") {
		t.Errorf("the message does not list what is known: %v", err)
	}
}

func FuzzParsePeriod(f *testing.F) {
	for _, s := range append(periodTexts, "7 minutes", "shift -", "rolling") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ParsePeriod(text)
		if err != nil {
			return
		}
		again, err := ParsePeriod(p.String())
		if err != nil || again != p {
			t.Fatalf("%q: %+v written %q, read %+v, %v", text, p, p.String(), again, err)
		}
	})
}

func TestWindows(t *testing.T) {
	cases := []struct {
		name, period, zone, from, to string
		n                            int      // windows
		first, last                  string   // From of the first, To of the last
		odd                          []string // "From length" of those of unusual length
		usual                        time.Duration
	}{
		{"hours of a spring day", "clock hour", "Europe/London", "2026-03-29T00:00:00Z", "2026-03-29T23:00:00Z", 23,
			"2026-03-29T00:00:00Z", "2026-03-29T23:00:00Z", nil, time.Hour},
		{"hours of an autumn day", "clock hour", "Europe/London", "2026-10-24T23:00:00Z", "2026-10-26T00:00:00Z", 25,
			"2026-10-24T23:00:00Z", "2026-10-26T00:00:00Z", nil, time.Hour},
		{"quarters expected on 29 March (X9)", "15 minutes", "Europe/London", "2026-03-29T00:00:00Z", "2026-03-29T23:00:00Z", 92,
			"2026-03-29T00:00:00Z", "2026-03-29T23:00:00Z", nil, 15 * time.Minute},
		{"quarters expected on 25 October (X9)", "15 minutes", "Europe/London", "2026-10-24T23:00:00Z", "2026-10-26T00:00:00Z", 100,
			"2026-10-24T23:00:00Z", "2026-10-26T00:00:00Z", nil, 15 * time.Minute},
		{"hours of a zone at half past", "clock hour", "Asia/Kolkata", "2026-01-01T00:00:00Z", "2026-01-01T02:00:00Z", 3,
			"2025-12-31T23:30:00Z", "2026-01-01T02:30:00Z", nil, time.Hour},
		{"half-hour change cuts an hour", "clock hour", "Australia/Lord_Howe", "2026-04-04T14:00:00Z", "2026-04-04T16:30:00Z", 3,
			"2026-04-04T14:00:00Z", "2026-04-04T16:30:00Z", []string{"2026-04-04T15:00:00Z 30m0s"}, time.Hour},
		{"local days over the spring change", "local day", "Europe/London", "2026-03-28T00:00:00Z", "2026-03-31T00:00:00Z", 4,
			"2026-03-28T00:00:00Z", "2026-03-31T23:00:00Z", []string{"2026-03-29T00:00:00Z 23h0m0s"}, 24 * time.Hour},
		{"UTC days do not change", "UTC day", "Europe/London", "2026-03-28T00:00:00Z", "2026-03-31T00:00:00Z", 3,
			"2026-03-28T00:00:00Z", "2026-03-31T00:00:00Z", nil, 24 * time.Hour},
		{"rain day", "UTC day from 09:00", "Europe/London", "2026-03-29T00:00:00Z", "2026-03-29T10:00:00Z", 2,
			"2026-03-28T09:00:00Z", "2026-03-30T09:00:00Z", nil, 24 * time.Hour},
		{"permit day over the change", "day from 09:00", "Europe/London", "2026-03-28T09:00:00Z", "2026-03-30T08:00:00Z", 2,
			"2026-03-28T09:00:00Z", "2026-03-30T08:00:00Z", []string{"2026-03-28T09:00:00Z 23h0m0s"}, 24 * time.Hour},
		{"nights of X9", "shift 23:00-07:00", "Europe/London", "2026-03-27T23:00:00Z", "2026-03-29T12:00:00Z", 2,
			"2026-03-27T23:00:00Z", "2026-03-29T06:00:00Z", []string{"2026-03-28T23:00:00Z 7h0m0s"}, 8 * time.Hour},
		{"autumn night of X9", "shift 23:00-07:00", "Europe/London", "2026-10-24T12:00:00Z", "2026-10-25T12:00:00Z", 1,
			"2026-10-24T22:00:00Z", "2026-10-25T07:00:00Z", []string{"2026-10-24T22:00:00Z 9h0m0s"}, 8 * time.Hour},
		{"a span inside the gap between shifts", "shift 07:00-19:00", "Europe/London", "2026-01-01T20:00:00Z", "2026-01-02T06:00:00Z", 0, "", "", nil, 0},
		{"Monday weeks", "week from monday", "Europe/London", "2026-06-17T12:00:00Z", "2026-06-22T00:00:00Z", 2,
			"2026-06-14T23:00:00Z", "2026-06-28T23:00:00Z", nil, 168 * time.Hour},
		{"Sunday weeks", "week from sunday", "UTC", "2026-06-17T12:00:00Z", "2026-06-21T00:00:00Z", 1,
			"2026-06-14T00:00:00Z", "2026-06-21T00:00:00Z", nil, 168 * time.Hour},
		{"months of a leap winter", "calendar month", "UTC", "2028-02-10T00:00:00Z", "2028-03-01T00:00:00Z", 1,
			"2028-02-01T00:00:00Z", "2028-03-01T00:00:00Z", nil, 29 * 24 * time.Hour},
		{"four weeks from an anchor ahead", "28 days from 2026-01-05", "UTC", "2025-12-20T00:00:00Z", "2026-01-06T00:00:00Z", 2,
			"2025-12-08T00:00:00Z", "2026-02-02T00:00:00Z", nil, 28 * 24 * time.Hour},
		{"quarter", "quarter", "UTC", "2026-05-15T00:00:00Z", "2026-06-30T00:00:00Z", 1,
			"2026-04-01T00:00:00Z", "2026-07-01T00:00:00Z", nil, 91 * 24 * time.Hour},
		{"calendar year", "calendar year", "Europe/London", "2003-02-01T00:00:00Z", "2003-05-01T00:00:00Z", 1,
			"2003-01-01T00:00:00Z", "2004-01-01T00:00:00Z", nil, 365 * 24 * time.Hour},
		{"year from April", "year from 04-01", "UTC", "2026-03-31T00:00:00Z", "2026-04-02T00:00:00Z", 2,
			"2025-04-01T00:00:00Z", "2027-04-01T00:00:00Z", nil, 365 * 24 * time.Hour},
		{"year from a leap day", "year from 02-29", "UTC", "2027-03-01T00:00:00Z", "2027-03-02T00:00:00Z", 1,
			"2027-03-01T00:00:00Z", "2028-02-29T00:00:00Z", nil, 365 * 24 * time.Hour},
		{"rolling seven days", "rolling 7 days", "UTC", "2026-06-10T00:00:00Z", "2026-06-12T00:00:00Z", 8,
			"2026-06-04T00:00:00Z", "2026-06-18T00:00:00Z", nil, 168 * time.Hour},
		{"whole life", "whole life", "UTC", "2026-06-10T01:00:00Z", "2026-06-12T00:00:00Z", 1,
			"2026-06-10T01:00:00Z", "2026-06-12T00:00:00Z", nil, 47 * time.Hour},
		{"an empty span", "local day", "UTC", "2026-06-10T00:00:00Z", "2026-06-10T00:00:00Z", 0, "", "", nil, 0},
		{"days over a date left out", "local day", "Pacific/Apia", "2011-12-29T10:00:00Z", "2012-01-01T10:00:00Z", 3,
			"2011-12-29T10:00:00Z", "2012-01-01T10:00:00Z", nil, 24 * time.Hour},
		{"shifts over a date left out", "shift 19:00-07:00", "Pacific/Apia", "2011-12-30T12:00:00Z", "2012-01-01T00:00:00Z", 2,
			"2011-12-30T10:00:00Z", "2011-12-31T17:00:00Z", []string{"2011-12-30T10:00:00Z 7h0m0s"}, 12 * time.Hour},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, err := ParsePeriod(c.period)
			if err != nil {
				t.Fatal(err)
			}
			loc := zone(t, c.zone)
			ws, err := p.Windows(Span{instant(t, c.from), instant(t, c.to)}, loc)
			if err != nil {
				t.Fatal(err)
			}
			if len(ws) != c.n {
				t.Fatalf("%d windows, want %d: %v", len(ws), c.n, ws)
			}
			if c.n == 0 {
				return
			}
			if !ws[0].From.Equal(instant(t, c.first)) || !ws[len(ws)-1].To.Equal(instant(t, c.last)) {
				t.Errorf("from %v to %v", ws[0].From.UTC(), ws[len(ws)-1].To.UTC())
			}
			var odd []string
			for _, w := range ws {
				if w.Length() != c.usual {
					odd = append(odd, w.From.UTC().Format(time.RFC3339)+" "+w.Length().String())
				}
			}
			if !slices.Equal(odd, c.odd) {
				t.Errorf("unusual lengths %v, want %v", odd, c.odd)
			}
		})
	}
}

// TestWindowsTile holds that fixed windows follow one another without gap or
// overlap and that At finds each, in zones with every oddity.
func TestWindowsTile(t *testing.T) {
	span := Span{instant(t, "2011-12-01T00:00:00Z"), instant(t, "2012-12-31T00:00:00Z")}
	for _, name := range []string{"Europe/London", "Pacific/Apia", "Australia/Lord_Howe", "America/Havana", "Asia/Kathmandu", "America/St_Johns"} {
		loc := zone(t, name)
		for _, text := range []string{"15 minutes", "clock hour", "local day", "day from 02:30", "UTC day from 09:00", "week from sunday",
			"calendar month", "28 days from 2026-01-05", "quarter", "calendar year", "year from 04-01"} {
			p, err := ParsePeriod(text)
			if err != nil {
				t.Fatal(err)
			}
			ws, err := p.Windows(span, loc)
			if err != nil {
				t.Fatal(err)
			}
			if ws[0].From.After(span.From) || ws[len(ws)-1].To.Before(span.To) {
				t.Errorf("%s in %s does not fill the span", text, name)
			}
			for i, w := range ws {
				if w.Empty() || i > 0 && !w.From.Equal(ws[i-1].To) {
					t.Errorf("%s in %s: window %d is %v to %v after %v", text, name, i, w.From, w.To, ws[i-1].To)
				}
				got, err := p.At(w.To.Add(-time.Millisecond), loc)
				if err != nil || !got.From.Equal(w.From) || !got.To.Equal(w.To) {
					t.Errorf("%s in %s: At the end of %v gives %v to %v, %v", text, name, w.From, got.From, got.To, err)
				}
			}
		}
	}
}

func TestWindowsRefuse(t *testing.T) {
	span := Span{instant(t, "2026-01-01T00:00:00Z"), instant(t, "2026-02-01T00:00:00Z")}
	for _, text := range []string{"instant", "event", "exposure period", "rolling hour"} {
		p, err := ParsePeriod(text)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.Windows(span, time.UTC); !errors.Is(err, ErrNoGrid) {
			t.Errorf("%s: %v", text, err)
		}
	}
	long := Span{instant(t, "1900-01-01T00:00:00Z"), instant(t, "2300-01-01T00:00:00Z")}
	p, _ := ParsePeriod("1 minutes")
	if _, err := p.Windows(long, time.UTC); !errors.Is(err, ErrTooMany) {
		t.Errorf("400 years of minutes: %v", err)
	}
	roll, _ := ParsePeriod("rolling 12 months")
	w, err := roll.At(instant(t, "2028-02-28T12:00:00Z"), time.UTC)
	if err != nil || w.From.Format("2006-01-02") != "2027-02-28" || w.To.Format("2006-01-02") != "2028-02-29" {
		t.Errorf("rolling year: %v %v", w, err)
	}
}
