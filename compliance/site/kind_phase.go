package site

import "github.com/swardbook/swardbook/compliance/book"

// phaseKind is one phase of the works: conditions that hold during a phase only
// are judged while it ran. Without an end it goes on.
func phaseKind() *book.Kind {
	return &book.Kind{
		Name: "phase.1", Register: "phases", Subject: "site", Title: "Phase of the works",
		Help: "When a phase began, and when it ended; by a correction once it has.",
		Fields: []book.Field{
			{Name: "name", Title: "Phase", Type: book.Text, Required: true, Help: "As the conditions call it, such as soil strip or dewatering."},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
	}
}
