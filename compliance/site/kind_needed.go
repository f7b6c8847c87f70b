package site

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/duty"
)

var neededSorts = append([]string{"consent", "licence", "agreement", "approved scheme", "notice to be given"}, duty.Baselines()...)

// neededKind is one thing needed before the first sod: asked for, got, or not
// needed, each by a correction.
func neededKind() *book.Kind {
	return &book.Kind{
		Name: duty.NeededKind, Register: "needed", Subject: "site", Title: "Needed before the start",
		Help: "A consent, notice or record of the land as it was, that has to be there before works begin. Asked for, got and agreed are added by corrections.",
		Fields: []book.Field{
			{Name: "name", Title: "What it is", Type: book.Text, Required: true},
			{Name: "sort", Title: "Sort", Type: book.Choice, Required: true, Options: neededSorts},
			{Name: "needed_by", Title: "Needed by", Type: book.Day, Required: true, Help: "The day works are to begin, or the day it is needed before that."},
			{Name: "lead", Title: "Takes about", Type: book.Integer, Unit: "days", Min: "0", Max: "2000", Help: "From asking to getting; it has to be asked for that much earlier."},
			{Name: "from", Title: "From whom", Type: book.Text},
			{Name: "asked", Title: "Asked for, begun", Type: book.Day},
			{Name: "got", Title: "Got, complete", Type: book.Day},
			{Name: "reference", Title: "Reference", Type: book.Text},
			{Name: "agreed_with", Title: "Agreed with", Type: book.Text, Help: "Who agreed that the record of the land is right: landowner, tenant, highway authority."},
			{Name: "agreed", Title: "Agreed on", Type: book.Day},
			{Name: "not_needed", Title: "Not needed after all", Type: book.Prose, Help: "Why, and who said so."},
			{Name: "document", Title: "Document", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
		Check: checkNeeded,
	}
}

func checkNeeded(o book.Object) []book.Fault {
	var faults []book.Fault
	asked, got := o.Text("asked"), o.Text("got")
	if asked != "" && got != "" && got < asked {
		faults = append(faults, book.Fault{Field: "got", Reason: "it was got before it was asked for", Remedy: "correct one of the two days"})
	}
	if o.Text("agreed") != "" && o.Text("agreed_with") == "" {
		faults = append(faults, book.Fault{Field: "agreed_with", Reason: "it is agreed, and it is not said with whom", Remedy: "say who agreed"})
	}
	if o.Text("agreed") != "" && got == "" {
		faults = append(faults, book.Fault{Field: "got", Reason: "it is agreed, and not said to be complete", Remedy: "give the day it was complete"})
	}
	return faults
}
