package site

import "github.com/swardbook/swardbook/compliance/book"

var complaintMatters = []string{"noise", "vibration", "dust", "mud", "traffic", "water", "light", "hours", "other"}

// complaintKind is one complaint as it came in. Who complained can be withheld
// or erased without the rest.
func complaintKind() *book.Kind {
	return &book.Kind{
		Name: "complaint.1", Register: "complaints", Subject: "site", Title: "Complaint",
		Help: "A complaint as it came in, at the time it was received. What was found is added by a correction.",
		Fields: []book.Field{
			{Name: "about", Title: "About", Type: book.Choice, Required: true, Options: complaintMatters},
			{Name: "what", Title: "What was said", Type: book.Prose, Required: true},
			{Name: "how", Title: "How it came", Type: book.Choice, Options: []string{"in person", "by telephone", "by e-mail", "by letter", "through the authority"}},
			{Name: "who", Title: "From whom", Type: book.Text, Personal: true},
			{Name: "happened", Title: "When it is said to have happened", Type: book.Text},
			{Name: "found", Title: "What was found", Type: book.Prose},
			{Name: "justified", Title: "Justified", Type: book.Choice, Options: []string{"yes", "no", "in part", "not yet decided"}},
			{Name: "number", Title: "Number", Type: book.Text},
		},
		Place: book.MayNamePlace, Length: book.Moment, Plain: true,
	}
}
