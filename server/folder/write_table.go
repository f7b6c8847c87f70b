package folder

import (
	"bytes"
	"encoding/csv"
	"io"
	"slices"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/geo/survey"
)

// rowsOf is a table being written: what its reader will have seen so far.
type rowsOf struct {
	path string
	kind *book.Kind
	at   string // head of the time column
	seen map[string]int
	refs map[string][]book.ID
	rows []map[string]string // by envelope column, and by field name after a dot
}

// registers writes a table for each kind that has any entries.
func (w *writer) registers() error {
	for _, k := range w.kinds.All() {
		if !k.Plain || len(w.byKind[k.Name]) == 0 {
			continue
		}
		if err := w.table("registers/"+k.Register+".csv", k, "at", w.byKind[k.Name], nil); err != nil {
			return err
		}
	}
	return nil
}

// table writes entries of one kind as a table. settle may change the cells of
// a row before it is kept.
func (w *writer) table(name string, k *book.Kind, at string, entries []*book.Entry, settle func(*book.Entry, map[string]string)) error {
	t := &rowsOf{path: name, kind: k, at: at, seen: map[string]int{}, refs: map[string][]book.ID{}}
	for _, e := range entries {
		cells := w.envelopeCells(t, e)
		for i := range k.Fields {
			if fd := &k.Fields[i]; e.Body.Has(fd.Name) {
				cells["."+fd.Name] = w.formatCell(fd, e.Body[fd.Name])
			}
		}
		if settle != nil {
			settle(e, cells)
		}
		t.rows = append(t.rows, cells)
	}
	return w.file(name, t.csv())
}

// envelopeCells writes what every table shares.
func (w *writer) envelopeCells(t *rowsOf, e *book.Entry) map[string]string {
	at := momentOf(e)
	c := map[string]string{
		"at": formatMoment(at, w.loc), "places": strings.Join(e.Places, ";"), "for": e.For, "reason": e.Reason,
		"made": stamp(w.made(e)), "recorded": stamp(w.recorded(e)),
	}
	if !e.Until.IsZero() {
		c["until"] = formatUntil(e.Until, at, w.loc)
	}
	c["by"], c["role"] = e.By, e.Role
	if e.By == w.people.by {
		c["by?"] = "default"
	}
	if e.Role == w.people.role(e.By, e.At) {
		c["role?"] = "default"
	}
	if e.Body == nil {
		c["withdraws"] = "yes"
	}
	if e.Supersedes != "" {
		c["supersedes"] = string(e.Supersedes)
		if of := w.byID[e.Supersedes]; of != nil {
			if ref := of.Body.Text("ref"); ref != "" && lastOf(t.refs[ref]) == of.ID {
				c["supersedes"] = ref
			}
		}
	}
	w.identityCells(t, e, c)
	named := withBodyFiles(nil, t.kind.Fields, e.Body)
	var files []string
	for _, h := range e.Files {
		if !slices.Contains(named, h) {
			files = append(files, w.pathOfText(h.String()))
		}
	}
	c["files"] = strings.Join(files, ";")
	return c
}

func lastOf(ids []book.ID) book.ID {
	if len(ids) == 0 {
		return ""
	}
	return ids[len(ids)-1]
}

// identityCells writes the id and reference of a row: the reference alone, or
// nothing, where the reader derives the same id from the row.
func (w *writer) identityCells(t *rowsOf, e *book.Entry, c map[string]string) {
	d := draftOf(e)
	ref := e.Body.Text("ref")
	content := ""
	if ref == "" {
		content = contentKey(&d)
	}
	before := t.seen[content]
	if book.RowID(w.siteID, e.Kind, t.path, rowKey(&d, ref, len(t.refs[ref]), t.seen)) == e.ID {
		c["id"] = ref
	} else {
		c["id"], c["ref"] = string(e.ID), ref
		if ref == "" {
			t.seen[content] = before
		}
	}
	if ref != "" {
		t.refs[ref] = append(t.refs[ref], e.ID)
	}
}

// csv writes the table: the columns that any row needs, in a fixed order.
func (t *rowsOf) csv() []byte {
	var keys, head []string
	for _, name := range envelopeColumns {
		if name == "at" || t.needs(name) {
			keys = append(keys, name)
			title := columnName(t.kind, name)
			if name == "at" {
				title = t.at
			}
			head = append(head, title)
		}
	}
	for i := range t.kind.Fields {
		if fd := &t.kind.Fields[i]; fd.Required || t.needs("."+fd.Name) {
			keys, head = append(keys, "."+fd.Name), append(head, header(fd))
		}
	}
	return csvText(head, keys, t.rows)
}

// needs tells whether some row has something of its own in a column.
func (t *rowsOf) needs(name string) bool {
	return slices.ContainsFunc(t.rows, func(c map[string]string) bool { return c[name] != "" && c[name+"?"] != "default" })
}

func csvText(head, keys []string, rows []map[string]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	// A bytes.Buffer takes every write, so the writer's error is never set.
	_ = w.Write(head)
	for _, c := range rows {
		cells := make([]string, len(keys))
		for i, k := range keys {
			cells[i] = c[k]
		}
		_ = w.Write(cells)
	}
	w.Flush()
	return b.Bytes()
}

// documents writes documents/index.csv.
func (w *writer) documents() error {
	list := w.byKind["document.1"]
	if len(list) == 0 {
		return nil
	}
	n := map[book.Hash]int{}
	return w.table(documentsIndex, w.kinds.Named("document.1"), "at", list, func(e *book.Entry, c map[string]string) {
		h, err := book.ParseHash(e.Body.Text("file"))
		if err != nil {
			return
		}
		c[".file"] = w.nth(h, n[h])
		n[h]++
		if c[".name"] == strings.TrimPrefix(c[".file"], "documents/") {
			c[".name"] = ""
		}
	})
}

// nth returns the n-th place of an original, from 0.
func (w *writer) nth(h book.Hash, n int) string {
	if n == 0 {
		return w.paths[h]
	}
	for _, p := range w.more {
		if p.hash == h {
			if n--; n == 0 {
				return p.path
			}
		}
	}
	return w.paths[h]
}

// surveys writes surveys/index.csv.
func (w *writer) surveys() error {
	list := w.byKind["survey.1"]
	if len(list) == 0 {
		return nil
	}
	var keep []*book.Entry
	for _, e := range list {
		if e.Body != nil {
			w.surveyFiles(e)
			copied := *e
			copied.Body = personsDecisions(e.Body)
			w.byID[e.ID] = e
			e = &copied
		}
		keep = append(keep, e)
	}
	w.dir = "surveys/"
	err := w.table(surveysIndex, surveyColumns(w.kinds.Named("survey.1")), "date", keep, nil)
	w.dir = ""
	return err
}

// surveyFiles names the files of a survey by its reference.
func (w *writer) surveyFiles(e *book.Entry) {
	for _, one := range []struct{ field, end, ext string }{{"file", "", ""}, {"breaklines", "-breaklines", ".csv"}, {"boundary", "-boundary", ".csv"}} {
		h, err := book.ParseHash(e.Body.Text(one.field))
		if err != nil {
			continue
		}
		if _, there := w.paths[h]; there {
			continue
		}
		ext := one.ext
		if ext == "" {
			ext = w.surveyExtension(h)
		}
		w.place(h, "surveys/"+slug(e.Body.Text("ref"))+one.end+ext)
	}
}

func (w *writer) surveyExtension(h book.Hash) string {
	r, err := w.open(h)
	if err != nil {
		return ".csv" // writing the original will say what is wrong
	}
	defer r.Close()
	head := make([]byte, 4096)
	n, _ := io.ReadFull(r, head)
	return survey.FormatOf(head[:n]).Extension()
}

// personsDecisions leaves out the decisions that reading the file gives.
func personsDecisions(body book.Object) book.Object {
	out := book.Object{}
	for k, v := range body {
		if !slices.Contains(computedOfSurvey, k) {
			out[k] = v
		}
	}
	var kept []any
	for _, d := range body.Objects("decisions") {
		one := survey.Decision{Row: int(d.Integer("row")), Word: d.Text("decision")}
		if _, _, unknown, _ := survey.Decided("", []survey.Decision{one}); len(unknown) == 0 {
			kept = append(kept, d)
		}
	}
	delete(out, "decisions")
	if len(kept) > 0 {
		out["decisions"] = kept
	}
	return out
}

// slug makes a file name of a reference.
func slug(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '.', r == '_':
			return r
		}
		return '-'
	}, s)
	if s = strings.Trim(s, "-."); s == "" {
		return "unnamed"
	}
	return s
}
