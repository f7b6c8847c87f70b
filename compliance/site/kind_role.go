package site

import "github.com/swardbook/swardbook/compliance/book"

// roleKind says who held which role from when (at) to when (until).
func roleKind() *book.Kind {
	return &book.Kind{
		Name: "role.1", Subject: "site", Title: "Role held",
		Help: "Which role a person holds, from when and until when.",
		Fields: []book.Field{
			{Name: "person", Title: "Person", Type: book.Person, Required: true},
			{Name: "role", Title: "Role", Type: book.Choice, Required: true, Options: []string{
				"officer", "manager", "surveyor", "specialist", "laboratory", "gate", "landowner", "regulator", "administrator"}},
			{Name: "field", Title: "Field", Type: book.Text, Help: "Of a specialist: soil, ecology, trees, archaeology."},
		},
		Place: book.NoPlace, Length: book.MayLast,
	}
}
