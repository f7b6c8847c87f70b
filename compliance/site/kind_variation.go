package site

import "github.com/swardbook/swardbook/compliance/book"

// variationKind changes a notice from its legal date on. What the notice said
// before stays what it was; a mistake in entering a notice is a correction of
// the permit entry instead.
func variationKind() *book.Kind {
	return &book.Kind{
		Name: "variation.1", Subject: "site", Title: "Variation",
		Help:  "A change of a notice by its authority, from its legal date.",
		Place: book.NoPlace, Length: book.Moment,
	}
}
