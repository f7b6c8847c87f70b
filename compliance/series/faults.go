package series

import (
	"fmt"
	"strings"
)

// maxShown bounds the bad lines that are kept; the rest are counted.
const maxShown = 50

// BadLine is one line of a file that cannot be read.
type BadLine struct {
	Line   int    // from 1
	Column string // name as in the mapping; "" for the whole line
	Why    string // what is wrong, and the remedy where there is one
}

// BadFile is the error for a file with bad lines: the first of them and how
// many there are. Nothing of such a file is kept.
type BadFile struct {
	Name  string
	Lines []BadLine // at most 50
	Count int
}

// Error lists the bad lines.
func (e *BadFile) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d bad lines, nothing was read", e.Name, e.Count)
	if e.Count == 1 {
		b.Reset()
		fmt.Fprintf(&b, "%s: 1 bad line, nothing was read", e.Name)
	}
	for _, l := range e.Lines {
		fmt.Fprintf(&b, "\n%s:%d: ", e.Name, l.Line)
		if l.Column != "" {
			fmt.Fprintf(&b, "column %s: ", l.Column)
		}
		b.WriteString(l.Why)
	}
	if more := e.Count - len(e.Lines); more > 0 {
		fmt.Fprintf(&b, "\n%s: and %d more", e.Name, more)
	}
	return b.String()
}

func (e *BadFile) add(line int, column, format string, args ...any) {
	e.Count++
	if len(e.Lines) < maxShown {
		e.Lines = append(e.Lines, BadLine{line, column, fmt.Sprintf(format, args...)})
	}
}
