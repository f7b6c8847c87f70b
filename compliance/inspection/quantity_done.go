package inspection

import (
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// doneQuantity counts inspections.
func doneQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "inspection.done", Title: "inspections", Form: quantity.Events, NotBelow: new(float64),
		With:    []string{"checklist"},
		Caution: "verdict",
		Help:    "Inspections done, each counting 1. With a place, only those whose entry names it.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range observe.Wanted(rec, "inspection.1", ask, "checklist") {
				out = append(out, named(e, ask, e.Body.Text("checklist")))
			}
			return out, nil
		},
	}
}
