package handover

import (
	"io"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// register is the entries of one kind as a table.
type register struct {
	kind    *book.Kind // without fields when this program does not know it
	name    string     // member
	entries []*book.Entry
}

// registers returns a register for every kind the book holds, in the order
// kinds are listed, unknown kinds after them as they come.
func (p *packed) registers(kinds *book.Kinds) []*register {
	byKind := map[string]*register{}
	var unknown []*register
	for _, e := range p.entries {
		r := byKind[e.Kind]
		if r == nil {
			r = &register{kind: kinds.Named(e.Kind)}
			byKind[e.Kind] = r
			if r.kind == nil {
				r.kind = &book.Kind{Name: e.Kind, Title: e.Kind}
				unknown = append(unknown, r)
			}
			r.name = registersDir + r.kind.Register + ".csv"
			if r.kind.Register == "" {
				r.name = registersDir + r.kind.Name + ".csv"
			}
		}
		r.entries = append(r.entries, e)
	}
	var out []*register
	for _, k := range kinds.All() {
		if r := byKind[k.Name]; r != nil {
			out = append(out, r)
		}
	}
	return append(out, unknown...)
}

// envelopeColumns are the columns every register begins with. Where a kind has
// a field of the same name the column is called entry_ and the name.
var envelopeColumns = []string{"seq", "id", "state", "at", "until", "at_precision", "offset", "made", "recorded", "places", "by", "for", "role", "supersedes", "reason", "files"}

// write writes the entries of a kind, corrections and withdrawals included, so
// that the table shows all that was ever said.
func (r *register) write(w io.Writer, p *packed, view *book.View) error {
	t := newTable(w)
	names := map[string]bool{}
	for _, f := range r.kind.Fields {
		names[f.Name] = true
	}
	var head []string
	for _, c := range envelopeColumns {
		if names[c] {
			c = "entry_" + c
		}
		head = append(head, c)
	}
	head = append(head, book.RefField)
	for i := range r.kind.Fields {
		head = append(head, column(&r.kind.Fields[i]))
	}
	known := len(r.kind.Fields) > 0
	if !known {
		head = append(head, "body")
	}
	t.row(head...)
	for _, e := range r.entries {
		row := append(envelopeCells(e, p.state(e, view)), safe(e.Body.Text(book.RefField)))
		for i := range r.kind.Fields {
			row = append(row, safe(cell(e.Body[r.kind.Fields[i].Name])))
		}
		if !known {
			body := ""
			if e.Body != nil {
				body = string(e.Body.Bytes())
			}
			row = append(row, body)
		}
		t.row(row...)
	}
	return t.flush()
}

func column(f *book.Field) string {
	if f.Unit == "" {
		return f.Name
	}
	return f.Name + " [" + f.Unit + "]"
}

func envelopeCells(e *book.Entry, state string) []string {
	until, made := "", ""
	if !e.Until.IsZero() {
		until = book.FormatInstant(e.Until)
	}
	if !e.Made.IsZero() {
		made = book.FormatInstant(e.Made)
	}
	files := make([]string, len(e.Files))
	for i, h := range e.Files {
		files[i] = h.String()
	}
	// The offset is told like +01:00 and is no formula to any table program.
	return []string{
		strconv.FormatInt(e.Seq, 10), string(e.ID), state, book.FormatInstant(e.At), until, string(e.Precision), e.Offset, made,
		book.FormatInstant(e.Recorded), safe(strings.Join(e.Places, ";")), safe(e.By), safe(e.For), safe(e.Role), string(e.Supersedes), safe(e.Reason),
		strings.Join(files, ";"),
	}
}

// state says what has become of an entry.
func (p *packed) state(e *book.Entry, view *book.View) string {
	var by *book.Entry // what superseded it
	for line, i := view.Line(e.ID), 0; i < len(line)-1; i++ {
		if line[i].ID == e.ID {
			by = line[i+1]
		}
	}
	switch {
	case e.ErasedBy > 0:
		return "erased by entry " + strconv.FormatInt(e.ErasedBy, 10)
	case by != nil && by.Withdrawal():
		return "withdrawn by entry " + strconv.FormatInt(by.Seq, 10)
	case by != nil:
		return "corrected by entry " + strconv.FormatInt(by.Seq, 10)
	case e.Withdrawal():
		return "withdrawal"
	case p.withheld[e.Seq]:
		return "in force, body withheld"
	}
	return "in force"
}

// cell writes a value of a body; lists and groups as canonical JSON.
func cell(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case int64:
		return strconv.FormatInt(v, 10)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case book.Object:
		return string(v.Bytes())
	case []any:
		b := book.Object{"": v}.Bytes()
		return string(b[len(`{"":`) : len(b)-1])
	}
	return ""
}
