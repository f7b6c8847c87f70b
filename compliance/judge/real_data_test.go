package judge_test

import (
	"bytes"
	"os"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
)

// importFile reads an open data file as a logger file and enters the import.
func (b *fixture) importFile(t *testing.T, file, place, quantityCode string, m series.Mapping) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/open/" + file)
	if err != nil {
		t.Fatal(err)
	}
	p, err := series.ReadDelimited(bytes.NewReader(data), file, m)
	if err != nil {
		t.Fatal(err)
	}
	c := p.Channels[0]
	first, last := c.Blocks[0], c.Blocks[len(c.Blocks)-1]
	e := b.add(book.Draft{
		Kind: "import.1", Places: []string{place},
		At: time.UnixMilli(first.Start[0]).UTC(), Until: time.UnixMilli(last.Start[last.Len()-1] + last.Span).UTC(),
	}, book.Object{"channels": []any{book.Object{
		"channel": c.Channel, "quantity": quantityCode, "place": place, "unit": c.Unit, "count": c.Count,
	}}}, 0)
	b.blocks[e.ID] = map[string][]*series.Block{c.Channel: c.Blocks}
}

func (b *fixture) publishedHolidays(t *testing.T, division string) {
	t.Helper()
	f, err := os.Open("../../testdata/open/calendar/uk_bank_holidays.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	h, err := calendar.ReadHolidays(f, division)
	if err != nil {
		t.Fatal(err)
	}
	var days []any
	for _, d := range h.Days {
		days = append(days, book.Object{"date": d.Date.String(), "title": d.Title})
	}
	b.add(book.Draft{Kind: "calendar.1", At: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)}, book.Object{
		"id": division, "source": "GOV.UK", "from_year": int64(h.FromYear), "to_year": int64(h.ToYear), "days": days,
	}, 0)
}

// Minute levels beside a road, eight days of March 2025, against 55 dB in the
// working hours: 71 hours, four of them over.
// Source: open data file noise/laeq_1min.csv (see testdata/open/SOURCES.md);
// the figures were worked out from it with numpy, apart from this program.
func TestRealNoiseHours(t *testing.T) {
	f := newFixture("Europe/London")
	f.publishedHolidays(t, "england-and-wales")
	f.importFile(t, "noise/laeq_1min.csv", "NSR1", "noise.laeq", series.Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time:   series.TimeColumns{Columns: []string{"datetime"}, Stamp: "mid", Interval: "60", Zone: "Europe/London"},
		Values: []series.ValueColumn{{Column: "LEQ dB -A", Channel: "N1", Unit: "dB", Quantity: "noise.laeq"}},
	})
	f.notice(t, "noise", `
permit: {reference: P/1, type: planning permission, granted: 2025-03-21, zone: Europe/London, holidays: england-and-wales}
conditions:
  - {id: "14", clause: "14", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %,
     schedule: [{days: mon-fri, from: "07:00", to: "18:00"}, {days: sat, from: "08:00", to: "13:00"}], from: 2025-03-21, to: 2025-03-29T08:00:00Z}
  - {id: hour, clause: "15", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, severity: information, coverage: 75 %, from: 2025-03-21T07:00:00Z, to: 2025-03-21T08:00:00Z}
  - {id: day, clause: "16", kind: measured, subject: noise.laeq, place: NSR1, window: "shift 07:00-19:00", statistic: energy mean, severity: information, coverage: 75 %, from: 2025-03-21, to: 2025-03-21T19:00:00Z}
  - {id: night, clause: "17", kind: measured, subject: noise.laeq, place: NSR1, window: "shift 23:00-07:00", statistic: energy mean, severity: information, coverage: 75 %, from: 2025-03-21T23:00:00Z, to: 2025-03-22T07:00:00Z}
`)
	r := judgeFixture(t, f, time.Date(2026, 4, 30, 0, 0, 0, 0, time.UTC))
	hours := expectation{Condition: "14", Verdict: "not complied", Counts: map[string]int{"due": 71, "judged": 71, "complied": 67, "not_complied": 4, "cannot_be_judged": 0}, Windows: []expectation{
		over("2025-03-21 08:00", 55.2586), over("2025-03-24 07:00", 55.3135), over("2025-03-25 07:00", 55.1703), over("2025-03-25 10:00", 57.8277),
	}}
	check(t, r, &hours, "NSR1")
	for id, want := range map[string]float64{"hour": 53.4451, "day": 52.5887, "night": 44.8653} {
		e := expectation{Condition: id, Verdict: "not applicable", Value: &want, Tolerance: 0.00005}
		check(t, r, &e, "NSR1")
	}
}

func over(from string, value float64) expectation {
	return expectation{From: from, Verdict: "not complied", Value: &value, Tolerance: 0.00005}
}

func check(t *testing.T, r *judge.Report, e *expectation, place string) {
	t.Helper()
	j := find(r, e.Condition, place)
	if j == nil {
		t.Fatalf("%s at %s was not judged", e.Condition, place)
	}
	c := &goldenCase{}
	e.check(t, c, e.Condition, j)
	e.checkWindows(t, c, j)
}

// Hourly PM10 of the first months of 2003 against 50 µg/m³ as a daily mean on
// all but 35 days of the year, in local days of which one has 23 hours.
// Source: open data file air/roadside_hourly_2003q1.csv (Open Government
// Licence); figures worked out from it with numpy, apart from this program.
func TestRealDaysOfDust(t *testing.T) {
	f := newFixture("Europe/London")
	f.importFile(t, "air/roadside_hourly_2003q1.csv", "RD", "dust.pm10", series.Mapping{
		Delimiter: ",", HeaderRow: 1, Missing: []string{"", "NA"},
		Time:   series.TimeColumns{Columns: []string{"time_utc"}, Stamp: "begin", Interval: "3600", Zone: "in file"},
		Values: []series.ValueColumn{{Column: "pm10", Channel: "PM10", Unit: "µg/m³", Quantity: "dust.pm10"}},
	})
	f.notice(t, "dust", `
permit: {reference: P/1, type: planning permission, granted: 2003-02-01, zone: Europe/London}
conditions:
  - {id: days, clause: "1", kind: measured, subject: dust.pm10, place: RD, window: local day, statistic: arithmetic mean, limit: <= 50 µg/m³, coverage: 75 %, rule: at most 35 per calendar year, to: 2003-05-01}
  - {id: mean, clause: "2", kind: measured, subject: dust.pm10, place: RD, window: local day, statistic: arithmetic mean, severity: information, coverage: 75 %, to: 2003-05-01}
`)
	r := judgeFixture(t, f, time.Date(2026, 4, 30, 0, 0, 0, 0, time.UTC))
	above := 24.0
	check(t, r, &expectation{Condition: "days", Verdict: "complied", Value: &above, Inner: map[string]int{"not_complied": 24}}, "RD")
	mean := 28.2609
	check(t, r, &expectation{Condition: "mean", Verdict: "not applicable", Windows: []expectation{{From: "2003-03-30", Verdict: "not applicable", Value: &mean, Tolerance: 0.00005}}}, "RD")
}

// Nitrate of a river in 2004, read from a file with qualifiers, against the
// look-up table of the worked example: 14 samples, 3 above 1.5, 2 above 1.6.
// Source: open data file water/river_nitrate_qualified.csv.
func TestRealNitrateSamples(t *testing.T) {
	f := newFixture("Europe/London")
	f.importFile(t, "water/river_nitrate_qualified.csv", "OUT", "water.nitrate", series.Mapping{
		Delimiter: ",", HeaderRow: 1, Missing: []string{"", "NA"},
		Time:   series.TimeColumns{Columns: []string{"date"}, Layout: "YYYY-MM-DD", Stamp: "instant", Zone: "Europe/London"},
		Values: []series.ValueColumn{{Column: "nitrate_mg_N_per_L", Channel: "NO3", Unit: "mg/L", Quantity: "water.nitrate", Qualifier: "qualifier"}},
	})
	f.notice(t, "nitrate", `
permit: {reference: P/1, type: environmental permit, granted: 2004-01-01, zone: Europe/London}
conditions:
  - {id: a, clause: "1", kind: measured, subject: water.nitrate, place: OUT, window: instant, limit: <= 1.5 mg/L, rule: {look-up table: [[4, 7, 1], [8, 16, 2]], per: calendar year}, to: 2005-01-01}
  - {id: b, clause: "1", kind: measured, subject: water.nitrate, place: OUT, window: instant, limit: <= 1.6 mg/L, rule: {look-up table: [[4, 7, 1], [8, 16, 2]], per: calendar year}, to: 2005-01-01}
`)
	r := judgeFixture(t, f, time.Date(2026, 4, 30, 0, 0, 0, 0, time.UTC))
	three, two := 3.0, 2.0
	check(t, r, &expectation{Condition: "a", Verdict: "not complied", Value: &three, Inner: map[string]int{"due": 14, "not_complied": 3}}, "OUT")
	check(t, r, &expectation{Condition: "b", Verdict: "complied", Value: &two, Inner: map[string]int{"due": 14, "not_complied": 2}}, "OUT")
}
