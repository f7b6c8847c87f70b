package vibration

import (
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// blastQuantities are what the shot log tells.
func blastQuantities() []*quantity.Quantity {
	return []*quantity.Quantity{
		fromLog("vibration.blasts", "blasts", "", quantity.Events, "Blasts, each counting 1.", func(_, _ float64) float64 { return 1 }),
		fromLog("vibration.charge", "charge in one delay", "kg", quantity.Samples, "Greatest charge in one delay.", func(kg, _ float64) float64 { return kg }),
		fromLog("vibration.scaled_distance", "scaled distance", "m/kg½", quantity.Samples, "Distance over the square root of the charge in one delay.", ScaledDistance),
	}
}

// ScaledDistance returns D/√W in m/kg½ of a charge W in one delay [kg] and a
// distance D [m]: square-root scaling, as in 30 CFR 816.67(d)(3) (there in
// ft/lb½: 1 ft/lb½ = 0.4526 m/kg½).
func ScaledDistance(kg, m float64) float64 { return m / math.Sqrt(kg) }

func fromLog(code, title, symbol string, form quantity.Form, help string, of func(kg, m float64) float64) *quantity.Quantity {
	return &quantity.Quantity{
		Code: code, Title: title, Unit: symbol, Form: form, NotBelow: new(float64), Caution: "blast", Help: help,
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range observe.Wanted(rec, "blast.1", ask) {
				kg, errKg := unit.ParseDecimal(e.Body.Text("charge_per_delay"))
				m, errM := unit.ParseDecimal(e.Body.Text("distance"))
				if errKg != nil || errM != nil {
					return nil, fmt.Errorf("entry %d: the charge or the distance cannot be read", e.Seq)
				}
				o := observe.Of(e, ask)
				o.Name, o.Value = "blast", unit.Round9(of(kg.Float(), m.Float()))
				o.Note = fmt.Sprintf("%s kg at %s m", kg, m)
				out = append(out, o)
			}
			return out, nil
		},
	}
}
