package folder

import (
	"fmt"
	"slices"

	"github.com/swardbook/swardbook/compliance/book"
)

const withdrawalsFile = "registers/withdrawals.csv"

// withdrawable are the kinds whose withdrawals stand in a table of their own,
// since they stand in no table themselves.
var withdrawable = []string{"site.1", "person.1", "role.1", "calendar.1", "plan.1", "permit.1", "variation.1", "import.1"}

// readWithdrawals reads what was taken back of notices, plans, lists, people
// and imports.
func (l *loader) readWithdrawals() {
	if !l.exists(withdrawalsFile) {
		return
	}
	data, ok := l.bytes(withdrawalsFile)
	if !ok {
		return
	}
	t := readTable(withdrawalsFile, data, &l.findings)
	if t == nil {
		return
	}
	s := newSheet(t, &book.Kind{Register: "withdrawals"})
	if !l.columns(s, "kind") {
		return
	}
	for _, r := range s.rows {
		d, recorded, ok := l.envelope(s, r)
		d.Kind = s.cell(r, "kind")
		if !slices.Contains(withdrawable, d.Kind) {
			l.say(s.path, r.line, "kind", fmt.Sprintf("%q is no kind that is withdrawn here", d.Kind), meant(d.Kind, withdrawable))
			continue
		}
		if d.Supersedes == "" {
			l.say(s.path, r.line, "supersedes", "the row names no entry", "put the entry's id of 32 hex digits here")
			continue
		}
		if ok && l.identify(s, r, &d) {
			l.add(d, s.path, r.line, recorded)
		}
	}
	l.tableReceipts(s)
}

// withdrawals writes them.
func (w *writer) withdrawals() error {
	if len(w.gone) == 0 {
		return nil
	}
	kind := &book.Kind{Register: "withdrawals"}
	t := &rowsOf{path: withdrawalsFile, kind: kind, at: "at", seen: map[string]int{}, refs: map[string][]book.ID{}}
	for _, e := range w.gone {
		c := w.envelopeCells(t, e)
		delete(c, "withdraws")
		c["supersedes"] = string(e.Supersedes)
		c["kind"] = e.Kind
		t.rows = append(t.rows, c)
	}
	keys := []string{"kind"}
	for _, name := range envelopeColumns {
		if name == "at" || t.needs(name) {
			keys = append(keys, name)
		}
	}
	return w.file(withdrawalsFile, csvText(keys, keys, t.rows))
}
