package monitoring

import (
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// ImportKind is the kind of entry that brings a logger file in.
const ImportKind = "import.1"

// ImportChannel says where the readings of a column come from.
type ImportChannel struct {
	Place      string // feature code
	Instrument string // refs; "" = not said
	Deployment string
}

// ImportBody puts down how a file was read and what came of it: the body of the
// entry, the places it names, and the time from the first reading to the end of
// the last, both zero where the file holds none. of has one for each channel
// parsed, in their order.
func ImportBody(file book.Hash, name string, m series.Mapping, p *series.Parsed, of []ImportChannel) (body book.Object, places []string, from, to time.Time) {
	parser, version, _ := strings.Cut(series.Parser, ".")
	var first, last int64
	channels := []any{}
	seen := map[string]bool{}
	for i := range p.Channels {
		c := &p.Channels[i]
		o := book.Object{"channel": c.Channel, "quantity": c.Quantity, "place": of[i].Place, "count": c.Count, "valid": c.Valid, "digest": book.Hash(c.Digest).String()}
		for key, v := range map[string]string{"unit": c.Unit, "instrument": of[i].Instrument, "deployment": of[i].Deployment} {
			if v != "" {
				o[key] = v
			}
		}
		channels = append(channels, o)
		if !seen[of[i].Place] {
			seen[of[i].Place] = true
			places = append(places, of[i].Place)
		}
		if n := len(c.Blocks); n > 0 {
			begin, end := c.Blocks[0].Start[0], lastEnd(c.Blocks[n-1])
			if first == 0 && last == 0 || begin < first {
				first = begin
			}
			last = max(last, end)
		}
	}
	body = book.Object{
		"file": file.String(), "name": name, "mapping": MappingBody(m), "parser": parser, "parser_version": version,
		"rows": int64(p.Rows), "channels": channels,
	}
	if p.Duplicates > 0 {
		body["duplicates"] = int64(p.Duplicates)
	}
	if decisions := decisionsBody(p.Decisions); len(decisions) > 0 {
		body["decisions"] = decisions
	}
	if last > first {
		from, to = time.UnixMilli(first).UTC(), time.UnixMilli(last).UTC()
	}
	return body, places, from, to
}

// lastEnd is when the last reading of a block ends, an instant lasting 1 ms.
func lastEnd(b *series.Block) int64 { return b.Start[len(b.Start)-1] + max(b.Span, 1) }

func decisionsBody(list []series.Decision) []any {
	var out []any
	for _, d := range list {
		o := book.Object{"from": int64(d.From), "to": int64(d.To), "what": d.What, "rows": int64(d.Rows)}
		if d.Column != "" {
			o["column"] = d.Column
		}
		out = append(out, o)
	}
	return out
}

// MappingBody is a mapping as an import entry keeps it.
func MappingBody(m series.Mapping) book.Object {
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
