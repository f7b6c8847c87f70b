package act

// uses are the quantities that an act adds to, by the beginning of their codes.
var uses = map[string][]string{
	"haul":       {"haulage."},
	"delivery":   {"haulage."},
	"discharge":  {"water.discharge_volume", "water.flow_volume", "water.volume"},
	"dewater":    {"water.abstraction_volume", "water.discharge_volume", "water.flow_volume", "water.volume"},
	"drilling":   {"plant.run_hours"},
	"noisy work": {"plant.run_hours"},
	"blast":      {"vibration.blasts"},
	Strip:        {"soil.stripped_area"},
}

// Uses returns the beginnings of the codes of quantities that an act adds to.
func Uses(name string) []string { return uses[name] }
