package permit

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/quantity"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// quantities is a list like the program's own, without what observes them.
func quantities(t testing.TB) *quantity.List {
	t.Helper()
	series := func(code, title, unit string) *quantity.Quantity {
		return &quantity.Quantity{Code: code, Title: title, Unit: unit, Form: quantity.Series, NotBelow: new(float64), With: []string{"channel"}}
	}
	level := func(code, title string) *quantity.Quantity {
		return &quantity.Quantity{Code: code, Title: title, Unit: "dB", Form: quantity.Series, Decibel: true, With: []string{"channel"}}
	}
	of := func(form quantity.Form, code, title, unit string, with ...string) *quantity.Quantity {
		return &quantity.Quantity{Code: code, Title: title, Unit: unit, Form: form, NotBelow: new(float64), With: with}
	}
	difference := []string{"before", "after", "within", "accuracy"}
	l, err := quantity.NewList(
		level("noise.laeq", "LAeq"), level("noise.lafmax", "LAFmax"), level("vibration.airblast", "air overpressure"),
		series("vibration.ppv", "peak particle velocity", "mm/s"), series("dust.pm10", "PM10", "µg/m³"),
		series("dust.deposition", "dust deposition", "mg/m²/d"), series("water.turbidity", "turbidity", "NTU"),
		series("water.volume", "volume of water", "m³"), series("water.flow", "rate of flow", "L/s"),
		of(quantity.Samples, "water.tss", "suspended solids", "mg/L", "taken", "fraction"),
		of(quantity.Samples, "water.settleable", "settleable solids", "mL/L", "taken"),
		of(quantity.Samples, "water.ammonia", "ammonia as N", "mg/L", "taken", "fraction"),
		&quantity.Quantity{Code: "water.ph", Title: "pH", Unit: "pH", Form: quantity.Samples, With: []string{"taken"}},
		of(quantity.Levels, "soil.mound_height", "mound height", "m", "holds"),
		of(quantity.Levels, "soil.mound_volume", "mound volume", "m³"),
		of(quantity.Levels, "restoration.level_difference", "share of ground within the level tolerance", "%", difference...),
		of(quantity.Levels, "restoration.level_above", "greatest height above the level wanted", "m", difference...),
		of(quantity.Levels, "restoration.level_below", "greatest depth below the level wanted", "m", difference...),
		of(quantity.Levels, "soil.mound_slope", "steepest mound face", "°", "holds"),
		of(quantity.Samples, "soil.depth", "soil depth", "m", "layer", "position"),
		of(quantity.Samples, "soil.rooting_depth", "rooting depth", "m", "layer", "position"),
		of(quantity.Samples, "soil.cone_resistance", "cone resistance", "MPa", "layer", "position"),
		of(quantity.Samples, "soil.stones", "stones", "", "layer", "position"),
		of(quantity.Samples, "soil.plant_cover", "plant cover", "%", "layer", "position"),
		of(quantity.Samples, "soil.standing_water", "standing water", "m²", "layer", "position"),
		of(quantity.Samples, "plant.bund_capacity", "bund capacity", "%", "layer", "position"),
		of(quantity.Samples, "plant.bund_capacity_of_all", "bund capacity of all", "%", "layer", "position"),
		of(quantity.Samples, "plant.tray_capacity", "tray capacity", "%", "layer", "position"),
		of(quantity.Samples, "site.distance", "distance", "m", "layer", "position"),
		of(quantity.Samples, "light.illuminance", "illuminance", "lx", "layer", "position"),
		&quantity.Quantity{Code: "noise.laeq_visit", Title: "noise at a visit", Unit: "dB", Form: quantity.Samples, Decibel: true, With: []string{"layer", "position"}},
		&quantity.Quantity{Code: "water.well_level", Title: "water in a well", Unit: "m", Form: quantity.Samples, With: []string{"layer", "position"}},
		of(quantity.Samples, "water.conductivity", "electrical conductivity", "µS/cm", "taken"),
		of(quantity.Samples, "vibration.scaled_distance", "scaled distance", "m/kg½"),
		of(quantity.Events, "vibration.blasts", "blasts", ""),
		of(quantity.Events, "water.abstraction_volume", "volume of water abstracted", "m³", "meter"),
		of(quantity.Events, "site.complaints", "complaints", "", "about", "justified"),
		of(quantity.Events, "site.incidents", "incidents", "", "sort"),
		of(quantity.Events, "site.incidents_told", "incidents told", "", "sort"),
		series("weather.wind", "wind speed", "m/s"),
		of(quantity.Events, "soil.stripped_volume", "volume stripped", "m³", "horizon"),
		of(quantity.Levels, "restoration.volume_difference", "volume against the levels wanted", "m³", difference...),
		of(quantity.Samples, "soil.strip_depth", "depth stripped", "m", "horizon", "figure"),
		of(quantity.Events, "haulage.movements", "lorry movements", "", "direction", "material"),
		of(quantity.Events, "haulage.loads", "loads", "", "direction", "material"),
		of(quantity.Events, "haulage.tonnes", "mass hauled", "t", "direction", "material"),
		of(quantity.Events, "plant.run_hours", "run hours", "h", "machine"),
		of(quantity.Events, "inspection.answers", "answers to checklist items", "", "checklist", "item", "answer"),
		of(quantity.Acts, "site.act", "work on site", "", "act"),
		of(quantity.Papers, "site.paper", "submission or approval", "", "scheme", "stage", "revision"),
	)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// head begins a notice in tests; clauses 1 to 4 follow it.
const head = `permit:
  reference: EX/1
  granted: 2026-01-12
  zone: Europe/London
  holidays: england-and-wales
`

// oneClause is a notice whose clause 1 is judged by the condition given, which
// is written as the body of a mapping without indent.
func oneClause(condition string) string {
	var b strings.Builder
	b.WriteString(head + "clauses:\n  - {number: \"1\", text: as typed, treated: judged}\nconditions:\n")
	lead := "  - "
	for _, l := range strings.Split(strings.TrimRight(condition, "\n"), "\n") {
		b.WriteString(lead + l + "\n")
		lead = "    "
	}
	return b.String()
}

// noise is the body of a condition that is in order.
const noise = `clause: "1"
kind: measured
subject: noise.laeq
place: NSR1
window: clock hour
statistic: energy mean
limit: <= 55 dB
`

// with returns the body with a key set anew, added, or taken away by "".
func with(body, key, value string) string {
	var out []string
	for _, l := range strings.Split(strings.TrimRight(body, "\n"), "\n") {
		if !strings.HasPrefix(l, key+":") {
			out = append(out, l)
		}
	}
	if value != "" {
		out = append(out, key+": "+value)
	}
	return strings.Join(out, "\n") + "\n"
}

func mustRead(t testing.TB, text string) *Notice {
	t.Helper()
	n, err := Read(strings.NewReader(text), "notice.yaml")
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return n
}

// golden compares got with a file of testdata, or rewrites it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(want) != got {
		t.Errorf("%s differs; run with -update and read the difference\n--- want\n%s\n--- got\n%s", path, want, got)
	}
}
