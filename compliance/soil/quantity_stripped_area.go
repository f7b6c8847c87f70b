package soil

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/ground"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// strippedAreaQuantity is ground stripped of a horizon, once for each area of
// the plan however many spells the work took.
func strippedAreaQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "soil.stripped_area", Title: "area stripped", Unit: "m²", Form: quantity.Events, NotBelow: new(float64),
		With: []string{"horizon"}, Caution: "levels",
		Help:    "Plan area of each strip area on the day its strip began, counted once for each horizon.",
		Observe: observeStripped,
	}
}

func observeStripped(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	type part struct{ code, horizon string }
	done := map[part]bool{}
	var out []quantity.Observation
	for _, e := range rec.Entries("strip.1") {
		if e.Body == nil || !observe.At(e, ask) || !observe.Says(e.Body, ask, "horizon") {
			continue
		}
		for _, code := range e.Places {
			p := part{code, e.Body.Text("horizon")}
			if done[p] || (ask.Place != "" && code != ask.Place) {
				continue
			}
			done[p] = true // the first spell counts, in the time asked for or before it
			if !observe.During(ask, e.At, e.At) {
				continue
			}
			area, err := ground.Area(rec, code, e.At)
			if err != nil {
				return nil, fmt.Errorf("strip, entry %d: %w", e.Seq, err)
			}
			out = append(out, quantity.Observation{
				From: e.At, To: e.At, Precision: e.Precision, Place: code, Name: p.horizon,
				Value: unit.Round9(area.AreaM2()), Note: p.horizon + " of " + code, Entry: e,
			})
		}
	}
	return out, nil
}
