// Package vibration holds ground vibration and air overpressure as conditions
// may name them, which are read from channels, and the shot log.
package vibration

import "github.com/swardbook/swardbook/compliance/quantity"

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	return append([]*quantity.Quantity{ppv(), frequency(), airblast()}, blastQuantities()...)
}

func ppv() *quantity.Quantity {
	var floor float64
	return &quantity.Quantity{
		Code: "vibration.ppv", Title: "peak particle velocity", Unit: "mm/s", Form: quantity.Series, NotBelow: &floor,
		With: []string{"channel"}, Caution: "vibration", Help: "Greatest speed of the ground in any one direction, as the instrument gives it.",
	}
}

func frequency() *quantity.Quantity {
	var floor float64
	return &quantity.Quantity{
		Code: "vibration.frequency", Title: "frequency of the ground's motion", Unit: "Hz", Form: quantity.Series, NotBelow: &floor,
		With: []string{"channel"}, Caution: "vibration", Help: "Frequency that goes with each peak particle velocity, at the same time and place: limit curves run along it.",
	}
}

func airblast() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "vibration.airblast", Title: "air overpressure", Unit: "dB", Form: quantity.Series, Decibel: true,
		With: []string{"channel"}, Caution: "blast", Help: "Peak of the unweighted pressure of the air, as a level.",
	}
}
