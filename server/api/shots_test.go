package api

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// shotLog is a set made for tests, no real site: distance m, charge kg, PPV mm/s.
// What follows from it was worked out apart from this program (see the tests of
// compliance/vibration).
var shotLog = [][3]float64{
	{120, 25, 6.85}, {150, 40, 8.60}, {180, 32, 3.90}, {210, 50, 5.75}, {240, 45, 3.10}, {260, 60, 4.60}, {300, 50, 2.05}, {320, 75, 3.35},
	{350, 40, 1.28}, {380, 60, 2.20}, {420, 80, 1.55}, {450, 55, 0.92}, {500, 75, 1.34}, {550, 60, 0.71}, {620, 90, 0.98}, {700, 70, 0.48},
}

// Blasts as the shotfirer enters them and velocities as an instrument sends them
// make the site's own line, and a charge by it.
func TestShotsOfTheSite(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	var log ShotLog
	p.send("GET", "/api/shots", nil).want(200).into(&log)
	if len(log.Shots) != 0 || log.Line != nil || log.Why == "" {
		t.Fatalf("%+v", log)
	}
	first := time.Date(2026, 4, 1, 12, 0, 0, 0, time.UTC)
	made := s.setUp("seismograph", rowsOf("", map[string]any{"stamp": "instant", "interval": "", "values": []any{
		map[string]any{"column": "ppv", "channel": "V1-PPV", "quantity": "vibration.ppv", "unit": "mm/s", "place": "NSR1"}}}))
	rows := "time,ppv\n"
	blast := func(n int, at time.Time, distance, charge float64) {
		p.send("PUT", "/api/entries/"+newID(n), map[string]any{"kind": "blast.1", "at": at.Format(time.RFC3339), "at_precision": "minute", "places": []string{"YARD"},
			"body": map[string]any{"number": fmt.Sprint(n), "charge_per_delay": fmt.Sprint(charge), "distance": fmt.Sprint(distance), "building": "NSR1"}}).want(http.StatusCreated)
	}
	for i, shot := range shotLog {
		at := first.Add(time.Duration(i) * 24 * time.Hour)
		blast(i+1, at, shot[0], shot[1])
		// the instrument's clock is 20 s fast, and it noticed a lorry before
		rows += fmt.Sprintf("%s,%v\n%s,0.2\n", at.Add(20*time.Second).Format(time.RFC3339), shot[2], at.Add(time.Hour).Format(time.RFC3339))
	}
	unseen := first.Add(17 * 24 * time.Hour)
	blast(17, unseen, 800, 20)
	rows += unseen.Format(time.RFC3339) + ",<0.1\n"
	blast(18, first.Add(18*24*time.Hour), 900, 20)
	s.push(made.Token, "text/csv", rows).pushed(33, 0)
	s.clock.pass(6 * time.Second)
	p.send("GET", "/api/shots", nil).want(200).into(&log)
	if len(log.Shots) != 18 || log.Unseen != 1 || log.NoRecord != 1 || log.Line == nil || !strings.Contains(log.Caution, "shotfirer") {
		t.Fatalf("%d shots, %d unseen, %d without a reading: %s", len(log.Shots), log.Unseen, log.NoRecord, log.Why)
	}
	for _, c := range []struct {
		name      string
		got, want float64
		to        float64
	}{
		{"NV-63 b", log.Line.B, -2.199317, 5e-7}, {"NV-63 a", log.Line.A, 3.942898, 5e-7}, {"NV-63 spread", log.Line.Spread, 0.0602061, 5e-8},
		{"NV-63 r²", log.Line.R2, 0.975342, 5e-7}, {"NV-63 K half", log.Line.KHalf, 8767.955, 5e-4}, {"NV-63 K 95 %", log.Line.KUpper, 11013.58, 5e-3},
	} {
		if math.Abs(c.got-c.want) > c.to {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	if log.Line.N != 16 || log.Line.Over != 1 {
		t.Errorf("NV-63: %d in the line, %d above its upper one", log.Line.N, log.Line.Over)
	}
	var c ShotCharge
	p.send("GET", "/api/shots/charge?distance=300&limit=6", nil).want(200).into(&c)
	if math.Abs(c.Scaled-30.479) > 5e-4 || c.KG < 96.87 || c.KG > 96.88 || c.Caution == "" {
		t.Errorf("NV-65: %+v", c)
	}
	for name, query := range map[string]string{"no distance": "distance=0&limit=6", "a limit nobody measured": "distance=300&limit=60", "no number": "distance=far&limit=6"} {
		t.Run(name, func(t *testing.T) { p.send("GET", "/api/shots/charge?"+query, nil).want(422) })
	}
}
