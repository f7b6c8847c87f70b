package site

import (
	"errors"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
)

// AppliedKind is the kind of entry that a variation is while it is only asked
// for. It is shown and never judges; once granted, a variation is entered.
const AppliedKind = "applied.1"

// appliedKind keeps what was asked of an authority.
func appliedKind() *book.Kind {
	return &book.Kind{
		Name: AppliedKind, Register: "applications", Subject: "site", Title: "Variation applied for", Place: book.NoPlace, Length: book.Moment, Plain: true,
		Help: "A change of a notice that was applied for. It changes nothing until it is granted and entered as a variation.",
		Fields: []book.Field{
			{Name: "permit", Title: "Notice", Type: book.Text, Required: true, Help: "Reference of the notice that is to be varied."},
			{Name: "reference", Title: "Reference of the application", Type: book.Text},
			{Name: "condition", Title: "Condition", Type: book.Text, Help: "Its id in the notice; none for a new one."},
			{Name: "wanted", Title: "As it would read", Type: book.Prose, Required: true, Help: "The condition in the condition language."},
			{Name: "zone", Title: "Time zone of the notice", Type: book.Text},
			{Name: "why", Title: "Why it is asked for", Type: book.Prose},
			{Name: "document", Title: "Application as sent", Type: book.File},
		},
		Check: checkApplied,
	}
}

// checkApplied reads the condition that is asked for.
func checkApplied(o book.Object) []book.Fault {
	_, _, err := permit.ReadCondition(strings.NewReader(o.Text("wanted")), "", o.Text("zone"))
	var list permit.Faults
	if !errors.As(err, &list) {
		return nil
	}
	out := make([]book.Fault, len(list))
	for i, f := range list {
		reason := f.Reason
		if f.Field != "" {
			reason = f.Field + ": " + reason
		}
		out[i] = book.Fault{Field: "wanted", Reason: reason, Remedy: f.Remedy}
	}
	return out
}
