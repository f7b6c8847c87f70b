package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// instrumentKind is a thing that measures, named by its ref.
func instrumentKind() *book.Kind {
	return &book.Kind{
		Name: "instrument.1", Register: "instruments", Subject: "monitoring", Title: "Instrument",
		Help: "A meter, logger, gauge or sensor; other entries name it by its reference.",
		Fields: []book.Field{
			{Name: "title", Title: "What it is", Type: book.Text, Required: true},
			{Name: "maker", Title: "Maker", Type: book.Text},
			{Name: "model", Title: "Model", Type: book.Text},
			{Name: "serial", Title: "Serial number", Type: book.Text, Required: true},
			{Name: "class", Title: "Class or standard met", Type: book.Text},
			{Name: "range_low", Title: "Range from", Type: book.Decimal},
			{Name: "range_high", Title: "Range to", Type: book.Decimal},
			{Name: "range_unit", Title: "Unit of the range", Type: book.Text},
		},
		Place: book.NoPlace, Length: book.Moment, Plain: true,
		Check: needsRef("the instrument", "other entries"),
	}
}

// needsRef refuses a body without a reference where others must name it.
func needsRef(what, who string) func(book.Object) []book.Fault {
	return func(o book.Object) []book.Fault {
		if o.Text("ref") != "" {
			return nil
		}
		return []book.Fault{{Field: "ref", Reason: what + " has no reference, so " + who + " cannot name it", Remedy: "give it a short reference of its own"}}
	}
}
