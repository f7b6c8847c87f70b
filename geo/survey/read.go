package survey

import (
	"bytes"
	"fmt"
	"io"
	"strings"
)

// Order says which column of a point list holds what: P point name, E (or X)
// easting, N (or Y) northing, Z level, D description (code), in the order of
// the columns, such as PENZD.
type Order string

// Column orders in common use. OrderHeader takes the columns from the header
// row and refuses a file without one, since easting and northing are never guessed.
const (
	OrderHeader Order = ""
	OrderPNEZD  Order = "PNEZD"
	OrderPENZD  Order = "PENZD"
	OrderNEZ    Order = "NEZ"
	OrderENZ    Order = "ENZ"
)

// Options steer Read. The zero value is right for a file with a header in metres.
type Options struct {
	Order         Order
	Unit          Unit // unit of the file; "" means what the header states, else metres
	DecimalComma  bool // "430004,000" is a number
	RejectBadRows bool // unreadable rows become warnings instead of failing the whole file
	MaxRows       int  // refuse longer files; 0 means 20 million
}

func (o Options) maxRows() int {
	if o.MaxRows > 0 {
		return o.MaxRows
	}
	return 20_000_000
}

// Read reads a survey of any format known here, told by its content. name is
// used in messages. Every unreadable row is listed in the error, a *FileError.
func Read(r io.Reader, name string, opts Options) (*Survey, error) {
	data, err := slurp(r, name)
	if err != nil {
		return nil, err
	}
	if what, remedy := otherFormat(data); what != "" {
		return nil, fileErr(name, ErrFormat, "this is %s; %s", what, remedy)
	}
	if isASCIIGrid(data) {
		return readASCIIGrid(data, name, opts)
	}
	return readCSV(data, name, opts)
}

// otherFormat recognises files that are something else.
func otherFormat(data []byte) (what, remedy string) {
	head := bytes.TrimLeft(data[:min(len(data), 4096)], " \t\r\n")
	const points = "export the points as a list (point, easting, northing, level) or an ASCII grid"
	switch {
	case bytes.HasPrefix(data, []byte("LASF")):
		return "a LAS point cloud", points
	case bytes.HasPrefix(data, []byte("II*\x00")), bytes.HasPrefix(data, []byte("MM\x00*")), bytes.HasPrefix(data, []byte("II+\x00")):
		return "a TIFF picture", points
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return "a ZIP file or spreadsheet", "take the file out, or save the sheet as CSV"
	case bytes.HasPrefix(head, []byte("<")):
		return "an XML file", points
	case bytes.HasPrefix(head, []byte("{")), bytes.HasPrefix(head, []byte("[")):
		return "a JSON file", points
	case bytes.HasPrefix(head, []byte("0")) && strings.HasPrefix(strings.Join(strings.Fields(string(head[:min(len(head), 40)])), " "), "0 SECTION"):
		return "a DXF drawing", points
	case bytes.IndexByte(head, 0) >= 0:
		return "a binary file", points
	}
	return "", ""
}

// scaleTo converts a survey read in its own unit to metres, once.
func (s *Survey) scaleTo(metres float64) {
	if metres == 1 {
		return
	}
	for i := range s.Points {
		p := &s.Points[i]
		p.E, p.N, p.Level = p.E*metres, p.N*metres, p.Level*metres
	}
	s.Warnings = append(s.Warnings, Warning{Kind: KindNote, Action: Noted,
		Text: fmt.Sprintf("lengths converted from %s to metres", s.Unit)})
}
