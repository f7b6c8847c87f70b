package water

import "github.com/swardbook/swardbook/compliance/quantity"

// flowQuantity is a rate of flow, read from channels.
func flowQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "water.flow", Title: "rate of flow", Unit: "L/s", Form: quantity.Series, NotBelow: new(float64),
		With: []string{"channel"}, Caution: "discharge", Help: "Volume of water per time past a point.",
	}
}

// pulseQuantity is volume passed in the time of each reading, read from
// channels, such as the pulses of a meter.
func pulseQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "water.volume", Title: "volume of water", Unit: "m³", Form: quantity.Series, NotBelow: new(float64),
		With: []string{"channel"}, Caution: "discharge", Help: "Volume passed in the time that each reading stands for.",
	}
}
