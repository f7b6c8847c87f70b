package series

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: got %.6f, want %v", what, got, want)
	}
}

// TestMinuteNoise: recorded levels by the minute (testdata/open/SOURCES.md).
// Reference figures were computed apart from this program, in Python with
// numpy, to four decimals.
func TestMinuteNoise(t *testing.T) {
	p := open(t, "noise/laeq_1min.csv", minuteNoise())
	c := p.Channels[0]
	if p.Rows != 12_000 || c.Count != 12_000 || c.Valid != 12_000 || p.Duplicates != 0 || p.DayPrecision {
		t.Fatalf("%d rows, %d readings, %d valid", p.Rows, c.Count, c.Valid)
	}
	if got := c.Blocks[0].Start[0]; got != ms0(t, "2025-03-21T00:00:00Z") {
		t.Errorf("a stamp in mid-minute begins at %v", time.UnixMilli(got).UTC())
	}
	for _, w := range []struct {
		name, from string
		length     time.Duration
		want       float64
	}{
		{"Friday 07 to 08", "2025-03-21T07:00:00Z", time.Hour, 53.4451},
		{"Friday 12 to 13", "2025-03-21T12:00:00Z", time.Hour, 51.8206},
		{"Friday 07 to 19", "2025-03-21T07:00:00Z", 12 * time.Hour, 52.5887},
		{"night 23 to 07", "2025-03-21T23:00:00Z", 8 * time.Hour, 44.8653},
		{"Saturday 07 to 13", "2025-03-22T07:00:00Z", 6 * time.Hour, 47.1134},
		{"Friday 08", "2025-03-21T08:00:00Z", time.Hour, 55.2586},
		{"Monday 07", "2025-03-24T07:00:00Z", time.Hour, 55.3135},
		{"Tuesday 07", "2025-03-25T07:00:00Z", time.Hour, 55.1703},
		{"Tuesday 10", "2025-03-25T10:00:00Z", time.Hour, 57.8277},
	} {
		t.Run(w.name, func(t *testing.T) {
			r := one(t, c.Blocks, span(t, w.from, w.length), Request{Stat: EnergyMean})
			near(t, "energy mean", r.Value, w.want, 0.00005)
			if r.CoveredMs != w.length.Milliseconds() || r.Coverage != 1 || r.GapMs != 0 || r.LeastEnergyMean != r.Value {
				t.Errorf("coverage %v, least %v", r.Coverage, r.LeastEnergyMean)
			}
		})
	}
	r := one(t, c.Blocks, span(t, "2025-03-21T07:00:00Z", time.Hour), Request{Stat: ArithmeticMean})
	near(t, "arithmetic mean", r.Value, 53.3267, 0.00005)
}

// TestMinuteNoiseHours: 200 full hours of which 4 above 55 dB; of the 71 in
// Monday to Friday 07-18 and Saturday 08-13, the same 4.
func TestMinuteNoiseHours(t *testing.T) {
	c := open(t, "noise/laeq_1min.csv", minuteNoise()).Channels[0]
	london := zone(t, "Europe/London")
	all := calendar.Span{From: time.UnixMilli(ms0(t, "2025-03-21T00:00:00Z")), To: time.UnixMilli(ms0(t, "2025-03-29T08:00:00Z"))}
	hours, err := period(t, "clock hour").Windows(all, london)
	if err != nil {
		t.Fatal(err)
	}
	weekdays, _ := calendar.ParseDays("mon-fri")
	saturday, _ := calendar.ParseDays("sat")
	s := &calendar.Schedule{Slots: []calendar.Slot{
		{Days: weekdays, From: 7 * 60, To: 18 * 60, Holidays: calendar.Ignored},
		{Days: saturday, From: 8 * 60, To: 13 * 60, Holidays: calendar.Ignored},
	}}
	rs, err := Windows(c.Blocks, hours, Request{Stat: EnergyMean})
	if err != nil {
		t.Fatal(err)
	}
	limit := dec(t, "55")
	full, above, due, dueAbove := 0, 0, 0, 0
	for i, r := range rs {
		if r.OK && r.Covers(dec(t, "100")) {
			full++
		}
		over := r.OK && unit.Compare(r.Value, limit) > 0
		whole, _, err := s.Covers(hours[i], london, nil)
		if err != nil {
			t.Fatal(err)
		}
		if over {
			above++
		}
		if whole {
			due++
			if over {
				dueAbove++
			}
		}
	}
	if full != 200 || above != 4 || due != 71 || dueAbove != 4 {
		t.Errorf("%d full hours, %d above; %d due, %d above", full, above, due, dueAbove)
	}
}

// TestSecondNoise: the same recording by the second gives the same level over
// four hours; percentiles by numpy's linear rule.
func TestSecondNoise(t *testing.T) {
	seconds := open(t, "noise/laeq_1s_4h.csv", Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time:   TimeColumns{Columns: []string{"datetime"}, Stamp: "begin", Interval: "1", Zone: "Europe/London"},
		Values: []ValueColumn{{Column: "LEQ dB -A", Channel: "N1-1S", Unit: "dB"}},
	}).Channels[0]
	minutes := open(t, "noise/laeq_1min.csv", minuteNoise()).Channels[0]
	four := span(t, "2025-03-22T08:00:00Z", 4*time.Hour)
	bySecond := one(t, seconds.Blocks, four, Request{Stat: EnergyMean})
	byMinute := one(t, minutes.Blocks, four, Request{Stat: EnergyMean})
	near(t, "by the second", bySecond.Value, 47.1798, 0.00005)
	near(t, "by the minute", byMinute.Value, 47.1798, 0.00005)
	for _, p := range []struct {
		name, percent string
		want          float64
	}{{"L90 is the 10th percentile", "10", 44.586}, {"L10 is the 90th", "90", 48.286}} {
		r := one(t, seconds.Blocks, four, Request{Stat: Percentile, Percentile: dec(t, p.percent), Rank: Linear})
		near(t, p.name, r.Value, p.want, 0.0005)
	}
	for i, want := range []struct{ laeq, l90 float64 }{{47.4355, 45.9859}, {47.0859, 45.4859}, {46.7751, 44.2859}, {47.3907, 44.0859}} {
		hour := span(t, "2025-03-22T08:00:00Z", time.Hour)
		hour.From, hour.To = hour.From.Add(time.Duration(i)*time.Hour), hour.To.Add(time.Duration(i)*time.Hour)
		near(t, "LAeq", one(t, seconds.Blocks, hour, Request{Stat: EnergyMean}).Value, want.laeq, 0.00005)
		near(t, "LA90", one(t, seconds.Blocks, hour, Request{Stat: Percentile, Percentile: dec(t, "10"), Rank: Linear}).Value, want.l90, 0.00005)
	}
}

// TestRoadsideDays: hourly PM10 in UTC. Figures computed apart in Python.
func TestRoadsideDays(t *testing.T) {
	p := open(t, "air/roadside_hourly_2003q1.csv", Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time: TimeColumns{Columns: []string{"time_utc"}, Stamp: "begin", Interval: "3600", Zone: InFile},
		Values: []ValueColumn{
			{Column: "pm10", Channel: "A1-PM10", Unit: "µg/m³"}, {Column: "ws", Channel: "A1-WS", Unit: "m/s"},
		},
	})
	c := p.Channels[0]
	if p.Rows != 2136 || c.Count-c.Valid != 19 {
		t.Fatalf("%d rows, %d missing", p.Rows, c.Count-c.Valid)
	}
	all := calendar.Span{From: time.UnixMilli(ms0(t, "2003-02-01T00:00:00Z")), To: time.UnixMilli(ms0(t, "2003-05-01T00:00:00Z"))}
	for _, c2 := range []struct {
		name, zone string
		days       int
		march30    float64
		hours      float64
	}{{"UTC days", "UTC", 89, 28.1667, 24}, {"London days", "Europe/London", 90, 28.2609, 23}} {
		t.Run(c2.name, func(t *testing.T) {
			loc := zone(t, c2.zone)
			days, err := period(t, "local day").Windows(all, loc)
			if err != nil {
				t.Fatal(err)
			}
			rs, err := Windows(c.Blocks, days, Request{Stat: ArithmeticMean})
			if err != nil {
				t.Fatal(err)
			}
			above, valid, greatest := 0, 0, 0.0
			for i, r := range rs {
				if r.Covers(dec(t, "75")) {
					valid++
					if unit.Compare(r.Value, dec(t, "50")) > 0 {
						above++
					}
					greatest = max(greatest, r.Value)
				}
				if calendar.DateOf(days[i].From, loc).String() == "2003-03-30" {
					near(t, "30 March", r.Value, c2.march30, 0.00005)
					if days[i].Length().Hours() != c2.hours {
						t.Errorf("30 March has %v", days[i].Length())
					}
				}
			}
			if len(days) != c2.days || above != 24 {
				t.Errorf("%d days, %d valid, %d above", len(days), valid, above)
			}
			near(t, "greatest day", greatest, 76.5417, 0.00005)
		})
	}
	wind, err := Windows(c.Blocks, []calendar.Span{all}, Request{Stat: Count, Threshold: ptr(dec(t, "190"))})
	if err != nil || wind[0].Value != 1 {
		t.Errorf("hours above 190: %v, %v", wind[0].Value, err)
	}
	if len(p.Channels[1].Blocks) != 89 {
		t.Errorf("%d blocks, want one for each UTC day", len(p.Channels[1].Blocks))
	}
}

// TestDailyWeather: rain of four years by the day. Figures computed apart in
// Python.
func TestDailyWeather(t *testing.T) {
	p := open(t, "weather/daily_weather_2012_2015.csv", Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time:   TimeColumns{Columns: []string{"date"}, Stamp: "begin", Interval: LocalDay, Zone: "UTC"},
		Values: []ValueColumn{{Column: "precipitation", Channel: "W1-RAIN", Unit: "mm"}},
	})
	c := p.Channels[0]
	if p.Rows != 1461 || c.Valid != 1461 || !p.DayPrecision {
		t.Fatalf("%d rows, %d valid", p.Rows, c.Valid)
	}
	all := calendar.Span{From: time.UnixMilli(ms0(t, "2012-01-01T00:00:00Z")), To: time.UnixMilli(ms0(t, "2016-01-01T00:00:00Z"))}
	if r := one(t, c.Blocks, all, Request{Stat: Sum}); r.Value != 4426 || r.Coverage != 1 {
		t.Errorf("total %v, coverage %v", r.Value, r.Coverage)
	}
	near(t, "greatest", one(t, c.Blocks, all, Request{Stat: Maximum}).Value, 55.9, 0)
	near(t, "days from 6.35 mm on", one(t, c.Blocks, all, Request{Stat: Count, Comparator: ">=", Threshold: ptr(dec(t, "6.35"))}).Value, 222, 0)
}

func ptr[T any](v T) *T { return &v }

// TestRiverNitrate: dates alone, a qualifier column, one result below its
// limit. Figures computed apart in Python.
func TestRiverNitrate(t *testing.T) {
	p := open(t, "water/river_nitrate_qualified.csv", Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time:   TimeColumns{Columns: []string{"date"}, Stamp: "instant", Zone: "America/New_York"},
		Values: []ValueColumn{{Column: "nitrate_mg_N_per_L", Channel: "W1-NO3", Unit: "mg/L", Qualifier: "qualifier"}},
	})
	c := p.Channels[0]
	if p.Rows != 606 || !p.DayPrecision || c.Valid != 606 {
		t.Fatalf("%d rows, day precision %v, %d valid", p.Rows, p.DayPrecision, c.Valid)
	}
	newYork := zone(t, "America/New_York")
	everything := calendar.Span{From: time.UnixMilli(c.Blocks[0].Start[0]), To: time.UnixMilli(ms0(t, "2012-01-01T00:00:00Z"))}
	r := one(t, c.Blocks, everything, Request{Stat: ArithmeticMean})
	if r.Below != 1 || r.N != 606 || !r.Instants || r.Coverage != 0 {
		t.Errorf("%d below of %d, coverage %v", r.Below, r.N, r.Coverage)
	}
	near(t, "mean, full", r.AsFull, 1.140149, 0.0000005)
	near(t, "mean, half", r.AsHalf, 1.140107, 0.0000005)
	if r.Value != r.AsFull || r.High != r.AsFull || r.Low != r.AsZero || r.Low >= r.High {
		t.Errorf("bracket %v to %v", r.Low, r.High)
	}
	near(t, "95th percentile", one(t, c.Blocks, everything, Request{Stat: Percentile, Percentile: dec(t, "95"), Rank: Linear}).Value, 1.715, 0.0000005)
	near(t, "max", one(t, c.Blocks, everything, Request{Stat: Maximum}).Value, 2.43, 0)

	years, err := period(t, "calendar year").Windows(span(t, "2004-06-01T00:00:00Z", time.Hour), newYork)
	if err != nil {
		t.Fatal(err)
	}
	for _, limit := range []struct {
		at    string
		above float64
	}{{"1.5", 3}, {"1.6", 2}} {
		r := one(t, c.Blocks, years[0], Request{Stat: Count, Comparator: ">", Threshold: ptr(dec(t, limit.at))})
		if r.N != 14 || r.Value != limit.above || r.Low != r.Value || r.High != r.Value {
			t.Errorf("2004: %d samples, %v above %s", r.N, r.Value, limit.at)
		}
	}
	// The fourteen values of worked example X4 of the project's reference.
	var values []string
	for _, s := range EachReading(c.Blocks, years[0]) {
		v := one(t, c.Blocks, s, Request{Stat: Single})
		values = append(values, unit.Decimal{Coefficient: int64(math.Round(v.Value * 100)), Places: 2}.String())
	}
	want := []string{"2.17", "1.43", "1.54", "1.18", "0.75", "1.13", "1.67", "1.10", "0.98", "1.15", "1.28", "0.94", "0.86", "1.42"}
	if !slices.Equal(values, want) {
		t.Errorf("2004: %v", values)
	}
}
