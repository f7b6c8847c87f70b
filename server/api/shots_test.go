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
	// A reading that may be of either of two blasts, and one the instrument could
	// not show, are figures of no blast.
	both := first.Add(18*24*time.Hour + 2*time.Hour)
	blast(20, both.Add(time.Minute), 250, 30)
	blast(19, both, 400, 50)
	beyond := both.Add(2 * time.Hour)
	blast(21, beyond, 90, 60)
	rows += both.Format(time.RFC3339) + ",4.4\n" + beyond.Add(-time.Second).Format(time.RFC3339) + ",12\n" + beyond.Format(time.RFC3339) + ",>25.4\n"
	// An instrument at a place whose distance nobody gave, and a blast of a day.
	elsewhere := first.Add(17*24*time.Hour + 2*time.Hour)
	unnamed := map[string]any{"kind": "blast.1", "at": elsewhere.Format(time.RFC3339), "at_precision": "minute", "places": []string{"YARD"}, "body": map[string]any{"number": "22", "charge_per_delay": "40", "distance": "260", "monitored": "NSR1"}}
	p.send("PUT", "/api/entries/"+newID(22), unnamed).want(http.StatusCreated)
	rows += elsewhere.Format(time.RFC3339) + ",3.3\n"
	s.push(made.Token, "text/csv", rows).pushed(37, 0)
	s.clock.pass(6 * time.Second)
	p.send("GET", "/api/shots", nil).want(200).into(&log)
	if len(log.Shots) != 22 || log.Unseen != 1 || log.NoRecord != 2 || log.Unsure != 3 || log.Line == nil || !strings.Contains(log.Caution, "shotfirer") {
		t.Fatalf("%d shots, %d unseen, %d without a reading: %s", len(log.Shots), log.Unseen, log.NoRecord, log.Why)
	}
	states := map[string]string{}
	for _, l := range log.Shots {
		if states[l.Number] = l.State; (l.PPV != nil) != (l.State == string(app.ShotMeasured)) {
			t.Errorf("blast %s: %s with %v", l.Number, l.State, l.PPV)
		}
	}
	for number, want := range map[string]app.ShotState{"16": app.ShotMeasured, "17": app.ShotUnseen, "18": app.ShotNoRecord, "19": app.ShotMixed, "20": app.ShotMixed, "21": app.ShotBeyond, "22": app.ShotNoRecord} {
		if states[number] != string(want) {
			t.Errorf("blast %s: %s, want %s", number, states[number], want)
		}
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
	for name, query := range map[string]string{"no distance": "distance=0&limit=6", "a limit nobody measured": "distance=300&limit=60", "no number": "distance=far&limit=6", "no end": "distance=Inf&limit=6"} {
		t.Run(name, func(t *testing.T) { p.send("GET", "/api/shots/charge?"+query, nil).want(422) })
	}
}

// A roller 60 ft away, and how far it reaches: worked out apart from this program by
// the law and the table of the US FTA manual of 2006.
func TestVibrationOfAMachine(t *testing.T) {
	s := serve(t)
	p := s.as(app.Manager)
	var list []Machine
	p.send("GET", "/api/vibration/machines", nil).want(200).into(&list)
	if len(list) == 0 || list[0].Name == "" || list[0].At25 <= 0 {
		t.Fatalf("%+v", list)
	}
	const at = "/api/vibration/machine?machine=vibratory%20roller&distance="
	var got MachineShake
	p.send("GET", at+"18.288&limit=5", nil).want(200).into(&got)
	if math.Abs(got.PPV-1.4346) > 5e-5 || got.Reach == nil || math.Abs(*got.Reach-7.96) > 0.005 || len(got.Damage) != 0 || len(got.Cautions) != 2 {
		t.Errorf("NV-62: %+v", got)
	}
	got = MachineShake{}
	p.send("GET", at+"18.288", nil).want(200).into(&got)
	if got.Reach != nil || len(got.Damage) != 4 || math.Abs(got.Damage[2].Reach-25.83*0.3048) > 0.002 || math.Abs(got.Damage[3].Reach-36.30*0.3048) > 0.002 {
		t.Errorf("NV-62: %+v", got)
	}
	for name, path := range map[string]string{
		"no distance": at + "0", "no end": at + "Inf", "a limit of nothing": at + "20&limit=0", "a limit that is no figure": at + "20&limit=five",
		"no machine of the table": "/api/vibration/machine?machine=digger&distance=20",
	} {
		t.Run(name, func(t *testing.T) { p.send("GET", path, nil).problem(422, app.Invalid) })
	}
}
