package site

import (
	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
)

// consentKind is leave to do what a condition does not allow, for one act,
// place and time, or the statement of an emergency, which is no leave.
func consentKind() *book.Kind {
	return &book.Kind{
		Name: "consent.1", Register: "consents", Subject: "site", Title: "Consent or emergency",
		Help: "Work past the hours, at another place or to another level than a condition allows: by whose consent, or in what emergency. It counts only for its condition, act, place and time.",
		Fields: []book.Field{
			{Name: "permit", Title: "Notice", Type: book.Text, Help: "Its reference, where several have the condition."},
			{Name: "condition", Title: "Condition", Type: book.Text, Required: true, Help: "The id of the condition, as the Conditions page shows it."},
			{Name: "act", Title: "Act", Type: book.Choice, Required: true, Options: append([]string{act.AllWorks}, act.Names()...)},
			{Name: "emergency", Title: "Emergency", Type: book.Flag, Help: "Stated without consent. It is shown, and never a pass."},
			{Name: "reference", Title: "Reference of the consent", Type: book.Text},
			{Name: "reason", Title: "Why", Type: book.Prose, Required: true},
			{Name: "limit", Title: "Limit that holds instead", Type: book.Text, Help: "Written as in a condition, such as <= 60 dB; none: the hours or the place are what is allowed."},
			{Name: "plant", Title: "Plant", Type: book.Text},
			{Name: "nearest", Title: "Nearest receptor", Type: book.Text},
			{Name: "decided_by", Title: "Decided by", Type: book.Text, Required: true},
			{Name: "told", Title: "Who was told, and when", Type: book.Text},
			{Name: "document", Title: "Document", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
	}
}
