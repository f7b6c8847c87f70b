package site

import "github.com/swardbook/swardbook/compliance/book"

// redactionKind erases the body or the files of an earlier entry. Why stands
// in the envelope's reason, who in its author.
func redactionKind() *book.Kind {
	return &book.Kind{
		Name: "redaction.1", Subject: "site", Title: "Erasure",
		Help: "The body or files of an earlier entry are erased; its envelope and the chain stay.",
		Fields: []book.Field{
			{Name: "seq", Title: "Entry erased", Type: book.Integer, Required: true, Min: "1"},
			{Name: "what", Title: "What is erased", Type: book.Choice, Required: true, Options: []string{"body", "body and files"}},
			{Name: "ground", Title: "Ground in law", Type: book.Prose, Required: true},
		},
		Place: book.NoPlace, Length: book.Moment,
	}
}
