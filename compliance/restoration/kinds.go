// Package restoration holds what conditions read of ground put back: how far
// its levels lie from those wanted.
package restoration

import "github.com/swardbook/swardbook/compliance/quantity"

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	return []*quantity.Quantity{
		levelDifferenceQuantity(),
	}
}
