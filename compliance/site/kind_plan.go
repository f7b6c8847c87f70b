package site

import "github.com/swardbook/swardbook/compliance/book"

// planKind is the site plan from a day on until its next revision.
func planKind() *book.Kind {
	return &book.Kind{
		Name: "plan.1", Subject: "site", Title: "Plan", Place: book.NoPlace, Length: book.Moment,
		Help: "The site plan as GeoJSON, from a day on until the next revision.",
		Fields: []book.Field{
			{Name: "title", Title: "Title", Type: book.Text},
			{Name: "coordinates", Title: "Coordinates", Type: book.Choice, Required: true, Options: []string{"site grid", "wgs84"}, Help: "Said, never guessed."},
			{Name: "file", Title: "File", Type: book.File, Required: true},
			{Name: "revision", Title: "Revision", Type: book.Text},
		},
	}
}
