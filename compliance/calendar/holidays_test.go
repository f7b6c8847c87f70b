package calendar

import (
	"errors"
	"strings"
	"testing"
	"time"
)

// Counts: the published list itself; substitutes and one-off days as stated
// in it.
func TestPublishedHolidays(t *testing.T) {
	cases := []struct {
		name, division, date string
		is                   bool
	}{
		{"Easter Monday in England", "england-and-wales", "2026-04-06", true},
		{"Easter Monday in Scotland", "scotland", "2026-04-06", false},
		{"Boxing Day on a Saturday", "england-and-wales", "2026-12-26", false},
		{"its substitute", "england-and-wales", "2026-12-28", true},
		{"one-off day in Scotland", "scotland", "2026-06-15", true},
		{"not in England", "england-and-wales", "2026-06-15", false},
		{"12 July substitute in Northern Ireland", "northern-ireland", "2026-07-13", true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := published(t, c.division).Is(date(t, c.date))
			if err != nil || got != c.is {
				t.Errorf("got %v, %v", got, err)
			}
		})
	}
	for _, c := range []struct {
		division string
		year, n  int
	}{{"england-and-wales", 2026, 8}, {"england-and-wales", 2022, 10}, {"england-and-wales", 2023, 9}, {"scotland", 2026, 10}, {"northern-ireland", 2026, 10}} {
		if got := len(published(t, c.division).In(c.year)); got != c.n {
			t.Errorf("%s %d: %d days, want %d", c.division, c.year, got, c.n)
		}
	}
	h := published(t, "england-and-wales")
	if h.FromYear != 2019 || h.ToYear != 2028 || !strings.Contains(h.Source, "24/11/2025") {
		t.Errorf("covers %d to %d, source %q", h.FromYear, h.ToYear, h.Source)
	}
	if d := h.In(2026)[7]; d.Title != "Boxing day" || d.Note != "Substitute day" {
		t.Errorf("got %+v", d)
	}
}

func TestHolidaysNotCovered(t *testing.T) {
	_, err := published(t, "scotland").Is(date(t, "2031-01-01"))
	if !errors.Is(err, ErrNotCovered) || !strings.Contains(err.Error(), "holidays for 2031") || !strings.Contains(err.Error(), "not on file") {
		t.Errorf("got %v", err)
	}
	var none *Holidays
	if _, err := none.Is(date(t, "2026-01-01")); !errors.Is(err, ErrNoList) {
		t.Errorf("got %v", err)
	}
	if is, err := none.Working(date(t, "2026-06-07")); is || err != nil {
		t.Errorf("a Sunday needs no list: %v %v", is, err)
	}
}

func TestOwnHolidays(t *testing.T) {
	h, err := ReadHolidays(strings.NewReader(`{"id":"fair","source":"town notice","from_year":2026,"to_year":2027,
		"days":[{"date":"2027-08-09","title":"Fair"},{"date":"2026-08-10","title":"Fair","note":"moved"}]}`), "")
	if err != nil {
		t.Fatal(err)
	}
	if len(h.Days) != 2 || h.Days[0].Date != (Date{2026, time.August, 10}) || h.Days[0].Note != "moved" {
		t.Errorf("got %+v", h)
	}
	cases := []struct{ name, text, says string }{
		{"no object", `[]`, "not a JSON object"},
		{"unknown field", `{"id":"x","source":"s","from_year":2026,"to_year":2026,"day":[]}`, "day"},
		{"years turned round", `{"id":"x","source":"s","from_year":2027,"to_year":2026}`, "do not make a range"},
		{"no source", `{"id":"x","from_year":2026,"to_year":2026}`, "source"},
		{"outside the years", `{"id":"x","source":"s","from_year":2026,"to_year":2026,"days":[{"date":"2025-01-01"}]}`, "outside"},
		{"twice", `{"id":"x","source":"s","from_year":2026,"to_year":2026,"days":[{"date":"2026-01-01"},{"date":"2026-01-01"}]}`, "twice"},
		{"wrong date form", `{"id":"x","source":"s","from_year":2026,"to_year":2026,"days":[{"date":"01/01/2026"}]}`, "day 1"},
		{"published, unknown nation", `{"divisions":{"a.b_slug":{"2026":[]}}}`, "it holds b"},
		{"published, year missing", `{"divisions":{"x":{"2026":[],"2028":[]}}}`, "missing"},
		{"published, day of another year", `{"divisions":{"x":{"2026":[{"date":"01/01/2027"}]}}}`, "of that year"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadHolidays(strings.NewReader(c.text), "x")
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want one saying %q", err, c.says)
			}
		})
	}
}

func FuzzReadHolidays(f *testing.F) {
	f.Add(`{"id":"x","source":"s","from_year":2026,"to_year":2026,"days":[{"date":"2026-01-01","title":"t"}]}`)
	f.Add(`{"divisions":{"a.x_slug":{"2026":[{"date":"01/01/2026"}],"slug":"x"}},"last_updated":"1"}`)
	f.Fuzz(func(t *testing.T, text string) {
		h, err := ReadHolidays(strings.NewReader(text), "x")
		if err != nil {
			return
		}
		for _, d := range h.Days {
			if is, err := h.Is(d.Date); !is || err != nil {
				t.Fatalf("%s is listed but %v, %v", d.Date, is, err)
			}
		}
	})
}
