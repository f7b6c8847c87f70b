package calendar

import (
	"errors"
	"slices"
	"testing"
	"time"
)

func slot(t testing.TB, d, from, to string, use HolidayUse) Slot {
	return Slot{Days: days(t, d), From: clock(t, from), To: clock(t, to), Holidays: use}
}

func TestScheduleOpen(t *testing.T) {
	work := []Slot{slot(t, "mon-fri", "08:00", "18:00", Closed), slot(t, "sat", "08:00", "13:00", Closed)}
	night := []Slot{slot(t, "every day", "23:00", "07:00", Ignored)}
	dated := slot(t, "every day", "09:00", "10:00", Ignored)
	dated.First, dated.Last = date(t, "2026-06-02"), date(t, "2026-06-03")
	cases := []struct {
		name     string
		s        *Schedule
		division string
		from, to string
		want     []string // "from/to" in local time
	}{
		{"no schedule is always", nil, "", "2026-06-01T00:00:00Z", "2026-06-01T01:00:00Z", []string{"06-01 01:00/06-01 02:00"}},
		{"week end", &Schedule{Slots: work}, "england-and-wales", "2026-06-05T00:00:00Z", "2026-06-08T12:00:00Z",
			[]string{"06-05 08:00/06-05 18:00", "06-06 08:00/06-06 13:00", "06-08 08:00/06-08 13:00"}},
		{"Easter Monday in England (X10)", &Schedule{Slots: work}, "england-and-wales", "2026-04-06T00:00:00Z", "2026-04-06T22:00:00Z", nil},
		{"Easter Monday in Scotland (X10)", &Schedule{Slots: work}, "scotland", "2026-04-06T00:00:00Z", "2026-04-06T22:00:00Z",
			[]string{"04-06 08:00/04-06 18:00"}},
		{"T29 Saturday afternoon and Sunday are evening and weekend", &Schedule{Slots: work, Complement: true}, "england-and-wales", "2026-06-06T11:00:00Z", "2026-06-07T22:00:00Z",
			[]string{"06-06 13:00/06-07 23:00"}},
		{"T29 a bank holiday is too", &Schedule{Slots: work, Complement: true}, "england-and-wales", "2026-04-06T06:00:00Z", "2026-04-06T18:00:00Z",
			[]string{"04-06 07:00/04-06 19:00"}},
		{"T11 05:45Z on 15 June is a quarter to seven, and night", &Schedule{Slots: night}, "", "2026-06-15T05:45:00Z", "2026-06-15T06:30:00Z", []string{"06-15 06:45/06-15 07:00"}},
		{"T11 06:30Z on 15 January is half past six, and night", &Schedule{Slots: night}, "", "2026-01-15T06:30:00Z", "2026-01-15T07:30:00Z", []string{"01-15 06:30/01-15 07:00"}},
		{"T11 06:30Z on 15 June is half past seven, and day", &Schedule{Slots: night}, "", "2026-06-15T06:30:00Z", "2026-06-15T07:30:00Z", nil},
		{"Saturday 26 December by the list (X10)", &Schedule{Slots: work}, "england-and-wales", "2026-12-26T00:00:00Z", "2026-12-26T23:00:00Z",
			[]string{"12-26 08:00/12-26 13:00"}},
		{"all other times", &Schedule{Slots: work, Complement: true}, "england-and-wales", "2026-06-05T10:00:00Z", "2026-06-06T10:00:00Z",
			[]string{"06-05 18:00/06-06 08:00"}},
		{"a holiday is among the other times", &Schedule{Slots: work, Complement: true}, "england-and-wales", "2026-04-06T09:00:00Z", "2026-04-06T10:00:00Z",
			[]string{"04-06 10:00/04-06 11:00"}},
		{"nights over midnight", &Schedule{Slots: night}, "", "2026-06-01T00:00:00Z", "2026-06-02T00:00:00Z",
			[]string{"06-01 01:00/06-01 07:00", "06-01 23:00/06-02 01:00"}},
		{"holidays alone", &Schedule{Slots: []Slot{slot(t, "mon", "10:00", "12:00", Only)}}, "england-and-wales", "2026-12-24T00:00:00Z", "2026-12-30T00:00:00Z",
			[]string{"12-25 10:00/12-25 12:00", "12-28 10:00/12-28 12:00"}},
		{"range of dates", &Schedule{Slots: []Slot{dated}}, "", "2026-06-01T00:00:00Z", "2026-06-06T00:00:00Z",
			[]string{"06-02 09:00/06-02 10:00", "06-03 09:00/06-03 10:00"}},
		{"touching slots merge", &Schedule{Slots: []Slot{slot(t, "mon", "12:00", "18:00", Ignored), slot(t, "mon", "08:00", "12:00", Ignored)}}, "",
			"2026-06-01T00:00:00Z", "2026-06-02T00:00:00Z", []string{"06-01 08:00/06-01 18:00"}},
		{"whole days merge over midnight", &Schedule{Slots: []Slot{slot(t, "sat-sun", "00:00", "24:00", Ignored)}}, "",
			"2026-06-05T00:00:00Z", "2026-06-09T00:00:00Z", []string{"06-06 00:00/06-08 00:00"}},
	}
	london := zone(t, "Europe/London")
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var h *Holidays
			if c.division != "" {
				h = published(t, c.division)
			}
			open, err := c.s.Open(Span{instant(t, c.from), instant(t, c.to)}, london, h)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, s := range open {
				got = append(got, s.From.In(london).Format("01-02 15:04")+"/"+s.To.In(london).Format("01-02 15:04"))
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestScheduleNeedsItsList(t *testing.T) {
	london := zone(t, "Europe/London")
	s := &Schedule{Slots: []Slot{slot(t, "mon-fri", "08:00", "18:00", Closed)}}
	monday := Span{instant(t, "2031-06-02T09:00:00Z"), instant(t, "2031-06-02T10:00:00Z")}
	if _, err := s.Open(monday, london, nil); !errors.Is(err, ErrNoList) {
		t.Errorf("no list: %v", err)
	}
	if _, err := s.Open(monday, london, published(t, "scotland")); !errors.Is(err, ErrNotCovered) {
		t.Errorf("year not covered: %v", err)
	}
	sunday := Span{instant(t, "2031-06-01T09:00:00Z"), instant(t, "2031-06-01T10:00:00Z")}
	if open, err := s.Open(sunday, london, nil); err != nil || len(open) != 0 {
		t.Errorf("a Sunday does not turn on holidays: %v %v", open, err)
	}
}

func TestScheduleCovers(t *testing.T) {
	london := zone(t, "Europe/London")
	s := &Schedule{Slots: []Slot{slot(t, "mon-fri", "07:00", "19:00", Ignored)}}
	cases := []struct {
		name, from  string
		length      time.Duration
		whole, part bool
	}{
		{"last quarter of the day", "2026-06-01T17:45:00Z", 15 * time.Minute, true, true},
		{"first quarter after it", "2026-06-01T18:00:00Z", 15 * time.Minute, false, false},
		{"across the end", "2026-06-01T17:30:00Z", time.Hour, false, true},
		{"across a night", "2026-06-01T17:00:00Z", 24 * time.Hour, false, true},
		{"no length", "2026-06-01T12:00:00Z", 0, false, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			from := instant(t, c.from)
			whole, part, err := s.Covers(Span{from, from.Add(c.length)}, london, nil)
			if err != nil || whole != c.whole || part != c.part {
				t.Errorf("got %v %v %v", whole, part, err)
			}
		})
	}
}
