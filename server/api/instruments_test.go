package api

import (
	"fmt"
	"testing"

	"github.com/swardbook/swardbook/server/app"
)

// An instrument that stood at one place and was carried to another, and drifted
// on the way: all of it is told in order, by what entries said.
func TestInstrumentsAreTold(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	var got InstrumentList
	p.send("GET", "/api/instruments", nil).want(200).into(&got)
	if got.Instruments == nil || len(got.Instruments) != 0 {
		t.Fatalf("before any is on file: %+v", got.Instruments)
	}
	n := 0
	put := func(kind, at, until string, places []string, body map[string]any) {
		n++
		e := map[string]any{"kind": kind, "at": at, "at_precision": "minute", "offset": "+00:00", "made": at, "places": places, "body": body}
		if until != "" {
			e["until"] = until
		}
		p.send("PUT", "/api/entries/"+newID(700+n), e).want(201)
	}
	put("instrument.1", "2025-03-01T08:00:00Z", "", nil, map[string]any{"ref": "SLM9", "title": "Sound level logger", "serial": "20-9", "class": "class 1"})
	put("deployment.1", "2025-03-02T08:00:00Z", "2025-03-09T08:00:00Z", []string{"NSR1"}, map[string]any{"ref": "D1", "instrument": "SLM9", "position": "façade", "height": "1.5"})
	put("deployment.1", "2025-03-09T12:00:00Z", "", []string{"NSR2"}, map[string]any{"ref": "D2", "instrument": "SLM9", "position": "free field"})
	put("calibration.1", "2023-03-01T08:00:00Z", "", nil, map[string]any{"instrument": "SLM9", "laboratory": "Northbeck Calibration", "certificate": "NC-9", "valid_until": "2025-03-05", "outcome": "within tolerance"})
	for _, c := range [][2]string{{"2025-03-02T08:00:00Z", "94.0"}, {"2025-03-09T08:00:00Z", "93.3"}, {"2025-03-12T08:00:00Z", "92.1"}} {
		put("field_check.1", c[0], "", []string{"NSR1"}, map[string]any{"instrument": "SLM9", "when": "during", "expected": "94.0", "shown": c[1], "unit": "dB", "outcome": "within tolerance"})
	}
	p.send("GET", "/api/instruments", nil).want(200).into(&got)
	if len(got.Instruments) != 1 {
		t.Fatalf("%+v", got)
	}
	x := got.Instruments[0]
	if x.Ref != "SLM9" || x.Title != "Sound level logger" || x.Serial != "20-9" || x.Entry == "" || len(x.Stands) != 2 || len(x.Checks) != 4 || len(x.Certificates) != 1 {
		t.Fatalf("%+v", x)
	}
	if s := x.Stands; s[0].Position != "façade" || s[0].HeightM != "1.5" || s[0].Places[0] != "NSR1" || s[0].To == nil || s[1].To != nil {
		t.Errorf("%+v", s)
	}
	if c := x.Checks[2]; c.Where != "field" || c.State != "flagged" || c.Drift == nil || *c.Drift != -0.7 || c.Error == nil || *c.Error != -0.7 {
		t.Errorf("%+v", c)
	}
	if c := x.Checks[3]; c.State != "out" || *c.Drift != -1.2 {
		t.Errorf("%+v", c)
	}
	if c := x.Checks[0]; c.Where != "laboratory" || c.Error != nil {
		t.Errorf("%+v", c)
	}
	var doubts []string
	for _, d := range x.Doubts {
		doubts = append(doubts, fmt.Sprint(d.Effect, " ", d.From.UTC().Format("2 15:04"), " ", d.To != nil, " ", d.High, " ", len(d.Entries)))
	}
	want := []string{"uncertain 2 08:00 true 0.7 2", "noted 6 00:00 false 0 1", "left out 9 08:00 true 0 2", "left out 12 08:00 false 0 1"}
	if fmt.Sprint(doubts) != fmt.Sprint(want) {
		t.Errorf("%q, want %q", doubts, want)
	}
}
