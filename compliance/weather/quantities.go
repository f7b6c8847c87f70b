// Package weather holds wind, rain and air temperature as conditions may name
// them. They are read from channels.
package weather

import "github.com/swardbook/swardbook/compliance/quantity"

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	var floor float64
	return []*quantity.Quantity{
		{Code: "weather.wind", Title: "wind speed", Unit: "m/s", Form: quantity.Series, NotBelow: &floor, With: []string{"channel"}, Caution: "wind", Help: "Speed of the wind at the mast, of whatever averaging the channel has."},
		{Code: "weather.wind_direction", Title: "wind direction", Unit: "°", Form: quantity.Series, NotBelow: &floor, With: []string{"channel"}, Caution: "wind", Help: "Where the wind comes from, clockwise from north. Directions have no arithmetic mean: a wind rose adds them as vectors."},
		{Code: "weather.rain", Title: "rain", Unit: "mm", Form: quantity.Series, NotBelow: &floor, With: []string{"channel"}, Help: "Depth of rain fallen in the time a reading stands for."},
		{Code: "weather.temperature", Title: "air temperature", Unit: "°C", Form: quantity.Series, With: []string{"channel"}},
	}
}
