package site

import (
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// Stages are the stages of a required submission, in the words of planning.
var Stages = []string{
	"not submitted", "submitted", "under consideration", "approved", "approved in part",
	"refused", "withdrawn", "discharged", "complied with", "superseded",
}

// paperKind is a stage that a required submission has reached.
func paperKind() *book.Kind {
	return &book.Kind{
		Name: "paper.1", Register: "papers", Subject: "site", Title: "Submission or approval", Place: book.MayNamePlace, Length: book.Moment, Plain: true,
		Check: checkPaper,
		Help:  "A stage that a scheme, notice or return has reached, on the day it reached it.",
		Fields: []book.Field{
			{Name: "scheme", Title: "Scheme, notice or return", Type: book.Text, Required: true, Help: "The name that conditions use, such as soil handling."},
			{Name: "revision", Title: "Revision", Type: book.Text},
			{Name: "stage", Title: "Stage reached", Type: book.Choice, Required: true, Options: Stages},
			{Name: "reference", Title: "Reference of the letter", Type: book.Text},
			{Name: "authority", Title: "Authority", Type: book.Text, Help: "The body it was sent to, or that decided; not a person."},
			{Name: "answer_wanted", Title: "A decision is awaited", Type: book.Flag},
			{Name: "clock", Title: "Time the authority has", Type: book.Text, Help: "Such as 8 weeks, counted from the day after receipt. That it is over grants nothing."},
			{Name: "document", Title: "Document", Type: book.File},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
	}
}

func checkPaper(o book.Object) []book.Fault {
	if clock := o.Text("clock"); clock != "" {
		if _, err := clockEnd(&book.Entry{}, clock, time.UTC); err != nil {
			return []book.Fault{{Field: "clock", Reason: err.Error(), Remedy: "write a number of days, weeks or months, such as 8 weeks"}}
		}
	}
	return nil
}
