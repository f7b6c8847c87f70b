package inspection

import "github.com/swardbook/swardbook/compliance/book"

// findingKind is a defect to put right, opened by itself or from a judgement.
// It never changes a verdict.
func findingKind() *book.Kind {
	return &book.Kind{
		Name: "finding.1", Register: "findings", Subject: "inspection", Title: "Finding",
		Help: "A defect to put right: what it is, whose it is, by when. What is done about it are entries of their own; no verdict is changed by it.",
		Fields: []book.Field{
			{Name: "number", Title: "Number", Type: book.Text, Required: true, Help: "By which what is done about it names it."},
			{Name: "what", Title: "What was found", Type: book.Prose, Required: true},
			{Name: "severity", Title: "Severity", Type: book.Choice, Required: true, Options: severities},
			{Name: "owner", Title: "Post to put it right", Type: book.Text, Required: true},
			{Name: "due", Title: "By", Type: book.Day, Required: true},
			{Name: "permit", Title: "Notice", Type: book.Text, Help: "Of the judgement it comes from."},
			{Name: "condition", Title: "Condition", Type: book.Text},
			{Name: "window", Title: "Window judged", Type: book.Text},
			{Name: "photo", Title: "Photograph", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
	}
}

// Stages of what is done about a finding.
const (
	putRight    = "put right"
	accepted    = "checked and accepted"
	notAccepted = "checked and not accepted"
	noFinding   = "not a finding after all"
)

// remedyKind is a stage in the life of a finding.
func remedyKind() *book.Kind {
	return &book.Kind{
		Name: "remedy.1", Register: "remedies", Subject: "inspection", Title: "What was done about a finding",
		Help: "That a finding was put right, or that this was checked.",
		Fields: []book.Field{
			{Name: "finding", Title: "Number of the finding", Type: book.Text, Required: true, Help: "One of an inspection: its reference or entry, a point, and which: INS-12.2"},
			{Name: "stage", Title: "Stage", Type: book.Choice, Required: true, Options: []string{putRight, accepted, notAccepted, noFinding}},
			{Name: "what", Title: "What was done", Type: book.Prose, Required: true},
			{Name: "photo", Title: "Photograph", Type: book.File},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
	}
}
