package store

import (
	"errors"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
)

// What can stand in the way. Errors of this package wrap one of these or book.ErrSuperseded.
var (
	ErrNoData      = errors.New("no data directory")
	ErrNotEmpty    = errors.New("directory not empty")
	ErrInUse       = errors.New("data directory in use")
	ErrReadOnly    = errors.New("data directory opened to read only")
	ErrNewerSchema = errors.New("data written by a newer program")
	ErrOlderSchema = errors.New("data written by an older program")
	ErrDamaged     = errors.New("data damaged")
	ErrNoSite      = errors.New("no such site")
	ErrSiteExists  = errors.New("site exists already")
	ErrNotFound    = errors.New("not in the book")
	ErrConflict    = errors.New("id taken by other content")
	ErrUnsound     = errors.New("draft cannot be an entry")
	ErrNoFile      = errors.New("file not held")
	ErrErased      = errors.New("erased by a redaction")
	ErrTooLarge    = errors.New("file too large")
	ErrStaging     = errors.New("staged readings not usable")
)

// ConflictError says that a draft has the id of an entry with other content.
// It wraps ErrConflict.
type ConflictError struct {
	Draft book.Draft
	Entry *book.Entry // the one that stands
}

func (e *ConflictError) Error() string {
	return fmt.Sprintf("%sentry %d has the id %s with other content; correct that entry, or give the new one an id of its own",
		source(&e.Draft), e.Entry.Seq, e.Draft.ID)
}

// Unwrap returns ErrConflict.
func (e *ConflictError) Unwrap() error { return ErrConflict }

// SupersededError says that a correction names an entry that another
// correction has taken the place of. It wraps book.ErrSuperseded.
type SupersededError struct {
	Draft book.Draft
	Head  *book.Entry // of the line: the one to correct
}

func (e *SupersededError) Error() string {
	return fmt.Sprintf("%s%s was superseded already; entry %d (%s) stands in its place: look at that and correct it",
		source(&e.Draft), e.Draft.Supersedes, e.Head.Seq, e.Head.ID)
}

// Unwrap returns book.ErrSuperseded.
func (e *SupersededError) Unwrap() error { return book.ErrSuperseded }

// DraftError says why a draft cannot become an entry. It wraps its cause.
type DraftError struct {
	Draft book.Draft
	Cause error
}

func (e *DraftError) Error() string { return source(&e.Draft) + e.Cause.Error() }

// Unwrap returns the cause.
func (e *DraftError) Unwrap() error { return e.Cause }

// source opens a message with where a draft comes from.
func source(d *book.Draft) string {
	if d.Source == "" {
		return ""
	}
	return d.Source + ": "
}

// damaged says that what is kept is not what was written.
func damaged(format string, args ...any) error {
	return fmt.Errorf("%w: %w", ErrDamaged, fmt.Errorf(format, args...))
}
