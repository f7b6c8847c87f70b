package water

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/meter"
)

// What a totaliser measures.
const (
	waterDischarge = "water discharge"
	abstraction    = "abstraction"
)

// totaliserKind is one reading of a meter that adds up volume. Where the meter
// was replaced since the last reading, reading is the old meter's last figure
// and start what the new one began with.
func totaliserKind() *book.Kind {
	return &book.Kind{
		Name: "totaliser.1", Register: "totalisers", Subject: "water", Title: "Volume meter reading",
		Help: "What a volume meter shows.",
		Fields: append([]book.Field{
			{Name: "meter", Title: "Meter", Type: book.Text, Required: true},
			{Name: "of", Title: "Measures", Type: book.Choice, Required: true, Options: []string{waterDischarge, abstraction}},
		}, meter.Fields("m³")...),
		Place: book.MustNamePlace, Length: book.Moment, Plain: true,
		Check: meter.Check,
	}
}
