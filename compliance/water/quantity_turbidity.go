package water

import "github.com/swardbook/swardbook/compliance/quantity"

// turbidityQuantity is turbidity read from channels; that of samples is the
// determinand turbidity_sample.
func turbidityQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "water.turbidity", Title: "turbidity", Unit: "NTU", Form: quantity.Series, NotBelow: new(float64),
		With: []string{"channel"}, Caution: "river", Help: "Turbidity by white light. Infrared units (FNU) are not turned into it.",
	}
}
