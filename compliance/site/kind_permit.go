package site

import "github.com/swardbook/swardbook/compliance/book"

// permitKind is a notice with all its clauses and the conditions judged of it.
// Its body is the condition language's own object, checked by that package.
func permitKind() *book.Kind {
	return &book.Kind{
		Name: "permit.1", Subject: "site", Title: "Notice",
		Help:  "A permission, permit, consent or approved scheme with all its clauses.",
		Place: book.NoPlace, Length: book.Moment,
		Check: checkNotice,
	}
}
