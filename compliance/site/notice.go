package site

import (
	"errors"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
)

// checkNotice reads a body in the condition language and passes its faults on.
func checkNotice(o book.Object) []book.Fault {
	_, err := permit.FromObject(o)
	if err == nil {
		return nil
	}
	var list permit.Faults
	if !errors.As(err, &list) {
		return []book.Fault{{Field: "body", Reason: err.Error()}}
	}
	out := make([]book.Fault, len(list))
	for i, f := range list {
		out[i] = book.Fault{Field: f.Field, Reason: f.Reason, Remedy: f.Remedy}
		if f.Field == "" {
			out[i].Field = "body"
		}
	}
	return out
}
