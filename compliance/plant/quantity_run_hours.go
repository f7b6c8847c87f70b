package plant

import (
	"slices"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/meter"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// runHoursQuantity is the time that machines ran, from one meter reading to
// the next.
func runHoursQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "plant.run_hours", Title: "run hours", Unit: "h", Form: quantity.Events, NotBelow: new(float64),
		With:    []string{"machine"},
		Caution: "generator",
		Help:    "Hours run between two readings of a machine's meter, standing for the time from the one to the other. When within that time it ran is not known.",
		Observe: observeRunHours,
	}
}

func observeRunHours(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	var machines []string
	readings := map[string][]*book.Entry{}
	for _, e := range rec.Entries("hour_meter.1") {
		if e.Body == nil || !observe.At(e, ask) || !observe.Says(e.Body, ask, "machine") {
			continue
		}
		m := e.Body.Text("machine")
		if readings[m] == nil {
			machines = append(machines, m)
		}
		readings[m] = append(readings[m], e)
	}
	slices.Sort(machines)
	var out []quantity.Observation
	for _, m := range machines {
		out = append(out, meter.Observations(readings[m], ask, m, "h")...)
	}
	return out, nil
}
