package soil

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// stripDepthQuantity is the depth of soil taken up, as the register gives it.
func stripDepthQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "soil.strip_depth", Title: "depth stripped", Unit: "m", Form: quantity.Samples, NotBelow: new(float64),
		With: []string{"horizon", "figure"}, Caution: "levels",
		Help:    "Depth of soil taken up; figure is mean or least, mean when not said. A strip without the depth is no result.",
		Observe: observeDepth,
	}
}

func observeDepth(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
	key := "depth_mean"
	switch ask.With["figure"] {
	case "", "mean":
	case "least":
		key = "depth_least"
	default:
		return nil, fmt.Errorf("figure is mean or least, not %q", ask.With["figure"])
	}
	var out []quantity.Observation
	for _, e := range observe.Wanted(rec, "strip.1", ask, "horizon") {
		d, err := unit.ParseDecimal(e.Body.Text(key))
		if err != nil {
			continue
		}
		o := observe.Of(e, ask)
		o.Name, o.Value, o.Text = e.Body.Text("horizon"), unit.Round9(d.Float()), d.String()
		out = append(out, o)
	}
	return out, nil
}
