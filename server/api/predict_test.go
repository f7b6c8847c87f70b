package api

import (
	"math"
	"testing"

	"github.com/swardbook/swardbook/server/app"
)

func excavatorAt(place string, on float64) map[string]any {
	return map[string]any{"method": "activity", "receptors": []string{"NSR1"}, "plant": []any{map[string]any{"name": "excavator", "place": place, "level": 77, "on": on}}}
}

// The yard's middle is 350 m east and 50 m north of the receptor: 353.55 m.
func TestNoiseForetoldOnThePlan(t *testing.T) {
	s := serve(t)
	p := s.as(app.Manager)
	var all ForetoldAll
	p.send("POST", "/api/noise/foretell", excavatorAt("YARD", 80)).want(200).into(&all)
	one := all.Receptors[0]
	want := 77 - 20*math.Log10(math.Hypot(350, 50)/10) + 10*math.Log10(0.8)
	if math.Abs(one.DB-want) > 1e-6 || math.Abs(one.Each[0].Distance-math.Hypot(350, 50)) > 1e-6 || len(one.Each[0].Terms) != 3 || len(one.Each[0].Notes) != 1 || all.Caution == "" {
		t.Errorf("%+v, want %.4f dB", one, want)
	}
	p.send("POST", "/api/noise/foretell", excavatorAt("NOWHERE", 80)).problem(422, app.Invalid)
	p.send("POST", "/api/noise/foretell", excavatorAt("YARD", 0)).problem(422, app.Invalid)
	p.send("POST", "/api/noise/foretell", map[string]any{"method": "activity", "receptors": []string{}, "plant": []any{}}).problem(422, app.Invalid)
	s.as(app.Gate).send("POST", "/api/noise/foretell", excavatorAt("YARD", 80)).problem(403, app.Forbidden)
}

// A limit in force at the receptor stands beside the level, with its margin.
func TestNoiseForetoldBesideItsLimit(t *testing.T) {
	s := serve(t)
	p := s.as(app.Manager)
	text := "id: day\nclause: \"1\"\nkind: measured\ntitle: by day\nsubject: noise.laeq\nplace: NSR1\nwindow: clock hour\nstatistic: energy mean\nlimit: <= 45 dB\n"
	p.send("PUT", "/api/amendments/"+newID(1), map[string]any{"permit": "RI/NOISE", "change": "condition added", "text": text}).want(201)
	var all ForetoldAll
	p.send("POST", "/api/noise/foretell", excavatorAt("YARD", 80)).want(200).into(&all)
	one := all.Receptors[0]
	if len(one.Limits) != 1 || one.Limits[0].Condition != "day" || math.Abs(one.Limits[0].Margin-(45-one.DB)) > 1e-9 {
		t.Errorf("%+v", one.Limits)
	}
}
