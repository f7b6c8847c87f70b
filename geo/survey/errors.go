package survey

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Errors about a file as a whole.
var (
	// ErrNoPoints is returned when a file holds no usable point.
	ErrNoPoints = errors.New("no usable points")
	// ErrFormat is returned for a file of a kind that is not read.
	ErrFormat = errors.New("format not read")
	// ErrTooLarge is returned when a file passes the limits of Options.
	ErrTooLarge = errors.New("file too large")
)

// RowError is one line that cannot be read, and what to do about it.
type RowError struct {
	Row    int    // 1-based line
	Column string // name of the column, may be empty
	Text   string // what is wrong
	Remedy string
}

func (e RowError) String() string {
	s := fmt.Sprintf("line %d", e.Row)
	if e.Column != "" {
		s += ", column " + e.Column
	}
	s += ": " + e.Text
	if e.Remedy != "" {
		s += "; " + e.Remedy
	}
	return s
}

// FileError lists every bad line of a file.
type FileError struct {
	Name string
	Rows []RowError
	More int // bad lines beyond the ten thousand kept in Rows
}

const keepRowErrors = 10_000

func (e *FileError) add(r RowError) {
	if len(e.Rows) >= keepRowErrors {
		e.More++
		return
	}
	e.Rows = append(e.Rows, r)
}

// err returns nil when nothing was added.
func (e *FileError) err() error {
	if len(e.Rows) == 0 {
		return nil
	}
	slices.SortStableFunc(e.Rows, func(a, b RowError) int { return a.Row - b.Row })
	return e
}

func (e *FileError) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d bad lines", e.Name, len(e.Rows)+e.More)
	if len(e.Rows)+e.More == 1 {
		b.Reset()
		fmt.Fprintf(&b, "%s: 1 bad line", e.Name)
	}
	for _, r := range e.Rows {
		b.WriteString("\n  " + r.String())
	}
	if e.More > 0 {
		fmt.Fprintf(&b, "\n  and %d more", e.More)
	}
	return b.String()
}

// fileErr wraps a cause with the file's name.
func fileErr(name string, cause error, format string, args ...any) error {
	return fmt.Errorf("%s: %w: %s", name, cause, fmt.Sprintf(format, args...))
}
