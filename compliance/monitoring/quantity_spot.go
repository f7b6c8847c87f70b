package monitoring

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Quantities returns the quantities of this subject: what is measured by hand.
func Quantities() []*quantity.Quantity {
	out := make([]*quantity.Quantity, len(spots))
	for i := range spots {
		out[i] = spots[i].quantity()
	}
	return out
}

func (s *spot) quantity() *quantity.Quantity {
	q := &quantity.Quantity{
		Code: s.code, Title: s.name, Unit: s.unit, Form: quantity.Samples, Decibel: s.unit == "dB",
		With: []string{"layer", "position"}, Caution: s.caution, Help: s.help,
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return s.observe(rec, ask)
		},
	}
	if !s.scale {
		q.NotBelow = new(float64)
	}
	return q
}

func (s *spot) observe(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	var out []quantity.Observation
	for _, e := range observe.Wanted(rec, "spot.1", ask, "layer", "position") {
		if e.Body.Text("what") != s.name {
			continue
		}
		symbol := e.Body.Text("unit")
		if symbol == "" {
			symbol = s.unit
		}
		o := observe.Of(e, ask)
		if err := observe.Read(&o, e.Body.Text("result"), symbol, s.unit); err != nil {
			return nil, fmt.Errorf("entry %d: %s: %w", e.Seq, s.name, err)
		}
		o.Name, o.Note = s.name, e.Body.Text("position")
		out = append(out, o)
	}
	return out, nil
}
