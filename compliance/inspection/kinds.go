package inspection

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Kinds returns the kinds of this subject in the order shown.
func Kinds() []*book.Kind {
	return []*book.Kind{
		diaryKind(),
		inspectionKind(),
		findingKind(),
		remedyKind(),
	}
}

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	return []*quantity.Quantity{
		actQuantity(),
		doneQuantity(),
		answerQuantity(),
	}
}
