// Package dust holds the contents of dust in air that conditions may name.
// They are read from channels.
package dust

import "github.com/swardbook/swardbook/compliance/quantity"

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	return []*quantity.Quantity{
		content("dust.pm10", "PM10"),
		content("dust.pm25", "PM2.5"),
		deposition(),
		settled(),
	}
}

func content(code, title string) *quantity.Quantity {
	return &quantity.Quantity{
		Code: code, Title: title, Unit: "µg/m³", Form: quantity.Series,
		With: []string{"channel"}, Caution: "receptors", Help: "Mass of airborne particles per volume of air. Small negative readings are the instrument's own scatter and count as they are.",
	}
}

func deposition() *quantity.Quantity {
	var floor float64
	return &quantity.Quantity{
		Code: "dust.deposition", Title: "dust deposition", Unit: "mg/m²/d", Form: quantity.Series, NotBelow: &floor,
		With: []string{"channel"}, Caution: "receptors", Help: "Mass settled in a gauge per area and day of exposure.",
	}
}
