package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// reasons are the marks that readings may be rejected with, in the order of
// the marks of package series.
var reasons = []string{"wind", "rain", "calibrating", "overload", "maintenance", "interference", "doubtful"}

// rejectionKind takes readings of a channel out from at to until, with the
// reason. Withdrawing it brings them back.
func rejectionKind() *book.Kind {
	return &book.Kind{
		Name: "rejection.1", Register: "rejections", Subject: "monitoring", Title: "Readings rejected",
		Help: "Readings of one channel that do not count, from when to when, and why. They stay on file.",
		Fields: []book.Field{
			{Name: "channel", Title: "Channel", Type: book.Text, Required: true},
			{Name: "reason", Title: "Reason", Type: book.Choice, Required: true, Options: reasons},
			{Name: "note", Title: "In words", Type: book.Prose, Help: "What was seen, and by what the reason is known."},
		},
		Place: book.NoPlace, Length: book.MustLast, Plain: true,
	}
}
