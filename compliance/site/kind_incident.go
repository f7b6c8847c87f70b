package site

import "github.com/swardbook/swardbook/compliance/book"

var incidentSorts = []string{"spill", "unpermitted discharge", "limit exceeded", "ground movement", "find", "wildlife", "other"}

// incidentKind is something that has to be told, at the time it was known, with
// when and whom it was told.
func incidentKind() *book.Kind {
	return &book.Kind{
		Name: "incident.1", Register: "incidents", Subject: "site", Title: "Incident",
		Help: "Something that has to be told: at the time it was known. When it was told stands in its own field.",
		Fields: []book.Field{
			{Name: "sort", Title: "Sort", Type: book.Choice, Required: true, Options: incidentSorts},
			{Name: "what", Title: "What happened", Type: book.Prose, Required: true},
			{Name: "told_at", Title: "Told at", Type: book.Instant, Help: "When the authority was told; left out until it has been."},
			{Name: "told_to", Title: "Told to", Type: book.Text},
			{Name: "call", Title: "Their reference", Type: book.Text},
			{Name: "done", Title: "What was done", Type: book.Prose},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
		Check: checkIncident,
	}
}

func checkIncident(o book.Object) []book.Fault {
	if o.Text("told_at") == "" && o.Text("told_to") != "" {
		return []book.Fault{{Field: "told_at", Reason: "it was told to somebody, and it is not said when", Remedy: "give the time it was told"}}
	}
	return nil
}
