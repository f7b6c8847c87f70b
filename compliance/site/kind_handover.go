package site

import "github.com/swardbook/swardbook/compliance/book"

// handoverKind records that a pack was made of the book up to an entry.
func handoverKind() *book.Kind {
	count := func(name, title string) book.Field {
		return book.Field{Name: name, Title: title, Type: book.Integer, Required: true, Min: "0"}
	}
	return &book.Kind{
		Name: "handover.1", Subject: "site", Title: "Handover made",
		Help: "A sealed pack was made of the book up to the entry named.",
		Fields: []book.Field{
			count("upto_seq", "Book up to entry"),
			{Name: "judged_at", Title: "Judged at", Type: book.Instant, Required: true},
			{Name: "rules", Title: "Rules number", Type: book.Integer, Required: true, Min: "1"},
			{Name: "program", Title: "Program version", Type: book.Text, Required: true},
			{Name: "fingerprint", Title: "Fingerprint of the signing key", Type: book.Text, Required: true},
			{Name: "contents_digest", Title: "Digest of contents", Type: book.Text, Required: true, Help: "SHA-256 over the pack's manifest; the pack's own hash cannot stand in a book it is made of."},
			{Name: "name", Title: "File name", Type: book.Text},
			{Name: "named_bodies", Title: "Bodies that name persons", Type: book.Choice, Options: []string{"included", "withheld"}},
			{Name: "judgements", Title: "Judgements", Type: book.Group, Required: true, Fields: []book.Field{
				count("complied", "Complied"), count("not_complied", "Not complied"), count("cannot_be_judged", "Cannot be judged"),
				count("not_applicable", "Not applicable"), count("not_yet_due", "Not yet due"),
			}},
		},
		Place: book.NoPlace, Length: book.Moment,
	}
}
