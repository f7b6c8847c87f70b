package site

import (
	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
)

// AskedKind is the kind of entry that keeps a question before acting, with its
// answer and what was decided. The program writes the answer.
const AskedKind = "asked.1"

// askedKind keeps what was asked before acting, what the book answered, and
// what was decided on it.
func askedKind() *book.Kind {
	return &book.Kind{
		Name: AskedKind, Subject: "site", Title: "Question before acting",
		Help: "What was asked before acting, what stood against it on file, and what the person in charge decided.",
		Fields: []book.Field{
			{Name: "act", Title: "Act", Type: book.Choice, Required: true, Options: act.Names()},
			{Name: "amount", Title: "Amount", Type: book.Text},
			{Name: "outcome", Title: "Outcome", Type: book.Choice, Required: true, Options: []string{"nothing stands", "nothing until a time", "stands against it", "no answer"}},
			{Name: "answer", Title: "Answer", Type: book.Prose, Required: true},
			{Name: "decision", Title: "Decided", Type: book.Prose, Required: true},
			{Name: "asked_at", Title: "Asked", Type: book.Instant, Required: true},
			{Name: "upto_seq", Title: "From the book up to entry", Type: book.Integer, Required: true, Min: "0"},
			{Name: "not_checked", Title: "Not checked", Type: book.List, Required: true, Fields: []book.Field{
				{Name: "what", Title: "What", Type: book.Prose, Required: true},
			}},
		},
		Place: book.MayNamePlace, Length: book.MustLast,
	}
}
