package site

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Kinds returns the kinds of this folder in the order shown.
func Kinds() []*book.Kind {
	return []*book.Kind{
		siteKind(),
		personKind(),
		roleKind(),
		postKind(),
		neededKind(),
		planKind(),
		calendarKind(),
		permitKind(),
		variationKind(),
		appliedKind(),
		comparedKind(),
		paperKind(),
		statementKind(),
		holdKind(),
		consentKind(),
		phaseKind(),
		askedKind(),
		complaintKind(),
		incidentKind(),
		documentKind(),
		surveyKind(),
		redactionKind(),
		handoverKind(),
	}
}

// Quantities returns the quantities of this folder.
func Quantities() []*quantity.Quantity {
	return []*quantity.Quantity{
		paperQuantity(),
		statementQuantity(),
		complaintQuantity(),
		incidentQuantity(),
		toldQuantity(),
	}
}
