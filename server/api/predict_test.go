package api

import (
	"math"
	"strings"
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

// By octave bands, through a wall, beside an ambient; and what does not go.
func TestForetellOutdoors(t *testing.T) {
	s := serve(t)
	ask := func(change func(asked, plant map[string]any)) *said {
		plant := map[string]any{"name": "excavator", "place": "YARD", "level": 0, "on": 100, "octaves": []float64{95, 84, 79, 73, 70, 68, 64, 57},
			"wall": map[string]any{"height": 4, "from_source": 10, "source": 1.5, "receiver": 1.5}}
		asked := map[string]any{"method": "outdoor", "receptors": []string{"NSR1"}, "plant": []any{plant}, "ambient": 52, "period": "day", "celsius": 15, "humidity": 50}
		change(asked, plant)
		return s.as(app.Manager).send("POST", "/api/noise/foretell", asked)
	}
	var got ForetoldAll
	ask(func(_, _ map[string]any) {}).want(200).into(&got)
	one := got.Receptors[0]
	sum := 0.0
	words := ""
	for _, term := range one.Each[0].Terms {
		sum += term.DB
		words += term.Words + "\n"
	}
	if math.Abs(sum-one.DB) > 1e-9 || !strings.Contains(words, "wall, by octave bands") || !strings.Contains(words, "air of 15 °C, 50 %") {
		t.Errorf("%v dB of\n%s", one.DB, words)
	}
	if b := one.Beside; b == nil || b.Letter != "A" || b.Threshold != 65 || math.Abs(b.Total-52-b.Rise) > 1e-9 {
		t.Errorf("beside the ambient: %+v", one.Beside)
	}
	for name, change := range map[string]func(asked, plant map[string]any){
		"seven bands":          func(_, plant map[string]any) { plant["octaves"] = []float64{1, 2, 3, 4, 5, 6, 7} },
		"no bands":             func(_, plant map[string]any) { delete(plant, "octaves") },
		"bands by another way": func(asked, _ map[string]any) { asked["method"] = "activity" },
		"a wall behind the ear": func(_, plant map[string]any) {
			plant["wall"] = map[string]any{"height": 4, "from_source": 1e6, "source": 1, "receiver": 1}
		},
		"an air nobody breathes": func(asked, _ map[string]any) { asked["celsius"] = 90 },
		"a period nobody knows":  func(asked, _ map[string]any) { asked["period"] = "tea time" },
	} {
		t.Run(name, func(t *testing.T) { ask(change).want(422) })
	}
}
