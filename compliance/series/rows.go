package series

import (
	"errors"
	"slices"
	"strings"
)

// A logger that sends its readings itself sends them row by row. Such a row
// holds the cells of Mapping.Columns, in that order.

// ErrNumbered is for a mapping that names columns by their number.
var ErrNumbered = errors.New("mapping: rows that are sent name their columns; a column by number, such as #2, has no name")

// Columns returns the columns of a row that is sent, each once: those of the
// time, then each value and its qualifier.
func (m Mapping) Columns() []string {
	var out []string
	add := func(name string) {
		if name = strings.TrimSpace(name); name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	for _, c := range m.Time.Columns {
		add(c)
	}
	for _, v := range m.Values {
		add(v.Column)
		add(v.Qualifier)
	}
	return out
}

// Sent is the mapping of a file made of rows that were sent: commas, decimal
// points, the names of the columns in line 1. It fails where such rows cannot
// be read by the mapping alone.
func (m Mapping) Sent() (Mapping, error) {
	m.Encoding, m.Delimiter, m.DecimalMark = "", ",", "."
	m.HeaderRow, m.SkipRows, m.FooterRows = 1, 0, 0
	if err := m.Check(); err != nil {
		return m, err
	}
	if slices.ContainsFunc(m.Columns(), func(c string) bool { return strings.HasPrefix(c, "#") }) {
		return m, ErrNumbered
	}
	return m, nil
}

// Begins returns when the reading of each row begins and how long it stands
// for, UTC ms. All rows whose time cannot be read are in the *BadFile error,
// numbered from 1.
func (m Mapping) Begins(rows [][]string) (begin, span []int64, err error) {
	p, err := m.plan()
	if err != nil {
		return nil, nil, err
	}
	d := &reading{plan: p, bad: &BadFile{Name: "rows"}, out: &Parsed{}, times: []int{0, 1}[:len(m.Time.Columns)]}
	begin, span = make([]int64, len(rows)), make([]int64, len(rows))
	for i, cells := range rows {
		begin[i], span[i], _ = d.when(i+1, cells)
	}
	if d.bad.Count > 0 {
		return nil, nil, d.bad
	}
	return begin, span, nil
}
