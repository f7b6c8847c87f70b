package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/noise"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// denParts are the parts of the day that a level is weighted by, on the clock of
// the site.
type denParts struct {
	hours noise.Parts
	slots [3]*calendar.Schedule // day, evening, night; evening nil where there is none
	least unit.Decimal          // per cent of each part that must be measured
}

var partNames = [3]string{"day", "evening", "night"}

// denUsual are the clock times the parts begin at where nothing is said.
var denUsual = map[string]string{"lden": "07:00,19:00,23:00", "ldn": "07:00,22:00"}

// denLeast is the share of each part that must be measured where --coverage says
// nothing: common practice. A part that is not measured is never silence.
var denLeast = unit.Decimal{Coefficient: 75}

// partsOf reads when day, evening and night begin: two or three clock times.
func partsOf(statistic, text string) (*denParts, error) {
	if text == "" {
		text = denUsual[statistic]
	}
	words := strings.Split(text, ",")
	if want := strings.Count(denUsual[statistic], ",") + 1; len(words) != want {
		return nil, fmt.Errorf("--day-parts %q: %s needs %d clock times, such as %s", text, statistic, want, denUsual[statistic])
	}
	var at []calendar.Clock
	for _, w := range words {
		c, err := calendar.ParseClock(strings.TrimSpace(w))
		if err != nil {
			return nil, fmt.Errorf("--day-parts %q: %w", text, err)
		}
		if len(at) > 0 && c <= at[len(at)-1] {
			return nil, fmt.Errorf("--day-parts %q: write them from morning to night", text)
		}
		at = append(at, c)
	}
	every, err := calendar.ParseDays("mon-sun")
	if err != nil {
		return nil, err
	}
	slot := func(from, to calendar.Clock) *calendar.Schedule {
		return &calendar.Schedule{Slots: []calendar.Slot{{Days: every, From: from, To: to, Holidays: calendar.Ignored}}}
	}
	hours := func(from, to calendar.Clock) float64 { return float64(to-from) / float64(clockHour) }
	last := at[len(at)-1]
	d := &denParts{least: denLeast}
	d.slots[0], d.slots[2] = slot(at[0], at[1]), slot(last, at[0])
	d.hours.Day, d.hours.Night = hours(at[0], at[1]), 24-hours(at[0], last)
	if len(at) == 3 {
		d.slots[1], d.hours.Evening = slot(at[1], at[2]), hours(at[1], at[2])
	}
	return d, nil
}

// clockHour is an hour as calendar.Clock counts.
var clockHour = func() calendar.Clock {
	one, _ := calendar.ParseClock("01:00")
	return one
}()

// windows weighs the levels of each window by day, evening and night: the mean of
// energy of each part over the whole window first, then the three together, as a
// long-term average is made (Directive 2002/49/EC, annex I).
func (d *denParts) windows(blocks []*series.Block, spans []calendar.Span, request series.Request, loc *time.Location) ([]series.Result, error) {
	out := make([]series.Result, len(spans))
	for i, span := range spans {
		var levels [3]noise.Known
		var whole series.Result
		for k, slots := range d.slots {
			if slots == nil {
				continue
			}
			parts, err := slots.Open(span, loc, nil)
			if err != nil {
				return nil, err
			}
			r, err := series.Over(blocks, parts, request)
			if err != nil {
				return nil, err
			}
			whole.N += r.N
			whole.CoveredMs += r.CoveredMs
			whole.WindowMs += r.WindowMs
			whole.Instants = whole.Instants || r.Instants
			switch {
			case whole.Why != "":
			case !r.OK:
				whole.Why = "the " + partNames[k] + " has " + r.Why
			case r.Instants || !r.Covers(d.least):
				whole.Why = fmt.Sprintf("the %s is measured to %.0f %%, %s %% is needed", partNames[k], 100*r.Coverage, d.least)
			}
			levels[k] = noise.Known{DB: r.Value, OK: r.OK}
		}
		if whole.WindowMs > 0 {
			whole.Coverage = unit.Round9(float64(whole.CoveredMs) / float64(whole.WindowMs))
		}
		if whole.Why == "" {
			v, err := d.hours.DENLevel(levels[0], levels[1], levels[2])
			if err != nil {
				whole.Why = err.Error()
			} else {
				whole.OK, whole.Value, whole.Low, whole.High = true, v, v, v
			}
		}
		out[i] = whole
	}
	return out, nil
}
