package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// backgroundKind is a value measured before the works, to which a condition
// adds: it counts from its time on, until a later one of its name.
func backgroundKind() *book.Kind {
	return &book.Kind{
		Name: "background.1", Register: "backgrounds", Subject: "monitoring", Title: "Background",
		Help: "A background value that conditions add to, with the survey it comes from.",
		Fields: []book.Field{
			{Name: "name", Title: "Name", Type: book.Text, Required: true, Help: "As the condition calls it, such as NSR1-BG."},
			{Name: "quantity", Title: "Quantity", Type: book.Text, Help: "Code of the quantity it is a background of, such as noise.laeq; empty: of any."},
			{Name: "value", Title: "Value", Type: book.Decimal, Required: true},
			{Name: "unit", Title: "Unit", Type: book.Text, Required: true},
			{Name: "basis", Title: "How it was found", Type: book.Prose, Help: "Such as the lowest LA90,15min of the working hours of one week, agreed with the authority."},
			{Name: "document", Title: "Document", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
	}
}
