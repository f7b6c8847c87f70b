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
	Unit          Unit // unit of the file; "" means what the file states, else metres
	DecimalComma  bool // "430004,000" is a number
	RejectBadRows bool // unreadable rows become warnings instead of failing the whole file
	MaxRows       int  // refuse longer files; 0 means 20 million
	// Surface names one of several surfaces of a LandXML file.
	Surface string
	// Layers of a DXF drawing to read, "*" for all; nil means all, unless
	// several hold faces, when one has to be chosen.
	Layers []string
	// BoundaryLayer is the layer of a DXF drawing whose closed polylines bound the survey.
	BoundaryLayer string
	// Classes of a LAS point cloud to read; nil means 2, ground.
	Classes []int
	// ThinM leaves one LAS point in each square of this side, the one nearest
	// to its middle, metres; 0 keeps all.
	ThinM float64
	// CellM says that a text is a matrix of levels, rows from north to south,
	// with cells of this side in the file's unit; CornerE and CornerN place the
	// outer corner of its lower left cell.
	CellM, CornerE, CornerN float64
}

func (o Options) maxRows() int {
	if o.MaxRows > 0 {
		return o.MaxRows
	}
	return 20_000_000
}

// Read reads a survey of any format known here, told by its content. name is
// used in messages. Every unreadable row is listed in the error, a *FileError;
// of several surfaces or layers one has to be chosen, as a *ChoiceError says.
func Read(r io.Reader, name string, opts Options) (*Survey, error) {
	data, err := slurp(r, name)
	if err != nil {
		return nil, err
	}
	if what, remedy := otherFormat(data); what != "" {
		return nil, fileErr(name, ErrFormat, "this is %s; %s", what, remedy)
	}
	if opts.CellM != 0 {
		return readMatrix(data, name, opts)
	}
	switch FormatOf(data) {
	case FormatLAS:
		return readLAS(data, name, opts)
	case FormatGeoTIFF:
		return readGeoTIFF(data, name, opts)
	case FormatLandXML:
		return readLandXML(data, name, opts)
	case FormatGeoJSON:
		return readGeoJSON(data, name, opts)
	case FormatDXF:
		return readDXF(data, name, opts)
	case FormatASCIIGrid:
		return readASCIIGrid(data, name, opts)
	}
	return readCSV(data, name, opts)
}

// FormatOf tells a format by how the file begins; a point list is what is
// nothing else.
func FormatOf(data []byte) Format {
	switch head := bytes.TrimLeft(data[:min(len(data), 4096)], "\xEF\xBB\xBF \t\r\n"); {
	case bytes.HasPrefix(data, []byte("LASF")):
		return FormatLAS
	case isTIFF(data):
		return FormatGeoTIFF
	case bytes.HasPrefix(head, []byte("<")):
		return FormatLandXML
	case bytes.HasPrefix(head, []byte("{")), bytes.HasPrefix(head, []byte("[")):
		return FormatGeoJSON
	case isDXF(data):
		return FormatDXF
	case isASCIIGrid(data):
		return FormatASCIIGrid
	}
	return FormatCSV
}

// Extension is the usual ending of a file's name.
func (f Format) Extension() string {
	switch f {
	case FormatLAS:
		return ".las"
	case FormatGeoTIFF:
		return ".tif"
	case FormatLandXML:
		return ".xml"
	case FormatGeoJSON:
		return ".geojson"
	case FormatDXF:
		return ".dxf"
	case FormatASCIIGrid:
		return ".asc"
	}
	return ".csv"
}

// otherFormat recognises files that are something else.
func otherFormat(data []byte) (what, remedy string) {
	const points = "export the points as a list (point, easting, northing, level), or as LandXML, DXF, GeoTIFF, LAS or an ASCII grid"
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return "a ZIP file or spreadsheet", "take the file out, or save the sheet as CSV"
	case bytes.HasPrefix(data, []byte("AutoCAD Binary DXF")):
		return "a binary DXF drawing", "save it as text (ASCII) DXF"
	case bytes.HasPrefix(data, []byte("AC10")) && len(data) > 6 && bytes.IndexByte(data[:min(len(data), 64)], 0) >= 0:
		return "a DWG drawing", "save it as text (ASCII) DXF"
	case bytes.HasPrefix(data, []byte("%PDF")):
		return "a PDF", points
	case bytes.HasPrefix(data, []byte("LASF")), isTIFF(data):
		return "", ""
	case bytes.IndexByte(data[:min(len(data), 4096)], 0) >= 0:
		return "a binary file", points
	}
	return "", ""
}

// ChoiceError says that a file holds several surfaces or layers, of which the
// caller has to name one.
type ChoiceError struct {
	Name  string // of the file
	What  string // "surface" or "layer"
	Names []string
}

func (e *ChoiceError) Error() string {
	return fmt.Sprintf("%s holds %d %ss: %s; choose one with --%s NAME", e.Name, len(e.Names), e.What, strings.Join(e.Names, ", "), e.What)
}

// settleUnit joins the unit a file states with the one that was asked for.
func (s *Survey) settleUnit(stated, told Unit) error {
	switch {
	case stated != "" && told != "" && stated != told:
		return fileErr(s.Name, ErrFormat, "the file states %s, but %s was asked for", stated, told)
	case stated != "":
		s.Unit = stated
	case told != "":
		s.Unit = told
	default:
		s.Unit = Metre
		s.note("the file states no unit and is read in metres; state the unit if it is another")
	}
	return nil
}

// corners are the corners of faces met so far, once each.
type corners map[[3]float64]int32

// of returns the point of a face's corner, the same for equal corners.
func (c corners) of(s *Survey, v Vertex) int32 {
	key := [3]float64{v.E, v.N, v.Level}
	i, known := c[key]
	if !known {
		i = int32(len(s.Points))
		c[key] = i
		s.Points = append(s.Points, Point{E: v.E, N: v.N, Level: v.Level, Row: v.Row})
	}
	return i
}

// triangle adds a face, unless two of its corners are one.
func (s *Survey) triangle(a, b, c int32) {
	if a != b && b != c && c != a {
		s.Faces = append(s.Faces, [3]int32{a, b, c})
	}
}

// gridPoints turns a grid's cells into points and says how many are empty.
func (s *Survey) gridPoints(mark any) error {
	s.Points = s.Grid.Points()
	if len(s.Points) == 0 {
		return fileErr(s.Name, ErrNoPoints, "no cell has data")
	}
	if empty := len(s.Grid.Levels) - len(s.Points); empty > 0 {
		s.Warnings = append(s.Warnings, Warning{Kind: KindNoData, Action: Noted,
			Text: fmt.Sprintf("%d of %d cells have no data (marked %v); they are holes in the surface", empty, len(s.Grid.Levels), mark)})
	}
	return nil
}

// note adds a finding about the file as a whole.
func (s *Survey) note(format string, args ...any) {
	s.Warnings = append(s.Warnings, Warning{Kind: KindNote, Action: Noted, Text: fmt.Sprintf(format, args...)})
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
	for _, l := range s.Breaklines {
		scaleVertices(l.Vertices, metres)
	}
	for _, ring := range s.Boundary {
		scaleVertices(ring, metres)
	}
	s.note("lengths converted from %s to metres", s.Unit)
}

func scaleVertices(v []Vertex, metres float64) {
	for i := range v {
		v[i].E, v[i].N, v[i].Level = v[i].E*metres, v[i].N*metres, v[i].Level*metres
	}
}

// finish converts to metres what was read in the survey's unit, and refuses a
// survey without points or breaklines.
func (s *Survey) finish(empty string) (*Survey, error) {
	if len(s.Points) == 0 && len(s.Breaklines) == 0 {
		return nil, fileErr(s.Name, ErrNoPoints, "%s", empty)
	}
	metres, err := metresPer(s.Unit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", s.Name, err)
	}
	s.scaleTo(metres)
	return s, nil
}
