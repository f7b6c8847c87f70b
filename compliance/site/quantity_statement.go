package site

import (
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// statementQuantity is what named roles state of clauses.
func statementQuantity() *quantity.Quantity {
	words := []string{"permit", "clause", "role", "answer"}
	return &quantity.Quantity{
		Code: "site.statement", Title: "statement", Form: quantity.Papers,
		With:    words,
		Caution: "verdict",
		Help:    "What a named role states of a clause; the name is met or not met. One that names no place holds for the whole site.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range rec.Entries("statement.1") {
				from, to := e.Span()
				if e.Body == nil || !observe.During(ask, from, to) || !observe.Covers(e, ask) || !observe.Says(e.Body, ask, words...) {
					continue
				}
				o := observe.Of(e, ask)
				o.Name, o.Text, o.Note = e.Body.Text("answer"), e.Body.Text("role"), "clause "+e.Body.Text("clause")
				out = append(out, o)
			}
			return out, nil
		},
	}
}
