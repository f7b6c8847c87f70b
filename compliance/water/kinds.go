package water

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Kinds returns the kinds of this subject in the order shown.
func Kinds() []*book.Kind {
	return []*book.Kind{
		sampleKind(),
		totaliserKind(),
	}
}

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	list := []*quantity.Quantity{
		flowQuantity(),
		pulseQuantity(),
		levelQuantity(),
		turbidityQuantity(),
		dischargeVolumeQuantity(),
		abstractionVolumeQuantity(),
	}
	return append(list, determinandQuantities()...)
}
