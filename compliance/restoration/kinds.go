// Package restoration holds what conditions read of ground put back: how far
// its levels lie from those wanted.
package restoration

import "github.com/swardbook/swardbook/compliance/quantity"

// Quantities returns the quantities of this subject: one for each figure of a
// comparison, since each has a unit of its own.
func Quantities() []*quantity.Quantity {
	out := make([]*quantity.Quantity, len(figures))
	for i, f := range figures {
		out[i] = compared(f)
	}
	return out
}
