package api

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// Of the recorded seconds (testdata/open/SOURCES.md) and minutes, numpy gives by
// its linear percentile what a distribution names: here of the minutes of four
// hours, worked out apart from this program.
func TestDistributionOfLevels(t *testing.T) {
	s := serve(t)
	p := s.as(app.Regulator)
	var d Distribution
	p.send("GET", "/api/distribution?channel=NSR1-LAEQ&from=2025-03-22T08:00:00Z&to=2025-03-22T12:00:00Z", nil).want(200).into(&d)
	sum := 0
	for i, c := range d.Classes {
		sum += c.N
		if i > 0 && math.Abs(c.From-d.Classes[i-1].From-d.Width) > 1e-9 {
			t.Errorf("class %v follows %v", c.From, d.Classes[i-1].From)
		}
	}
	if sum != 240 || d.N != 240 || d.LeftOut != 0 || *d.Coverage != 1 || d.Caution == "" {
		t.Errorf("%d in classes, %d, %d left out", sum, d.N, d.LeftOut)
	}
	for exceeded, want := range map[float64]float64{90: 45.0813, 50: 46.5397, 10: 48.3038, 1: 53.4510} {
		for _, r := range d.Ranks {
			if r.Exceeded == exceeded && math.Abs(r.Value-want) > 5e-5 {
				t.Errorf("exceeded for %v %%: %v, want %v", exceeded, r.Value, want)
			}
		}
	}
	for name, query := range map[string]string{
		"backwards": "channel=NSR1-LAEQ&from=2025-03-22T12:00:00Z&to=2025-03-22T08:00:00Z",
		"too long":  "channel=NSR1-LAEQ&from=2020-03-22T12:00:00Z&to=2025-03-22T08:00:00Z",
	} {
		t.Run(name, func(t *testing.T) { p.send("GET", "/api/distribution?"+query, nil).want(422) })
	}
}

// Two hours of wind from about north, in which the arithmetic mean of the
// directions would be 180°, and one hour of calm.
func TestWindRose(t *testing.T) {
	s := serve(t)
	s.clock.pass(12 * time.Hour)
	m := rowsOf("", map[string]any{"stamp": "begin", "interval": "600", "values": []any{
		map[string]any{"column": "speed", "channel": "W-V", "quantity": "weather.wind", "unit": "m/s", "place": "YARD"},
		map[string]any{"column": "from", "channel": "W-D", "quantity": "weather.wind_direction", "unit": "°", "place": "YARD"}}})
	made := s.setUp("mast", m)
	rows := "time,speed,from\n"
	begin := time.Date(2026, 4, 30, 8, 0, 0, 0, time.UTC)
	for i := range 18 {
		speed, from := "3.0", []string{"350", "10"}[i%2]
		if i >= 12 {
			speed = "0.2"
		}
		if i == 17 {
			from = ""
		}
		rows += fmt.Sprintf("%s,%s,%s\n", begin.Add(time.Duration(i)*10*time.Minute).Format(time.RFC3339), speed, from)
	}
	s.push(made.Token, "text/csv", rows).pushed(18, 0)
	s.clock.pass(6 * time.Second)
	p := s.as(app.Officer)
	span := "&from=2026-04-30T08:00:00Z&to=2026-04-30T11:00:00Z"
	var r WindRose
	p.send("GET", "/api/rose?speed=W-V&direction=W-D"+span, nil).want(200).into(&r)
	if len(r.Share) != 16 || math.Abs(r.Share[0][1]-12.0/17) > 1e-9 || math.Abs(r.Calm-5.0/17) > 1e-9 || r.Missing != 1 || r.Together != 17 {
		t.Errorf("%+v", r)
	}
	if r.Mean > 1e-6 && r.Mean < 360-1e-6 || r.Steady < 0.98 {
		t.Errorf("mean direction %v°, steady %v", r.Mean, r.Steady)
	}
	p.send("GET", "/api/distribution?channel=W-D"+span, nil).want(422).has("W-D holds directions")
	got := p.send("GET", "/api/rose?speed=W-D&direction=W-V"+span, nil).want(422)
	if !strings.Contains(string(got.body), "W-D is in °") {
		t.Errorf("%s", got.body)
	}
}
