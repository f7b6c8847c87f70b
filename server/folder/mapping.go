package folder

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

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
