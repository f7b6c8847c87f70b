package site

import "github.com/swardbook/swardbook/compliance/book"

// documentKind is a file kept with the record.
func documentKind() *book.Kind {
	return &book.Kind{
		Name: "document.1", Subject: "site", Title: "Document",
		Help: "A letter, drawing, certificate, scheme or picture kept with the record.",
		Fields: []book.Field{
			{Name: "title", Title: "Title", Type: book.Text, Required: true},
			{Name: "type", Title: "What it is", Type: book.Text, Required: true, Help: "Such as decision notice, scheme, certificate, letter, photograph."},
			{Name: "file", Title: "File", Type: book.File, Required: true},
			{Name: "name", Title: "File name", Type: book.Text},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MayNamePlace, Length: book.Moment,
	}
}
