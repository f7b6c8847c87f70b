package folder

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// mappingKeys are the keys of a mapping with one value each.
var mappingKeys = []string{"encoding", "delimiter", "decimal_mark", "header_row", "skip_rows", "footer_rows"}

// mappingNode reads a mapping: how a delimited logger file is read. The zone
// and the channels stand in the index.
func (l *loader) mappingNode(file string, n *node) (series.Mapping, bool) {
	before := len(l.problems)
	n.only(file, &l.findings, mappingKeys, "time", "missing", "flags")
	m := series.Mapping{Encoding: n.word("encoding"), Delimiter: n.word("delimiter"), DecimalMark: n.word("decimal_mark")}
	for _, one := range []struct {
		key  string
		into *int
	}{{"header_row", &m.HeaderRow}, {"skip_rows", &m.SkipRows}, {"footer_rows", &m.FooterRows}} {
		v := n.word(one.key)
		if v == "" {
			continue
		}
		i, err := strconv.Atoi(v)
		if err != nil || i < 0 {
			l.say(file, lineOf(n, one.key), one.key, fmt.Sprintf("%q is no number of lines", v), "")
		}
		*one.into = i
	}
	t := n.get("time")
	if t == nil {
		l.say(file, n.line, "time", "how the time is read is missing", "give time: columns, stamp (begin, mid, end or instant), interval in seconds, layout")
		return m, false
	}
	t.only(file, &l.findings, []string{"layout", "stamp", "interval"}, "columns")
	m.Time = series.TimeColumns{Layout: t.word("layout"), Stamp: t.word("stamp"), Interval: t.word("interval")}
	m.Time.Columns = l.words(file, t.get("columns"))
	m.Missing = l.words(file, n.get("missing"))
	if flags := n.get("flags"); flags != nil {
		for _, f := range flags.list {
			f.only(file, &l.findings, []string{"text", "means"})
			m.Flags = append(m.Flags, series.Flag{Text: f.word("text"), Means: f.word("means")})
		}
	}
	return m, len(l.problems) == before
}

// words reads a list of plain values, or one alone.
func (l *loader) words(file string, n *node) []string {
	if n == nil {
		return nil
	}
	if n.form == yaml.ScalarNode {
		return []string{n.text}
	}
	var out []string
	for _, c := range n.list {
		if c.form != yaml.ScalarNode {
			l.say(file, c.line, "", "a plain value is wanted here", "")
			continue
		}
		out = append(out, c.text)
	}
	return out
}

// mappingBody is a mapping as an import entry keeps it.
func mappingBody(m series.Mapping) book.Object {
	o := book.Object{}
	text := func(key, v string) {
		if v != "" {
			o[key] = v
		}
	}
	whole := func(key string, v int) {
		if v != 0 {
			o[key] = int64(v)
		}
	}
	text("encoding", m.Encoding)
	text("delimiter", m.Delimiter)
	text("decimal_mark", m.DecimalMark)
	whole("header_row", m.HeaderRow)
	whole("skip_rows", m.SkipRows)
	whole("footer_rows", m.FooterRows)
	text("time_layout", m.Time.Layout)
	text("stamp", m.Time.Stamp)
	text("interval", m.Time.Interval)
	text("zone", m.Time.Zone)
	columns, values, missing, flags := []any{}, []any{}, []any{}, []any{}
	for _, c := range m.Time.Columns {
		columns = append(columns, book.Object{"column": c})
	}
	o["time_columns"] = columns
	for _, v := range m.Values {
		one := book.Object{"column": v.Column, "channel": v.Channel}
		for key, s := range map[string]string{"unit": v.Unit, "quantity": v.Quantity, "qualifier": v.Qualifier} {
			if s != "" {
				one[key] = s
			}
		}
		values = append(values, one)
	}
	o["values"] = values
	for _, s := range m.Missing {
		missing = append(missing, book.Object{"text": s})
	}
	for _, f := range m.Flags {
		flags = append(flags, book.Object{"text": f.Text, "means": f.Means})
	}
	if len(missing) > 0 {
		o["missing"] = missing
	}
	if len(flags) > 0 {
		o["flags"] = flags
	}
	return o
}

// MappingOf returns the mapping that an import entry was read by, so that its
// original can be read again.
func MappingOf(imported book.Object) series.Mapping {
	o, _ := imported["mapping"].(book.Object)
	m := series.Mapping{
		Encoding: o.Text("encoding"), Delimiter: o.Text("delimiter"), DecimalMark: o.Text("decimal_mark"),
		HeaderRow: int(o.Integer("header_row")), SkipRows: int(o.Integer("skip_rows")), FooterRows: int(o.Integer("footer_rows")),
		Time: series.TimeColumns{Layout: o.Text("time_layout"), Stamp: o.Text("stamp"), Interval: o.Text("interval"), Zone: o.Text("zone")},
	}
	for _, c := range o.Objects("time_columns") {
		m.Time.Columns = append(m.Time.Columns, c.Text("column"))
	}
	for _, v := range o.Objects("values") {
		m.Values = append(m.Values, series.ValueColumn{Column: v.Text("column"), Channel: v.Text("channel"), Unit: v.Text("unit"),
			Quantity: v.Text("quantity"), Qualifier: v.Text("qualifier")})
	}
	for _, v := range o.Objects("missing") {
		m.Missing = append(m.Missing, v.Text("text"))
	}
	for _, v := range o.Objects("flags") {
		m.Flags = append(m.Flags, series.Flag{Text: v.Text("text"), Means: v.Text("means")})
	}
	return m
}

// mappingText writes a mapping as YAML, without the zone and the channels.
func mappingText(m series.Mapping) []byte {
	var b strings.Builder
	line := func(indent, key, v string) {
		if v != "" {
			b.WriteString(indent + key + ": " + quoted(v) + "\n")
		}
	}
	whole := func(key string, v int) {
		if v != 0 {
			b.WriteString(key + ": " + strconv.Itoa(v) + "\n")
		}
	}
	line("", "encoding", m.Encoding)
	line("", "delimiter", m.Delimiter)
	line("", "decimal_mark", m.DecimalMark)
	whole("header_row", m.HeaderRow)
	whole("skip_rows", m.SkipRows)
	whole("footer_rows", m.FooterRows)
	b.WriteString("time:\n  columns: " + wordList(m.Time.Columns) + "\n")
	line("  ", "layout", m.Time.Layout)
	line("  ", "stamp", m.Time.Stamp)
	line("  ", "interval", m.Time.Interval)
	if len(m.Missing) > 0 {
		b.WriteString("missing: " + wordList(m.Missing) + "\n")
	}
	if len(m.Flags) > 0 {
		b.WriteString("flags:\n")
		for _, f := range m.Flags {
			b.WriteString("  - {text: " + quoted(f.Text) + ", means: " + quoted(f.Means) + "}\n")
		}
	}
	return []byte(b.String())
}

func wordList(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = quoted(w)
	}
	return "[" + strings.Join(out, ", ") + "]"
}
