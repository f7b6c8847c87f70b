package folder

import "strings"

const documentsIndex = "documents/index.csv"

// readDocuments reads documents/index.csv: a row for each paper kept.
func (l *loader) readDocuments() {
	if !l.exists(documentsIndex) {
		return
	}
	data, ok := l.bytes(documentsIndex)
	if !ok {
		return
	}
	t := readTable(documentsIndex, data, &l.findings)
	if t == nil {
		return
	}
	s := newSheet(t, l.kinds.Named("document.1"))
	if !l.columns(s) {
		return
	}
	for _, r := range s.rows {
		d, recorded, ok := l.envelope(s, r)
		body, okBody := l.body(s, r)
		if s.withdrawal(r) && len(body) == 0 {
			body = nil
		}
		d.Body = body
		if i := s.fieldAt("file"); body != nil && body.Text("name") == "" && i >= 0 {
			body["name"] = strings.TrimPrefix(strings.TrimSpace(r.cells[i]), "documents/")
		}
		if ok && okBody && l.identify(s, r, &d) {
			l.add(d, s.path, r.line, recorded)
		}
	}
	l.tableReceipts(s)
}
