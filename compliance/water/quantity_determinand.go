package water

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// determinandQuantities returns one quantity for each determinand.
func determinandQuantities() []*quantity.Quantity {
	out := make([]*quantity.Quantity, len(determinands))
	for i := range determinands {
		out[i] = determinandQuantity(&determinands[i])
	}
	return out
}

func determinandQuantity(d *determinand) *quantity.Quantity {
	q := &quantity.Quantity{
		Code: "water." + d.code, Title: d.title, Unit: d.unit, Form: quantity.Samples,
		With:    []string{"taken", "fraction", "channel"},
		Caution: "river", Help: "Results of samples as reported, in " + d.unit + ".",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return observeSamples(rec, ask, d)
		},
	}
	if !d.scale {
		q.NotBelow = new(float64)
	}
	if d.caution != "" {
		q.Caution = d.caution
	}
	if d.help != "" {
		q.Help = d.help
	}
	return q
}

func observeSamples(rec quantity.Record, ask quantity.Ask, d *determinand) ([]quantity.Observation, error) {
	var out []quantity.Observation
	for _, e := range observe.Wanted(rec, "sample.1", ask, "taken") {
		for _, r := range e.Body.Objects("results") {
			if r.Text("determinand") != d.code || !observe.Says(r, ask, "fraction") {
				continue
			}
			o := observe.Of(e, ask)
			o.Name = d.code
			if err := settle(&o, r, d); err != nil {
				return nil, fmt.Errorf("entry %d: %s: %w", e.Seq, d.code, err)
			}
			out = append(out, o)
		}
	}
	return out, nil
}

// settle reads a result such as "<0.05", converted to the determinand's unit.
func settle(o *quantity.Observation, r book.Object, d *determinand) error {
	symbol := r.Text("unit")
	if err := observe.Read(o, r.Text("result"), symbol, d.unit); err != nil {
		return err
	}
	if l := r.Text("lod"); l != "" {
		o.Note = "reporting limit " + l + " " + symbol
	}
	return nil
}
