package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// fieldCheckKind is a check of an instrument where it stands, such as a
// calibrator on a microphone before and after a campaign.
func fieldCheckKind() *book.Kind {
	return &book.Kind{
		Name: "field_check.1", Register: "field_checks", Subject: "monitoring", Title: "Field check",
		Help: "A check of an instrument where it stands: what it should have shown and what it showed.",
		Fields: []book.Field{
			{Name: "instrument", Title: "Instrument", Type: book.Ref, Required: true},
			{Name: "deployment", Title: "Deployment", Type: book.Ref},
			{Name: "when", Title: "When", Type: book.Choice, Required: true, Options: []string{"before", "during", "after"}},
			{Name: "reference", Title: "Checked against", Type: book.Text, Help: "Calibrator, standard solution, staff, gas: with its serial or batch."},
			{Name: "expected", Title: "Should show", Type: book.Decimal, Required: true},
			{Name: "shown", Title: "Showed", Type: book.Decimal, Required: true},
			{Name: "unit", Title: "Unit", Type: book.Text, Required: true},
			{Name: "outcome", Title: "Outcome", Type: book.Choice, Required: true, Options: []string{"within tolerance", "adjusted", "out of tolerance"}},
			{Name: "clock_offset", Title: "Clock ahead of true time by", Type: book.Decimal, Unit: "s"},
			{Name: "battery", Title: "Battery", Type: book.Decimal, Unit: "%", Min: "0", Max: "100"},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
	}
}
