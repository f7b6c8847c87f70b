package site

import (
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// paperQuantity is the stages that schemes, reports and notifications reached.
func paperQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "site.paper", Title: "submission or approval", Form: quantity.Papers,
		With:    []string{"scheme", "stage", "revision"},
		Caution: "verdict",
		Help:    "A stage of a named paper. A paper that names no place holds for the whole site.",
		Observe: observePapers,
	}
}

func observePapers(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	var out []quantity.Observation
	for _, e := range rec.Entries("paper.1") {
		if e.Body == nil || !observe.During(ask, e.At, e.At) || !observe.Covers(e, ask) || !observe.Says(e.Body, ask, "scheme", "stage", "revision") {
			continue
		}
		o := observe.Of(e, ask)
		o.Name, o.Text = e.Body.Text("stage"), e.Body.Text("scheme")
		if r := e.Body.Text("revision"); r != "" {
			o.Note = "revision " + r
		}
		out = append(out, o)
	}
	return out, nil
}
