package handover

import (
	"bufio"
	"io"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// table writes CSV as RFC 4180 has it: lines end in CR LF, cells with commas,
// quotes or line ends stand in quotes. Line ends inside a cell stay as they
// were entered.
type table struct {
	w   *bufio.Writer
	err error
}

func newTable(w io.Writer) *table { return &table{w: bufio.NewWriter(w)} }

func (t *table) row(cells ...string) {
	for i, c := range cells {
		if i > 0 {
			t.put(",")
		}
		if strings.ContainsAny(c, "\",\r\n") || c != strings.TrimSpace(c) {
			t.put(`"` + strings.ReplaceAll(c, `"`, `""`) + `"`)
		} else {
			t.put(c)
		}
	}
	t.put("\r\n")
}

func (t *table) put(s string) {
	if t.err == nil {
		_, t.err = t.w.WriteString(s)
	}
}

// flush writes what is left and returns the first error there was.
func (t *table) flush() error {
	if t.err == nil {
		t.err = t.w.Flush()
	}
	return t.err
}

// safe keeps a table program from taking a text for a formula: what begins
// with = + @ or a tab gets an apostrophe before it, and so does what begins
// with - and is no number.
func safe(s string) string {
	if s == "" {
		return s
	}
	switch s[0] {
	case '=', '+', '@', '\t', '\r':
		return "'" + s
	case '-':
		if !book.IsDecimal(s) {
			return "'" + s
		}
	}
	return s
}
