package site

import (
	"encoding/hex"

	"github.com/swardbook/swardbook/compliance/book"
)

// ComparedKind is the kind of entry by which a second person says that a
// clause was compared with the notice.
const ComparedKind = "compared.1"

// comparedKind names the words it is about, so that it lapses when they change.
func comparedKind() *book.Kind {
	return &book.Kind{
		Name: ComparedKind, Register: "comparisons", Subject: "site", Title: "Clause compared with the notice", Place: book.NoPlace, Length: book.Moment, Plain: true,
		Help: "A second person held a clause, and what is judged of it, against the notice itself.",
		Fields: []book.Field{
			{Name: "permit", Title: "Notice", Type: book.Text, Required: true},
			{Name: "clause", Title: "Clause", Type: book.Text, Required: true},
			{Name: "words", Title: "What was compared", Type: book.Text, Required: true, Help: "SHA-256 of the clause and its conditions as entered; the ledger gives it."},
			{Name: "agrees", Title: "It agrees with the notice", Type: book.Flag, Required: true},
			{Name: "page", Title: "Page of the notice", Type: book.Text},
			{Name: "note", Title: "What differs", Type: book.Prose},
		},
		Check: func(o book.Object) []book.Fault {
			if words, err := hex.DecodeString(o.Text("words")); err != nil || len(words) != 32 {
				return []book.Fault{{Field: "words", Reason: "it is not the SHA-256 of a clause", Remedy: "take it from the ledger"}}
			}
			return nil
		},
	}
}
