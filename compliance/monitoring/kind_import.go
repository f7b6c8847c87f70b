package monitoring

import (
	"fmt"
	"regexp"

	"github.com/swardbook/swardbook/compliance/book"
)

// importKind brings a logger file in. It commits to the result: parser and
// version, mapping, every decision on rows, and for each channel the number of
// readings and the digest over them.
func importKind() *book.Kind {
	return &book.Kind{
		Name: "import.1", Subject: "monitoring", Title: "Import of readings",
		Help: "A logger file as it came, how it was read, and what was accepted of it.",
		Fields: []book.Field{
			{Name: "file", Title: "File", Type: book.File, Required: true},
			{Name: "name", Title: "File name", Type: book.Text},
			{Name: "mapping", Title: "How it was read", Type: book.Group, Required: true, Fields: mappingFields()},
			{Name: "parser", Title: "Read by", Type: book.Text, Required: true},
			{Name: "parser_version", Title: "Version", Type: book.Text, Required: true},
			{Name: "rows", Title: "Rows of data", Type: book.Integer, Required: true, Min: "0"},
			{Name: "duplicates", Title: "Rows dropped as repeated", Type: book.Integer, Min: "0"},
			{Name: "channels", Title: "Channels", Type: book.List, Required: true, Fields: []book.Field{
				{Name: "channel", Title: "Channel", Type: book.Text, Required: true},
				{Name: "quantity", Title: "Quantity", Type: book.Text, Required: true},
				{Name: "place", Title: "Place", Type: book.Feature, Required: true},
				{Name: "unit", Title: "Unit", Type: book.Text},
				{Name: "instrument", Title: "Instrument", Type: book.Ref},
				{Name: "deployment", Title: "Deployment", Type: book.Ref},
				{Name: "count", Title: "Readings", Type: book.Integer, Required: true, Min: "0"},
				{Name: "valid", Title: "Of them with a value", Type: book.Integer, Min: "0"},
				{Name: "digest", Title: "Digest", Type: book.Text, Required: true},
			}},
			{Name: "decisions", Title: "Decisions on rows", Type: book.List, Fields: []book.Field{
				{Name: "from", Title: "From line", Type: book.Integer, Required: true, Min: "0"},
				{Name: "to", Title: "To line", Type: book.Integer, Required: true, Min: "0"},
				{Name: "column", Title: "Column", Type: book.Text},
				{Name: "what", Title: "What was done", Type: book.Text, Required: true},
				{Name: "rows", Title: "Rows", Type: book.Integer, Required: true, Min: "0"},
			}},
		},
		Place: book.MayNamePlace, Length: book.MustLast,
		Check: checkImport,
	}
}

// mappingFields is the mapping of a delimited logger file, member by member.
func mappingFields() []book.Field {
	whole := func(name, title string) book.Field {
		return book.Field{Name: name, Title: title, Type: book.Integer, Min: "0"}
	}
	text := func(name, title string) book.Field { return book.Field{Name: name, Title: title, Type: book.Text} }
	return []book.Field{
		text("encoding", "Encoding"), text("delimiter", "Delimiter"), text("decimal_mark", "Decimal mark"),
		whole("header_row", "Header in line"), whole("skip_rows", "Rows passed over"), whole("footer_rows", "Rows left out at the end"),
		{Name: "time_columns", Title: "Time columns", Type: book.List, Required: true, Fields: []book.Field{
			{Name: "column", Title: "Column", Type: book.Text, Required: true}}},
		text("time_layout", "Form of the time"), text("stamp", "Stamp marks"), text("interval", "Interval"), text("zone", "Zone"),
		{Name: "values", Title: "Value columns", Type: book.List, Required: true, Fields: []book.Field{
			{Name: "column", Title: "Column", Type: book.Text, Required: true},
			{Name: "channel", Title: "Channel", Type: book.Text, Required: true},
			{Name: "unit", Title: "Unit", Type: book.Text},
			{Name: "quantity", Title: "Quantity", Type: book.Text},
			{Name: "qualifier", Title: "Qualifier column", Type: book.Text},
		}},
		{Name: "missing", Title: "Texts for no value", Type: book.List, Fields: []book.Field{
			{Name: "text", Title: "Text", Type: book.Text, Required: true}}},
		{Name: "flags", Title: "Flags", Type: book.List, Fields: []book.Field{
			{Name: "text", Title: "Text", Type: book.Text, Required: true},
			{Name: "means", Title: "Means", Type: book.Text, Required: true},
		}},
	}
}

var digestForm = regexp.MustCompile(`^[0-9a-f]{64}$`)

func checkImport(o book.Object) []book.Fault {
	var faults []book.Fault
	seen := map[string]bool{}
	for i, channel := range o.Objects("channels") {
		code := channel.Text("channel")
		if seen[code] {
			faults = append(faults, book.Fault{Field: fmt.Sprintf("channels.%d.channel", i), Reason: code + " stands twice", Remedy: "give each column a channel of its own"})
		}
		seen[code] = true
		if digest := channel.Text("digest"); digest != "" && !digestForm.MatchString(digest) {
			faults = append(faults, book.Fault{Field: fmt.Sprintf("channels.%d.digest", i), Reason: "not a SHA-256 in 64 lower-case hex digits", Remedy: "take the digest that reading the file gave"})
		}
	}
	return faults
}
