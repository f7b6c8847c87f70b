package store

import (
	"fmt"
	"time"
	"unicode/utf8"

	"github.com/swardbook/swardbook/compliance/book"
)

// deepest is how far a body may nest: what book.ParseObject reads back.
const deepest = 64

// sound tells whether a draft, sealed and kept, can be read back as it was. A
// draft that cannot would spoil the book for ever, so it never gets in. It
// returns an error that wraps ErrUnsound.
func sound(d *book.Draft) error {
	if !d.ID.Valid() {
		return unsound("id %q is not 32 lower-case hex digits", d.ID)
	}
	if d.Kind == "" {
		return unsound("it has no kind")
	}
	if d.At.IsZero() {
		return unsound("at is missing: say when it happened")
	}
	if d.Supersedes != "" && !d.Supersedes.Valid() {
		return unsound("supersedes %q is not 32 lower-case hex digits", d.Supersedes)
	}
	if d.Supersedes == d.ID {
		return unsound("it supersedes itself")
	}
	if d.Body == nil && d.Supersedes == "" {
		return unsound("it has no body; only a withdrawal, which names what it supersedes, goes without")
	}
	for _, t := range []struct {
		name string
		at   time.Time
	}{{"at", d.At}, {"until", d.Until}, {"made", d.Made}} {
		if year := t.at.UTC().Year(); year < 1 || year > 9999 {
			return unsound("%s lies in the year %d; give one of 1 to 9999", t.name, year)
		}
	}
	for _, t := range []struct{ name, text string }{
		{"kind", d.Kind}, {"at_precision", string(d.Precision)}, {"offset", d.Offset}, {"by", d.By},
		{"for", d.For}, {"role", d.Role}, {"reason", d.Reason},
	} {
		if !utf8.ValidString(t.text) {
			return unsound("%s is not UTF-8", t.name)
		}
	}
	for _, p := range d.Places {
		if !utf8.ValidString(p) {
			return unsound("a place is not UTF-8")
		}
	}
	if d.Body == nil {
		return nil
	}
	return soundValue("body", d.Body, 0)
}

func unsound(format string, args ...any) error {
	return fmt.Errorf("%w: %w", ErrUnsound, fmt.Errorf(format, args...))
}

// soundValue holds a value of a body to what canonical bytes can carry.
func soundValue(path string, v any, depth int) error {
	if depth > deepest {
		return unsound("%s: nested deeper than %d", path, deepest)
	}
	switch v := v.(type) {
	case book.Object:
		for key, one := range v {
			if !utf8.ValidString(key) {
				return unsound("%s: a key is not UTF-8", path)
			}
			if err := soundValue(path+"."+key, one, depth+1); err != nil {
				return err
			}
		}
	case []any:
		for i, one := range v {
			if err := soundValue(fmt.Sprintf("%s.%d", path, i), one, depth+1); err != nil {
				return err
			}
		}
	case string:
		if !utf8.ValidString(v) {
			return unsound("%s is not UTF-8", path)
		}
	case int64:
		if v > book.MaxInteger || v < -book.MaxInteger {
			return unsound("%s: %d is beyond the whole numbers kept; write it as text", path, v)
		}
	case bool:
	default:
		return unsound("%s holds a %T; a body holds text, whole numbers (int64), true, false, lists and objects", path, v)
	}
	return nil
}
