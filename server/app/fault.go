package app

import (
	"errors"
	"fmt"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// Code says for machines what went wrong; the words are for people.
type Code string

// The codes there are.
const (
	Invalid   Code = "invalid"
	NotFound  Code = "notfound"
	Conflict  Code = "conflict"
	Forbidden Code = "forbidden"
	SignedOut Code = "signedout"
	TooLarge  Code = "toolarge"
	Internal  Code = "internal"
)

// Error is what every use case returns when it does not do what was asked.
type Error struct {
	Code     Code
	Words    string       // for the person who asked
	Faults   []book.Fault // one for each thing wrong in what was entered
	Head     *book.Entry  // Conflict: the entry in the way, as the store knows it
	Existing *Line        // Conflict: the entry that has the id offered; may be nil
	Standing *Line        // Conflict: the entry in force on its line; may be nil
	Cause    error        // for the log; may be nil
}

func (e *Error) Error() string {
	words := []string{e.Words}
	for _, f := range e.Faults {
		words = append(words, f.Error())
	}
	return strings.Join(words, "\n  ")
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Cause }

// CodeOf returns the code of an error; Internal for one that has none.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

func fault(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Words: fmt.Sprintf(format, args...)}
}

func internal(doing string, err error) error {
	if err == nil {
		return nil
	}
	var known *Error
	if errors.As(err, &known) {
		return err
	}
	return &Error{Code: Internal, Words: doing + " failed; nothing was changed", Cause: err}
}
