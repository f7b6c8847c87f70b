package soil

import (
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// strippedVolumeQuantity is soil taken up, as it lay: area times mean depth.
func strippedVolumeQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "soil.stripped_volume", Title: "volume stripped", Unit: "m³", Form: quantity.Events, NotBelow: new(float64),
		With: []string{"horizon"}, Caution: "levels",
		Help: "Area stripped, as the quantity of that name has it, times the mean depth that the register gives it. In place: loosened soil takes more room. A strip without its depth is a gap.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			list, err := observeStripped(rec, ask)
			for i := range list {
				o := &list[i]
				d, derr := unit.ParseDecimal(o.Entry.Body.Text("depth_mean"))
				if derr != nil {
					o.Value, o.Mark = 0, series.Blank
					continue
				}
				o.Value, o.Note = unit.Round9(o.Value*d.Float()), o.Note+", "+d.String()+" m deep"
			}
			return list, err
		},
	}
}
