package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// calibrationKind is a laboratory's certificate of an instrument.
func calibrationKind() *book.Kind {
	return &book.Kind{
		Name: "calibration.1", Register: "calibrations", Subject: "monitoring", Title: "Calibration",
		Help: "A laboratory's certificate for an instrument, on the day it was calibrated.",
		Fields: []book.Field{
			{Name: "instrument", Title: "Instrument", Type: book.Ref, Required: true},
			{Name: "laboratory", Title: "Laboratory", Type: book.Text, Required: true},
			{Name: "certificate", Title: "Certificate number", Type: book.Text, Required: true},
			{Name: "valid_until", Title: "Last day it is good for", Type: book.Day},
			{Name: "outcome", Title: "Outcome", Type: book.Choice, Required: true, Options: []string{"within tolerance", "adjusted", "out of tolerance"}},
			{Name: "document", Title: "Certificate", Type: book.File},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.NoPlace, Length: book.Moment, Plain: true,
	}
}
