package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// Kinds returns the kinds of this subject in the order shown.
func Kinds() []*book.Kind {
	return []*book.Kind{
		instrumentKind(),
		deploymentKind(),
		fieldCheckKind(),
		calibrationKind(),
		importKind(),
		rejectionKind(),
		backgroundKind(),
		spotKind(),
	}
}
