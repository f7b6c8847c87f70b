package handover

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// envelopeColumns are the columns every register begins with.
var envelopeColumns = []string{"seq", "id", "state", "at", "until", "at_precision", "places", "recorded", "made", "by", "role", "supersedes", "reason"}

// register writes the entries of a kind as CSV (RFC 4180), corrections and
// withdrawals included, so that the table shows all that was ever said.
func register(k *book.Kind, entries []*book.Entry, view *book.View, withhold bool) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	head := append(append([]string{}, envelopeColumns...), "ref")
	for _, f := range k.Fields {
		head = append(head, column(f))
	}
	if err := w.Write(head); err != nil {
		return nil, err
	}
	for _, e := range entries {
		if e.Kind != k.Name {
			continue
		}
		row := append(envelopeCells(e, view), safe(e.Body.Text("ref")))
		hide := withhold && strings.HasPrefix(e.Kind, withheldKind)
		for _, f := range k.Fields {
			if hide {
				row = append(row, "")
				continue
			}
			row = append(row, safe(cell(e.Body[f.Name])))
		}
		if err := w.Write(row); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func column(f book.Field) string {
	if f.Unit == "" {
		return f.Name
	}
	return f.Name + " [" + f.Unit + "]"
}

func envelopeCells(e *book.Entry, view *book.View) []string {
	until, made := "", ""
	if !e.Until.IsZero() {
		until = book.FormatInstant(e.Until)
	}
	if !e.Made.IsZero() {
		made = book.FormatInstant(e.Made)
	}
	return []string{
		strconv.FormatInt(e.Seq, 10), string(e.ID), state(e, view), book.FormatInstant(e.At), until, string(e.Precision),
		safe(strings.Join(e.Places, ";")), book.FormatInstant(e.Recorded), made, safe(e.By), safe(e.Role), string(e.Supersedes), safe(e.Reason),
	}
}

func state(e *book.Entry, view *book.View) string {
	head := view.Head(e.ID)
	switch {
	case e.ErasedBy > 0:
		return "erased by entry " + strconv.FormatInt(e.ErasedBy, 10)
	case e.Withdrawal():
		return "withdrawal"
	case head != nil && head.Withdrawal():
		return "withdrawn"
	case head != nil && head.ID != e.ID:
		return "corrected later"
	}
	return "in force"
}

// cell writes a value of a body; lists and groups as canonical JSON.
func cell(v any) string {
	switch v := v.(type) {
	case nil:
		return ""
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

// safe keeps a table program from taking a text for a formula: what begins
// with = + @ or a tab gets an apostrophe before it; numbers stay numbers.
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
