package site

import "github.com/swardbook/swardbook/compliance/book"

// personKind is somebody who stands in the book.
func personKind() *book.Kind {
	return &book.Kind{
		Name: "person.1", Subject: "site", Title: "Person", Place: book.NoPlace, Length: book.Moment,
		Help: "Somebody who stands in the book. The reference is the opaque id that entries carry; the name can be withheld or erased.",
		Fields: []book.Field{
			{Name: "name", Title: "Name", Type: book.Text, Required: true, Personal: true},
			{Name: "organisation", Title: "Organisation", Type: book.Text},
			{Name: "contact", Title: "How to reach", Type: book.Text, Personal: true},
		},
	}
}
