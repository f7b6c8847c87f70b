package monitoring

import (
	"slices"

	"github.com/swardbook/swardbook/compliance/unit"
)

// spot is one thing that is measured by hand at a place: once, at a visit.
type spot struct {
	name, code, unit, caution string
	scale                     bool // may lie below 0 or is no amount, so has no floor
	help                      string
}

// spots is the table of what may be measured by hand, in the order shown.
var spots = []spot{
	{name: "soil depth", code: "soil.depth", unit: "m", caution: "levels", help: "Depth of one layer of soil in a pit or bore; the layer in its own field."},
	{name: "rooting depth", code: "soil.rooting_depth", unit: "m", caution: "levels", help: "Depth that roots can use, from the surface down to what stops them."},
	{name: "cone resistance", code: "soil.cone_resistance", unit: "MPa", caution: "levels", help: "Resistance of the soil to a cone, greatest in the layer."},
	{name: "stones", code: "soil.stones", caution: "weed", help: "Stones larger than the size agreed, counted in 100 m²."},
	{name: "plant cover", code: "soil.plant_cover", unit: "%", caution: "weed", help: "Ground covered by plants, as a share of the ground, or of the standard where the condition compares with one; one result for each frame or line."},
	{name: "standing water", code: "soil.standing_water", unit: "m²", caution: "levels", help: "Area under water at the visit."},
	{name: "level difference", code: "restoration.point_difference", unit: "m", caution: "levels", scale: true, help: "Level at a check point less the level it had before, or is to have."},
	{name: "noise at a visit", code: "noise.laeq_visit", unit: "dB", caution: "receptors", scale: true, help: "Equivalent level, A-weighted, over the time of the visit, from beginning to end of the entry."},
	{name: "illuminance", code: "light.illuminance", unit: "lx", caution: "verdict", help: "Light falling on the place, without that of the moon and the road."},
	{name: "bund capacity", code: "plant.bund_capacity", unit: "%", caution: "bund", help: "What the bund holds, free of rain, against the largest tank in it."},
	{name: "bund capacity of all", code: "plant.bund_capacity_of_all", unit: "%", caution: "bund", help: "What the bund holds, free of rain, against all that is stored in it."},
	{name: "tray capacity", code: "plant.tray_capacity", unit: "%", caution: "bund", help: "What a drip tray holds against the drum on it."},
	{name: "distance", code: "site.distance", unit: "m", caution: "levels", help: "Least distance from the place to what the condition is about, measured on the ground."},
	{name: "water in a well", code: "water.well_level", unit: "m", caution: "shaft", scale: true, help: "Level of the water in a well, against the site datum."},
	{name: "river flow", code: "water.river_flow", unit: "m³/s", caution: "river", help: "Flow of the river, from a gauging."},
}

func spotNamed(name string) *spot {
	if i := slices.IndexFunc(spots, func(s spot) bool { return s.name == name }); i >= 0 {
		return &spots[i]
	}
	return nil
}

func spotNames() []string {
	out := make([]string, len(spots))
	for i := range spots {
		out[i] = spots[i].name
	}
	return out
}

// takes tells whether a result in a unit can be turned into the spot's own; no
// unit means the spot's.
func (s *spot) takes(symbol string) error {
	if symbol == "" {
		return nil
	}
	return unit.Convertible(symbol, s.unit)
}
