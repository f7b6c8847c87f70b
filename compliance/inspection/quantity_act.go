package inspection

import (
	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// actQuantity is what was done on the site: acts of the diary, and soil
// strips, which have a register of their own.
func actQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "site.act", Title: "work on site", Form: quantity.Acts,
		With:    []string{"act"},
		Caution: "verdict",
		Help:    "Acts from the diary and the strip register. With a place, only acts whose entry names it.",
		Observe: observeActs,
	}
}

func observeActs(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	var out []quantity.Observation
	for _, e := range observe.Wanted(rec, "diary.1", ask, "act") {
		if name := e.Body.Text("act"); name != act.None {
			out = append(out, named(e, ask, name))
		}
	}
	if want := ask.With["act"]; want == "" || want == act.Strip {
		for _, e := range observe.Wanted(rec, "strip.1", ask) {
			o := named(e, ask, act.Strip)
			o.Note = e.Body.Text("horizon")
			out = append(out, o)
		}
	}
	return out, nil
}

func named(e *book.Entry, ask quantity.Ask, name string) quantity.Observation {
	o := observe.Of(e, ask)
	o.Name = name
	return o
}
