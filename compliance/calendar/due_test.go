package calendar

import (
	"errors"
	"testing"
	"time"
)

func TestDue(t *testing.T) {
	// Cases named X13: worked examples on legal time of the project's reference
	// pages (calendar months by the corresponding date; 28 days beginning with
	// and after; 8 weeks beginning with the day after receipt). Others by hand.
	cases := []struct {
		name, from string
		term       Term
		last       string
	}{
		{"three months (X13)", "2026-11-30T10:00:00Z", Term{N: 3, Unit: "months"}, "2027-02-28"},
		{"28 days beginning with (X13)", "2026-11-27T10:00:00Z", Term{N: 28, Unit: "days", Counting: BeginningWith}, "2026-12-24"},
		{"28 days after (X13)", "2026-11-27T10:00:00Z", Term{N: 28, Unit: "days", Counting: After}, "2026-12-25"},
		{"28 days after, rolled", "2026-11-27T10:00:00Z", Term{N: 28, Unit: "day", Roll: NextWorking}, "2026-12-29"},
		{"28 days after, rolled back", "2026-11-27T10:00:00Z", Term{N: 28, Unit: "day", Roll: PrevWorking}, "2026-12-24"},
		{"8 weeks from receipt (X13)", "2026-02-27T16:30:00Z", Term{N: 8, Unit: "weeks"}, "2026-04-24"},
		{"5 years from a leap day (X13)", "2028-02-29T00:00:00Z", Term{N: 5, Unit: "years"}, "2033-02-28"},
		{"a month beginning with", "2026-03-01T00:00:00Z", Term{N: 1, Unit: "month", Counting: BeginningWith}, "2026-03-31"},
		{"months beginning with a day February lacks", "2026-11-30T00:00:00Z", Term{N: 3, Unit: "month", Counting: BeginningWith}, "2027-02-28"},
		{"7 days before", "2026-06-15T07:00:00Z", Term{N: 7, Unit: "days", Before: true}, "2026-06-08"},
		{"7 clear days before", "2026-06-15T07:00:00Z", Term{N: 7, Unit: "days", Before: true, Counting: ClearDays}, "2026-06-07"},
		{"2 months before the end of April", "2026-04-30T07:00:00Z", Term{N: 2, Unit: "months", Before: true}, "2026-02-28"},
		{"2 working days over Easter", "2026-04-02T09:00:00Z", Term{N: 2, Unit: "working days"}, "2026-04-08"},
		{"5 clear working days before", "2026-04-13T09:00:00Z", Term{N: 5, Unit: "working days", Before: true, Counting: ClearDays}, "2026-04-01"},
		{"working days beginning with a working day", "2026-06-01T09:00:00Z", Term{N: 5, Unit: "working days", Counting: BeginningWith}, "2026-06-05"},
		{"working days beginning with a Sunday", "2026-05-31T09:00:00Z", Term{N: 5, Unit: "working days", Counting: BeginningWith}, "2026-06-05"},
		{"late at night it is already tomorrow in summer", "2026-06-01T23:30:00Z", Term{N: 1, Unit: "day"}, "2026-06-03"},
		{"same day", "2026-06-01T09:00:00Z", Term{N: 0, Unit: "days"}, "2026-06-01"},
	}
	london, h := zone(t, "Europe/London"), published(t, "england-and-wales")
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Due(instant(t, c.from), c.term, london, h)
			if err != nil {
				t.Fatal(err)
			}
			if got.Last.String() != c.last {
				t.Errorf("got %s, want %s", got.Last, c.last)
			}
			if !got.Ends.Equal(got.Last.AddDays(1).Start(london)) {
				t.Errorf("ends %v", got.Ends)
			}
		})
	}
}

func TestDueElapsed(t *testing.T) {
	london := zone(t, "Europe/London")
	// 24 elapsed hours over the spring change end at 11:00 on the clock.
	got, err := Due(instant(t, "2026-03-28T10:00:00Z"), Term{N: 24, Unit: "hours"}, london, nil)
	if err != nil || got.Ends.Format("2006-01-02 15:04") != "2026-03-29 11:00" {
		t.Errorf("got %v, %v", got, err)
	}
	got, err = Due(instant(t, "2026-06-01T10:00:00Z"), Term{N: 30, Unit: "minutes", Before: true}, time.UTC, nil)
	if err != nil || !got.Ends.Equal(instant(t, "2026-06-01T09:30:00Z")) {
		t.Errorf("got %v, %v", got, err)
	}
}

func TestDueRefuses(t *testing.T) {
	from := instant(t, "2028-12-20T00:00:00Z")
	h := published(t, "england-and-wales")
	cases := []struct {
		name string
		term Term
		h    *Holidays
		is   error
	}{
		{"unknown unit", Term{N: 1, Unit: "fortnight"}, h, ErrTerm},
		{"below zero", Term{N: -1, Unit: "day"}, h, ErrTerm},
		{"rolling hours", Term{N: 1, Unit: "hour", Roll: NextWorking}, h, ErrTerm},
		{"clear hours", Term{N: 1, Unit: "hour", Counting: ClearDays}, h, ErrTerm},
		{"unknown roll", Term{N: 1, Unit: "day", Roll: "sideways"}, h, ErrTerm},
		{"working days into a year not covered", Term{N: 10, Unit: "working day"}, h, ErrNotCovered},
		{"working days without a list", Term{N: 10, Unit: "working day"}, nil, ErrNoList},
		{"roll into a year not covered", Term{N: 12, Unit: "day", Roll: NextWorking}, h, ErrNotCovered},
		{"past the calendar", Term{N: 9000, Unit: "year"}, h, ErrTerm},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if got, err := Due(from, c.term, time.UTC, c.h); !errors.Is(err, c.is) {
				t.Errorf("got %v, %v", got, err)
			}
		})
	}
}
