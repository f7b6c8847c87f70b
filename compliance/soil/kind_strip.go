package soil

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
)

// horizons of soil that are kept apart.
var horizons = []string{"topsoil", "subsoil"}

// stripKind is soil of one horizon taken up from an area, in one spell.
func stripKind() *book.Kind {
	return &book.Kind{
		Name: "strip.1", Register: "strips", Subject: "soil", Title: "Soil strip",
		Help: "Soil of one horizon taken up from an area, from when to when.",
		Fields: []book.Field{
			{Name: "horizon", Title: "Horizon", Type: book.Choice, Required: true, Options: horizons},
			{Name: "depth_mean", Title: "Mean depth", Type: book.Decimal, Unit: "m", Min: "0", Max: "5"},
			{Name: "depth_least", Title: "Least depth", Type: book.Decimal, Unit: "m", Min: "0", Max: "5"},
			{Name: "pits", Title: "Depth pits", Type: book.Integer, Min: "0"},
			{Name: "moisture", Title: "Moisture test", Type: book.Choice, Required: true, Options: []string{"dry and friable", "moist, not plastic", "plastic", "not tested"}},
			{Name: "destination", Title: "To mound", Type: book.Feature},
			{Name: "machine", Title: "Machine", Type: book.Text},
			{Name: "weather", Title: "Weather", Type: book.Text},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MustNamePlace, Length: book.MayLast, Plain: true,
		Check: checkStrip,
	}
}

func checkStrip(o book.Object) []book.Fault {
	mean, errMean := unit.ParseDecimal(o.Text("depth_mean"))
	least, errLeast := unit.ParseDecimal(o.Text("depth_least"))
	if errMean == nil && errLeast == nil && least.Cmp(mean) > 0 {
		return []book.Fault{{Field: "depth_least", Reason: "the least depth is more than the mean depth", Remedy: "exchange them if they were swapped"}}
	}
	return nil
}
