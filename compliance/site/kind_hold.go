package site

import (
	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
)

// HoldKind is the kind of entry that stops an act.
const HoldKind = "hold.1"

// holdKind is a stop on an act in a place. It ends at until, or when a
// correction sets it released.
func holdKind() *book.Kind {
	return &book.Kind{
		Name: HoldKind, Register: "holds", Subject: "site", Title: "Hold",
		Help: "A stop on an act in a place: why, until when, and who may lift it.",
		Fields: []book.Field{
			{Name: "act", Title: "Act", Type: book.Choice, Required: true, Options: append([]string{act.AllWorks}, act.Names()...)},
			{Name: "reason", Title: "Why", Type: book.Prose, Required: true},
			{Name: "released_by", Title: "Role that may lift it", Type: book.Text, Required: true},
			{Name: "released", Title: "Lifted", Type: book.Flag, Help: "Set by a correction, at the time of lifting in its end."},
			{Name: "document", Title: "Document", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
	}
}
