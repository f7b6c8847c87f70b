package plant

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/meter"
)

// hourMeterKind is one reading of a machine's hour meter. Where the meter was
// replaced since the last reading, reading is the old meter's last figure and
// start what the new one began with.
func hourMeterKind() *book.Kind {
	return &book.Kind{
		Name: "hour_meter.1", Register: "hour_meters", Subject: "plant", Title: "Hour-meter reading",
		Help: "What the hour meter of a machine shows.",
		Fields: append([]book.Field{
			{Name: "machine", Title: "Machine", Type: book.Text, Required: true},
			{Name: "meter", Title: "Serial number of the meter", Type: book.Text},
		}, meter.Fields("h")...),
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
		Check: meter.Check,
	}
}
