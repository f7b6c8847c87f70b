package soil

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/ground"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
)

// strippedAreaQuantity is ground stripped of a horizon, once for each area of
// the plan however many spells the work took.
func strippedAreaQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "soil.stripped_area", Title: "area stripped", Unit: "m²", Form: quantity.Events, NotBelow: new(float64),
		With: []string{"horizon"}, Caution: "levels",
		Help:    "Plan area of each strip area on the day its strip began, counted once for each horizon; ground that two areas cover counts with the one stripped first.",
		Observe: observeStripped,
	}
}

func observeStripped(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	type part struct{ code, horizon string }
	done := map[part]bool{}
	counted := map[string]*ledger{} // by horizon
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
			area, err := ground.Area(rec, code, e.At)
			if err != nil {
				return nil, fmt.Errorf("strip, entry %d: %w", e.Seq, err)
			}
			if counted[p.horizon] == nil {
				counted[p.horizon] = &ledger{}
			}
			fresh, shared, err := counted[p.horizon].take(code, area)
			if err != nil {
				return nil, fmt.Errorf("strip, entry %d: %w", e.Seq, err)
			}
			if !observe.During(ask, e.At, e.At) {
				continue
			}
			out = append(out, quantity.Observation{
				From: e.At, To: e.At, Precision: e.Precision, Place: code, Name: p.horizon,
				Value: unit.Round9(fresh), Note: p.horizon + " of " + code + shared, Entry: e,
			})
		}
	}
	return out, nil
}

// ledger is the ground counted so far.
type ledger struct {
	names []string
	areas []*plan.Polygon
}

// take returns what an area adds to the ground counted so far, in square
// metres, and which areas it shares the rest with.
func (l *ledger) take(code string, area *plan.Polygon) (freshM2 float64, shared string, err error) {
	freshM2 = area.AreaM2()
	var with []*plan.Polygon
	for i, a := range l.areas {
		if o := plan.Overlaps([]string{l.names[i], code}, []*plan.Polygon{a, area}); len(o) > 0 {
			with = append(with, a)
			shared += fmt.Sprintf("; %.2f m² lie in %s too and count there", o[0].AreaM2, l.names[i])
		}
	}
	l.names, l.areas = append(l.names, code), append(l.areas, area)
	if len(with) == 0 {
		return freshM2, "", nil
	}
	before, err := plan.UnionM2(with...)
	if err != nil {
		return 0, "", err
	}
	after, err := plan.UnionM2(append(with, area)...)
	return max(after-before, 0), shared, err
}
