// Package catalogue is the explicit list of every kind of entry, every
// quantity, every checklist and every caution. It is the only package of the
// domain that imports the subjects; the order is fixed here and nowhere else.
package catalogue

import (
	"slices"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/dust"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/haulage"
	"github.com/swardbook/swardbook/compliance/inspection"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/noise"
	"github.com/swardbook/swardbook/compliance/plant"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/restoration"
	"github.com/swardbook/swardbook/compliance/site"
	"github.com/swardbook/swardbook/compliance/soil"
	"github.com/swardbook/swardbook/compliance/vibration"
	"github.com/swardbook/swardbook/compliance/water"
	"github.com/swardbook/swardbook/compliance/weather"
)

// Kinds returns every kind of entry, or an error when two share a name or a
// register.
func Kinds() (*book.Kinds, error) {
	return book.NewKinds(slices.Concat(
		site.Kinds(), monitoring.Kinds(), inspection.Kinds(), plant.Kinds(),
		haulage.Kinds(), water.Kinds(), soil.Kinds(), vibration.Kinds(), dust.Kinds(), weather.Kinds(),
	)...)
}

// Quantities returns every quantity that conditions may name, or an error when
// two share a code.
func Quantities() (*quantity.List, error) {
	return quantity.NewList(slices.Concat(
		noise.Quantities(), vibration.Quantities(), dust.Quantities(), weather.Quantities(),
		water.Quantities(), soil.Quantities(), restoration.Quantities(), haulage.Quantities(),
		plant.Quantities(), inspection.Quantities(), site.Quantities(), monitoring.Quantities(),
	)...)
}

// Duties returns everything that makes duties of single entries.
func Duties() []duty.Source {
	return slices.Concat(site.Duties(), monitoring.Duties(), inspection.Duties(), weather.Duties())
}

// Checklists returns the checklists of inspections, in the order shown.
func Checklists() []inspection.Checklist { return inspection.Checklists() }
