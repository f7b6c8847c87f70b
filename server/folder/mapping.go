package folder

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
)

// mappingKeys are the keys of a mapping with one value each.
var mappingKeys = []string{"encoding", "delimiter", "decimal_mark", "header_row", "skip_rows", "footer_rows"}

// mappingNode reads a mapping: how a delimited logger file is read. The zone
// and the channels stand in the index.
func (l *loader) mappingNode(file string, n *node) (series.Mapping, bool) {
	n.only(file, &l.findings, mappingKeys, "time", "missing", "flags")
	return l.mappingIn(file, n)
}

func (l *loader) mappingIn(file string, n *node) (series.Mapping, bool) {
	before := len(l.problems)
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

// ReadMapping reads a mapping that stands by itself: as in readings/mappings,
// with the zone and the channels of its columns. name stands in messages; what
// is wrong comes back as Problems.
func ReadMapping(name string, data []byte) (series.Mapping, []monitoring.ImportChannel, error) {
	l := &loader{}
	n := readYAML(name, data, &l.findings)
	if n == nil {
		return series.Mapping{}, nil, l.err()
	}
	channels := n.get("channels")
	zone := n.word("zone")
	n.only(name, &l.findings, append([]string{"zone"}, mappingKeys...), "time", "missing", "flags", "channels")
	m, _ := l.mappingIn(name, n)
	m.Time.Zone = zone
	if zone == "" {
		l.say(name, n.line, "zone", "the zone of the logger's clock is missing", "write its IANA name, UTC, an offset such as +00:00 for a clock that is never put forward, or in file")
	}
	var of []monitoring.ImportChannel
	if channels == nil || len(channels.list) == 0 {
		l.say(name, n.line, "channels", "no column is named", "list channels: each with column, channel, quantity, unit and place")
	} else {
		for _, c := range channels.list {
			c.only(name, &l.findings, []string{"column", "channel", "quantity", "unit", "place", "qualifier", "instrument", "deployment"})
			m.Values = append(m.Values, series.ValueColumn{Column: c.word("column"), Channel: c.word("channel"), Quantity: c.word("quantity"), Unit: c.word("unit"), Qualifier: c.word("qualifier")})
			of = append(of, monitoring.ImportChannel{Place: c.word("place"), Instrument: c.word("instrument"), Deployment: c.word("deployment")})
			for _, must := range []string{"column", "channel", "quantity", "place"} {
				if c.word(must) == "" {
					l.say(name, c.line, must, must+" is missing", "write it")
				}
			}
		}
	}
	if len(l.problems) > 0 {
		return m, of, l.err()
	}
	return m, of, nil
}
