package water

import "github.com/swardbook/swardbook/compliance/quantity"

// levelQuantity is a water level above the site's datum, read from channels.
func levelQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "water.level", Title: "water level", Unit: "m", Form: quantity.Series,
		With: []string{"channel"}, Caution: "shaft", Help: "Level of water in a well, shaft, lagoon or stream above the site's datum.",
	}
}
