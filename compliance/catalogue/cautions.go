package catalogue

// caution is one caution with its key and the figures it goes with.
type caution struct{ key, figures, text string }

// cautions is what is shown beside figures, on screen, in print and in the
// notes of tables: what a figure is not, and who decides. Common practice in
// our own words; local codes and licensed people come first.
var cautions = []caution{
	{"blast", "blast charge, scaled distance, vibration and overpressure from blasting",
		"For the appointed shotfirer. Nothing is said outside the range that was measured, nor of thrown rock or the danger zone."},
	{"vibration", "vibration at buildings",
		"Not a structural survey: an engineer judges the building."},
	{"receptors", "noise and dust at receptors",
		"Measured where neighbours are. It says nothing of what workers hear or breathe; that is the employer's assessment."},
	{"predicted", "predicted noise",
		"An estimate, not a measurement. Measure to confirm."},
	{"mound", "height, slope and volume of mounds, spoil, lagoons and faces",
		"Not a stability check. Keep off edges and do not climb to measure; a competent engineer judges slopes."},
	{"levels", "levels, sections, areas and drain lines",
		"Not for setting out or digging. Have services and drains located first, by whoever is competent to."},
	{"casing", "casing displacement, uplift and ballast",
		"Not a design of lifting or temporary works; their appointed designers decide."},
	{"shaft", "shaft depth and volume, water level below ground",
		"No one goes in on this figure. Confined-space and shaft rules and their permits apply."},
	{"discharge", "water discharge rate and volume, mixing, settling, dosing",
		"The authorised person opens the valve. Dilution is not treatment."},
	{"high-ph", "pH, cement and grout water",
		"High pH burns eyes and skin. Only trained people dose acid or carbon dioxide."},
	{"river", "river and outfall readings and samples",
		"No one samples alone, nor when the water is in spate."},
	{"generator", "generator and engine hours and load",
		"Exhaust gas kills: no engine runs in an enclosed or below-ground space without the ventilation planned for it."},
	{"bund", "bund capacity",
		"What is left after rain is what counts. Never let oily water out of a bund."},
	{"vehicle", "vehicle and load mass",
		"An overloaded vehicle does not leave. The law on vehicle weights applies, whatever the total here."},
	{"wind", "wind speed",
		"Not a limit for cranes or lifting; the lifting plan sets those."},
	{"weed", "weed treatment and plant cover",
		"Keep stock out for the time the label states."},
	{"trees", "trees, nests and finds",
		"The named specialist decides. Stop when in doubt."},
	{"form", "every form filled in on site",
		"Stand clear of plant. Never use a phone while driving."},
	{"verdict", "every verdict, and every answer to \"May I?\"",
		"Computed from what is on file. The permit's own words, the authority and local codes decide; this gives no permission."},
}

// Caution returns the caution of a key, "" when there is none.
func Caution(key string) string {
	for i := range cautions {
		if cautions[i].key == key {
			return cautions[i].text
		}
	}
	return ""
}

// CautionKeys returns the keys of every caution, in the order of the list.
func CautionKeys() []string {
	keys := make([]string, len(cautions))
	for i := range cautions {
		keys[i] = cautions[i].key
	}
	return keys
}

// CautionFigures says which figures a caution goes with, "" for an unknown key.
func CautionFigures(key string) string {
	for i := range cautions {
		if cautions[i].key == key {
			return cautions[i].figures
		}
	}
	return ""
}
