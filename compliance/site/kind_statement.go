package site

import "github.com/swardbook/swardbook/compliance/book"

// statementKind is what a named role states of a clause that no figure decides.
func statementKind() *book.Kind {
	return &book.Kind{
		Name: "statement.1", Register: "statements", Subject: "site", Title: "Statement",
		Help: "What the role named in a notice states of one of its clauses.",
		Fields: []book.Field{
			{Name: "permit", Title: "Notice", Type: book.Text, Required: true, Help: "The authority's reference of the notice."},
			{Name: "clause", Title: "Clause", Type: book.Text, Required: true},
			{Name: "role", Title: "Stated as", Type: book.Text, Required: true},
			{Name: "answer", Title: "Answer", Type: book.Choice, Required: true, Options: []string{"met", "not met"}},
			{Name: "text", Title: "Statement", Type: book.Prose, Required: true},
			{Name: "document", Title: "Document", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
	}
}
