package monitoring

import (
	"fmt"
	"strings"

	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
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
		text, symbol := e.Body.Text("result"), e.Body.Text("unit")
		if symbol == "" {
			symbol = s.unit
		}
		d, err := unit.ParseDecimal(strings.TrimLeft(text, "<>"))
		if err != nil {
			return nil, fmt.Errorf("entry %d: %s: %w", e.Seq, s.name, err)
		}
		value, err := unit.Convert(d.Float(), symbol, s.unit)
		if err != nil {
			return nil, fmt.Errorf("entry %d: %s: %w", e.Seq, s.name, err)
		}
		o := observe.Of(e, ask)
		o.Name, o.Value, o.Text, o.Note = s.name, unit.Round9(value), strings.TrimSpace(text+" "+symbol), e.Body.Text("position")
		switch {
		case strings.HasPrefix(text, "<"):
			o.Mark = series.Below
		case strings.HasPrefix(text, ">"):
			o.Mark = series.Above
		}
		out = append(out, o)
	}
	return out, nil
}
