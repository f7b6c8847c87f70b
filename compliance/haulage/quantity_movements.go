package haulage

import "github.com/swardbook/swardbook/compliance/quantity"

// movementsQuantity counts lorries through the gate both ways. Counting in and
// out as two movements is how traffic conditions are commonly worded.
func movementsQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "haulage.movements", Title: "lorry movements", Form: quantity.Events, NotBelow: new(float64),
		With: words, Caution: "verdict",
		Help: "Lorries through the gate, in and out: two for each ticket.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return each(rec, ask, 2), nil
		},
	}
}
