package water

import (
	"slices"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/meter"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// dischargeVolumeQuantity is water discharged, by volume meter.
func dischargeVolumeQuantity() *quantity.Quantity {
	return metered("water.discharge_volume", "volume of water discharged", waterDischarge, "discharge")
}

// abstractionVolumeQuantity is water taken, by volume meter.
func abstractionVolumeQuantity() *quantity.Quantity {
	return metered("water.abstraction_volume", "volume of water abstracted", abstraction, "shaft")
}

func metered(code, title, of, caution string) *quantity.Quantity {
	return &quantity.Quantity{
		Code: code, Title: title, Unit: "m³", Form: quantity.Events, NotBelow: new(float64),
		With: []string{"meter"}, Caution: caution,
		Help: "Volume between two readings of a meter, standing for the time from the one to the other.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return observeMeters(rec, ask, of), nil
		},
	}
}

func observeMeters(rec quantity.Record, ask quantity.Ask, of string) []quantity.Observation {
	var meters []string
	readings := map[string][]*book.Entry{}
	for _, e := range rec.Entries("totaliser.1") {
		if e.Body == nil || e.Body.Text("of") != of || !observe.At(e, ask) || !observe.Says(e.Body, ask, "meter") {
			continue
		}
		m := e.Body.Text("meter")
		if readings[m] == nil {
			meters = append(meters, m)
		}
		readings[m] = append(readings[m], e)
	}
	slices.Sort(meters)
	var out []quantity.Observation
	for _, m := range meters {
		out = append(out, meter.Observations(readings[m], ask, m, "m³")...)
	}
	return out
}
