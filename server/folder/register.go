package folder

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// readRegisters reads registers/*.csv in the order of the kinds.
func (l *loader) readRegisters() {
	names := l.names("registers", ".csv")
	var known []string
	for _, k := range l.kinds.All() {
		if k.Register == "" || !k.Plain {
			continue
		}
		known = append(known, k.Register+".csv")
		file := "registers/" + k.Register + ".csv"
		if i := slices.Index(names, file); i >= 0 {
			names = slices.Delete(names, i, i+1)
			l.readRegister(file, k)
		}
	}
	known = append(known, "withdrawals.csv")
	for _, n := range names {
		if n == withdrawalsFile {
			continue
		}
		l.say(n, 0, "", "no register has this name", meant(path.Base(n), known))
	}
}

func (l *loader) readRegister(file string, k *book.Kind) {
	data, ok := l.bytes(file)
	if !ok {
		return
	}
	t := readTable(file, data, &l.findings)
	if t == nil {
		return
	}
	s := newSheet(t, k)
	if !l.columns(s) {
		return
	}
	if _, ok := s.column["at"]; !ok {
		l.say(file, 1, "at", "the column is missing", "add it: when each thing happened")
		return
	}
	for _, r := range s.rows {
		l.registerRow(s, r)
	}
	l.tableReceipts(s)
}

func (l *loader) registerRow(s *sheet, r row) {
	d, recorded, ok := l.envelope(s, r)
	body, okBody := l.body(s, r)
	if s.withdrawal(r) {
		if len(body) > 0 {
			l.say(s.path, r.line, "withdraws", "a row that withdraws has nothing in the other columns", "leave them blank, or correct the entry instead")
			return
		}
		body = nil
	}
	d.Body = body
	if !ok || !okBody || !l.identify(s, r, &d) {
		return
	}
	l.add(d, s.path, r.line, recorded)
}

// body reads the columns of the kind's own fields.
func (l *loader) body(s *sheet, r row) (book.Object, bool) {
	ok := true
	o := book.Object{}
	for i := range r.cells {
		fd := s.fields[i]
		if fd == nil || strings.TrimSpace(r.cells[i]) == "" {
			continue
		}
		v, err := l.parseCell(fd, r.cells[i])
		if err != nil {
			l.say(s.path, r.line, header(fd), err.Error(), "")
			ok = false
			continue
		}
		o[fd.Name] = v
	}
	return o, ok
}

// tableReceipts notes whether a table tells when its rows were received: for
// all of them or for none.
func (l *loader) tableReceipts(s *sheet) {
	if len(s.rows) == 0 {
		return
	}
	var told, blank []int
	for _, r := range s.rows {
		if s.cell(r, "recorded") == "" {
			blank = append(blank, r.line)
		} else {
			told = append(told, r.line)
		}
	}
	switch {
	case len(told) == 0:
		l.receipt.without = append(l.receipt.without, s.path)
	case len(blank) == 0:
		l.receipt.with = append(l.receipt.with, s.path)
	default:
		for _, line := range blank {
			l.say(s.path, line, "recorded", fmt.Sprintf("the time of receipt is missing, while line %d has one", told[0]), "fill it in every row, or take the column away")
		}
	}
}
