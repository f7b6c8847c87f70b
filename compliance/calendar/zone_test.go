package calendar

import (
	"encoding/json"
	"errors"
	"os"
	"slices"
	"testing"
	"time"
)

func TestLoadZoneRefuses(t *testing.T) {
	for _, name := range []string{"", "Local", "local", "Europe/Atlantis", "../zoneinfo", "Europe/", "europe/london"} {
		t.Run(name, func(t *testing.T) {
			if loc, err := LoadZone(name); !errors.Is(err, ErrNoZone) {
				t.Errorf("got %v, %v", loc, err)
			}
		})
	}
}

func TestLoadZoneGivesOnePointer(t *testing.T) {
	first, second := zone(t, "Europe/London"), zone(t, "Europe/London")
	if first != second || zone(t, "UTC") != time.UTC {
		t.Error("a name gave two zones")
	}
	data, err := ZoneData("Europe/Dublin")
	if err != nil || len(data) < 44 || string(data[:4]) != "TZif" {
		t.Errorf("zone data: %d bytes, %v", len(data), err)
	}
}

// TestClockChanges checks the embedded release against the change dates the
// British government publishes (testdata/open/SOURCES.md).
func TestClockChanges(t *testing.T) {
	data, err := os.ReadFile("../../testdata/open/calendar/uk_clock_changes.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Divisions map[string]map[string]json.RawMessage
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	london := zone(t, "Europe/London")
	var listed []Date
	for _, years := range file.Divisions {
		for _, raw := range years {
			var changes []dayText
			if json.Unmarshal(raw, &changes) != nil {
				continue // words about the division
			}
			for _, c := range changes {
				at, err := time.Parse("02/01/2006", c.Date)
				if err != nil {
					t.Fatal(err)
				}
				listed = append(listed, dateIn(at))
			}
		}
	}
	slices.SortFunc(listed, Date.Compare)
	if len(listed) != 8 {
		t.Fatalf("%d changes listed, want 8", len(listed))
	}
	var found []Date
	for d := (Date{2025, time.January, 1}); d.Year <= 2028; d = d.AddDays(1) {
		if d.AddDays(1).Start(london).Sub(d.Start(london)) != 24*time.Hour {
			found = append(found, d)
		}
	}
	if !slices.Equal(found, listed) {
		t.Errorf("found %v, published %v", found, listed)
	}
}

func TestDayStart(t *testing.T) {
	// Instants of the changes: IANA time zone database, release 2025c.
	cases := []struct {
		name, zone, date, want string
		hours                  float64 // length of the day
	}{
		{"plain winter day", "Europe/London", "2026-01-15", "2026-01-15T00:00:00Z", 24},
		{"clocks forward", "Europe/London", "2026-03-29", "2026-03-29T00:00:00Z", 23},
		{"day after", "Europe/London", "2026-03-30", "2026-03-29T23:00:00Z", 24},
		{"clocks back", "Europe/London", "2026-10-25", "2026-10-24T23:00:00Z", 25},
		{"midnight skipped in Cairo", "Africa/Cairo", "2025-04-25", "2025-04-24T22:00:00Z", 23},
		{"midnight skipped in Sao Paulo", "America/Sao_Paulo", "2018-11-04", "2018-11-04T03:00:00Z", 23},
		{"midnight shown twice in Havana", "America/Havana", "2026-11-01", "2026-11-01T04:00:00Z", 25},
		{"clock back over midnight in Asuncion", "America/Asuncion", "2024-03-24", "2024-03-24T04:00:00Z", 24},
		{"half-hour change", "Australia/Lord_Howe", "2026-04-05", "2026-04-04T13:00:00Z", 24.5},
		{"a date left out", "Pacific/Apia", "2011-12-30", "2011-12-30T10:00:00Z", 0},
		{"date after the one left out", "Pacific/Apia", "2011-12-31", "2011-12-30T10:00:00Z", 24},
		{"no summer time", "Australia/Brisbane", "2026-10-04", "2026-10-03T14:00:00Z", 24},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			loc, d := zone(t, c.zone), date(t, c.date)
			got := d.Start(loc)
			if !got.Equal(instant(t, c.want)) {
				t.Errorf("start %s, want %s", got.UTC().Format(time.RFC3339), c.want)
			}
			if h := d.AddDays(1).Start(loc).Sub(got).Hours(); h != c.hours {
				t.Errorf("%v hours, want %v", h, c.hours)
			}
		})
	}
}

func TestLocal(t *testing.T) {
	london := zone(t, "Europe/London")
	cases := []struct {
		name, wall  string
		n           int
		first, last string
	}{
		{"plain", "2026-06-01T12:00:00Z", 1, "2026-06-01T11:00:00Z", "2026-06-01T11:00:00Z"},
		{"skipped", "2026-03-29T01:30:00Z", 0, "2026-03-29T01:00:00Z", "2026-03-29T01:00:00Z"},
		{"first instant after the jump", "2026-03-29T02:00:00Z", 1, "2026-03-29T01:00:00Z", "2026-03-29T01:00:00Z"},
		{"repeated", "2026-10-25T01:30:00Z", 2, "2026-10-25T00:30:00Z", "2026-10-25T01:30:00Z"},
		{"start of the repeated hour", "2026-10-25T01:00:00Z", 2, "2026-10-25T00:00:00Z", "2026-10-25T01:00:00Z"},
		{"end of the repeated hour", "2026-10-25T02:00:00Z", 1, "2026-10-25T02:00:00Z", "2026-10-25T02:00:00Z"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			first, last, n := Local(instant(t, c.wall), london)
			if n != c.n || !first.Equal(instant(t, c.first)) || !last.Equal(instant(t, c.last)) {
				t.Errorf("got %v %v %d", first.UTC(), last.UTC(), n)
			}
		})
	}
}
