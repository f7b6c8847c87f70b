package haulage

import (
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// tonnesQuantity is the net mass of loads.
func tonnesQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "haulage.tonnes", Title: "mass hauled", Unit: "t", Form: quantity.Events, NotBelow: new(float64),
		With: words, Caution: "vehicle",
		Help:    "Net mass of each load: as printed, or gross less tare. A ticket without a mass is missing, not nothing.",
		Observe: observeTonnes,
	}
}

func observeTonnes(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	out := each(rec, ask, 0)
	for i := range out {
		o := &out[i]
		net, err := unit.ParseDecimal(o.Entry.Body.Text("net"))
		if err != nil {
			var ok bool
			if net, ok = weighed(o.Entry.Body); !ok {
				o.Mark = series.Blank
				o.Note += " has no mass"
				continue
			}
		}
		o.Value, o.Text = unit.Round9(net.Float()), net.String()
	}
	return out, nil
}
