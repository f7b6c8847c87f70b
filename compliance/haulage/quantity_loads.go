package haulage

import (
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// words that narrow what is counted of tickets.
var words = []string{"direction", "material"}

// loadsQuantity counts tickets.
func loadsQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "haulage.loads", Title: "loads", Form: quantity.Events, NotBelow: new(float64),
		With: words, Caution: "verdict",
		Help: "Loads through the gate, one for each ticket.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return each(rec, ask, 1), nil
		},
	}
}

// each makes one observation of that value for each ticket.
func each(rec quantity.Record, ask quantity.Ask, value float64) []quantity.Observation {
	var out []quantity.Observation
	for _, e := range observe.Wanted(rec, "ticket.1", ask, words...) {
		o := observe.Of(e, ask)
		o.Name, o.Value, o.Note = e.Body.Text("direction"), value, "ticket "+e.Body.Text("number")
		out = append(out, o)
	}
	return out
}
