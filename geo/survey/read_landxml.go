package survey

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// xmlReader is one run over a LandXML file, token by token.
type xmlReader struct {
	name    string
	opts    Options
	dec     *xml.Decoder
	path    []string // local names of the open elements
	text    []byte   // character data of the innermost element that is read
	unit    Unit
	hasUnit bool
	system  []string
	surface *xmlSurface
	all     []*xmlSurface
	cogo    Survey // points of the file that belong to no surface
	line    Breakline
	ring    xmlRing
	attr    xmlAttributes // of the innermost element that is read
	reading bool          // such an element is open
	row     int
	values  []float64 // of the text at hand, used again for the next
	bad     FileError
}

// xmlAttributes are those of points and faces.
type xmlAttributes struct{ id, i, name, code string }

// readLandXML reads LandXML 1.0 to 1.2: the surfaces, else the points of the
// file. A position is northing, easting, level. Source: the LandXML 1.2 schema,
// elements Units, CoordinateSystem, CgPoint, Surface, P, F, Breakline,
// Boundary.
func readLandXML(data []byte, name string, opts Options) (*Survey, error) {
	x := &xmlReader{name: name, opts: opts, dec: xml.NewDecoder(bytes.NewReader(data)), bad: FileError{Name: name}}
	x.dec.Strict = true
	x.dec.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		text, err := io.ReadAll(in)
		if err != nil {
			return nil, err
		}
		return strings.NewReader(toText(text)), nil
	}
	if err := x.walk(); err != nil {
		return nil, err
	}
	if err := x.bad.err(); err != nil && !opts.RejectBadRows {
		return nil, err
	}
	s, err := x.choose()
	if err != nil {
		return nil, err
	}
	for _, r := range x.bad.Rows {
		s.Warnings = append(s.Warnings, Warning{Row: r.Row, Kind: KindBadRow, Action: Rejected, Text: r.Text})
	}
	s.Name, s.Format, s.System = name, FormatLandXML, strings.Join(x.system, ", ")
	stated := Unit("")
	if x.hasUnit {
		stated = x.unit
	}
	if err := s.settleUnit(stated, opts.Unit); err != nil {
		return nil, err
	}
	return s.finish("the surface has no points")
}

// walk reads the whole file.
func (x *xmlReader) walk() error {
	for {
		t, err := x.dec.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			line, _ := x.dec.InputPos()
			return fileErr(x.name, ErrFormat, "line %d: the XML cannot be read (%v); was the file cut off?", line, err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			if err := x.start(&t); err != nil {
				return err
			}
		case xml.CharData:
			if x.reading {
				x.text = append(x.text, t...)
			}
		case xml.EndElement:
			if err := x.end(t.Name.Local); err != nil {
				return err
			}
		}
	}
	if len(x.path) > 0 {
		return fileErr(x.name, ErrFormat, "the element %s is not closed; was the file cut off?", x.path[len(x.path)-1])
	}
	return nil
}

func (x *xmlReader) parent() string {
	if len(x.path) < 2 {
		return ""
	}
	return x.path[len(x.path)-2]
}

func (x *xmlReader) start(t *xml.StartElement) error {
	if len(x.path) == 0 && t.Name.Local != "LandXML" {
		return fileErr(x.name, ErrFormat, "this is XML with the root %s, not LandXML; export the surface as LandXML or a point list", t.Name.Local)
	}
	if len(x.path) > 64 {
		return fileErr(x.name, ErrFormat, "elements nested more than 64 deep")
	}
	x.path = append(x.path, t.Name.Local)
	at := func(key string) string {
		for _, a := range t.Attr {
			if a.Name.Local == key {
				return a.Value
			}
		}
		return ""
	}
	switch t.Name.Local {
	case "Metric", "Imperial":
		if x.parent() == "Units" {
			return x.lengthUnit(at("linearUnit"))
		}
	case "CoordinateSystem":
		for _, key := range []string{"name", "desc", "epsgCode", "horizontalDatum", "verticalDatum"} {
			if v := strings.TrimSpace(at(key)); v != "" {
				x.system = append(x.system, v)
			}
		}
	case "Surface":
		if x.parent() == "Surfaces" {
			x.surface = &xmlSurface{name: at("name"), ids: map[string]int32{}}
			x.all = append(x.all, x.surface)
		}
	case "Definition":
		if x.surface != nil {
			x.surface.kind = at("surfType")
			x.surface.area2D, _ = strconv.ParseFloat(at("area2DSurf"), 64)
		}
	case "Faces":
		if x.surface != nil {
			x.surface.hasFaces = true
		}
	case "Breakline":
		x.line = Breakline{Name: firstOf(at("name"), at("desc"), at("brkType"))}
	case "Boundary":
		x.ring = xmlRing{kind: strings.ToLower(at("bndType"))}
	case "Contour":
		if x.surface != nil {
			x.surface.contours++
		}
	case "P", "F", "PntList3D", "PntList2D", "CgPoint":
		x.attr, x.reading = xmlAttributes{}, true
		if len(t.Attr) > 0 {
			x.attr = xmlAttributes{id: at("id"), i: at("i"), name: at("name"), code: firstOf(at("code"), at("desc"))}
		}
		x.text = x.text[:0]
		x.row, _ = x.dec.InputPos()
	}
	return nil
}

func firstOf(words ...string) string {
	for _, w := range words {
		if w != "" {
			return w
		}
	}
	return ""
}

// lengthUnit reads the linearUnit of Metric and Imperial.
func (x *xmlReader) lengthUnit(word string) error {
	units := map[string]Unit{"meter": Metre, "millimeter": Millimetre, "centimeter": Centimetre, "foot": InternationalFoot, "USSurveyFoot": USSurveyFoot, "inch": Inch}
	u, ok := units[word]
	if !ok {
		return fileErr(x.name, ErrFormat, "linearUnit %q is not known; known are meter, millimeter, centimeter, foot, USSurveyFoot, inch", word)
	}
	x.unit, x.hasUnit = u, true
	return nil
}

func (x *xmlReader) end(name string) error {
	if len(x.path) == 0 || x.path[len(x.path)-1] != name {
		line, _ := x.dec.InputPos()
		return fileErr(x.name, ErrFormat, "line %d: the element %s is closed but was not open; was the file cut off?", line, name)
	}
	switch name {
	case "Surface":
		if x.parent() == "Surfaces" {
			x.surface = nil
		}
	case "P":
		x.point()
	case "F":
		x.face()
	case "CgPoint":
		x.cogoPoint()
	case "PntList3D":
		x.positions(3)
	case "PntList2D":
		x.positions(2)
	case "Breakline":
		if x.surface != nil && len(x.line.Vertices) > 1 {
			x.surface.survey.Breaklines = append(x.surface.survey.Breaklines, x.line)
		}
	case "Boundary":
		if x.surface != nil && len(x.ring.vertices) > 2 {
			x.surface.rings = append(x.surface.rings, x.ring)
		}
	}
	switch name {
	case "P", "F", "CgPoint", "PntList3D", "PntList2D":
		x.reading = false
	}
	x.path = x.path[:len(x.path)-1]
	if x.surface != nil && len(x.surface.survey.Points) > x.opts.maxRows() {
		return fileErr(x.name, ErrTooLarge, "more than %d points", x.opts.maxRows())
	}
	return nil
}

// numbers reads the numbers of the current text, n of them at most; -1 for
// all. They are valid until the next call.
func (x *xmlReader) numbers(n int) ([]float64, bool) {
	out := x.values[:0]
	rest := x.text
	for len(out) != n {
		word, after := nextNumber(rest)
		if word == nil {
			break
		}
		v, _, ok := parseNumber(word)
		if !ok || math.IsInf(v, 0) {
			x.bad.add(RowError{Row: x.row, Column: x.path[len(x.path)-1], Text: fmt.Sprintf("%q is not a number", toText(word[:min(len(word), 40)])), Remedy: "correct it"})
			return nil, false
		}
		out, rest = append(out, v), after
	}
	x.values = out
	return out, true
}

// nextNumber cuts the first word off a text; nil when there is none.
func nextNumber(b []byte) (word, rest []byte) {
	i := 0
	for i < len(b) && (b[i] <= ' ' || b[i] == ',') {
		i++
	}
	j := i
	for j < len(b) && b[j] > ' ' && b[j] != ',' {
		j++
	}
	if i == j {
		return nil, nil
	}
	return b[i:j], b[j:]
}

// point reads a P of a surface: northing, easting, level.
func (x *xmlReader) point() {
	s := x.surface
	if s == nil || x.parent() != "Pnts" {
		return
	}
	id := x.attr.id
	v, ok := x.numbers(-1)
	switch {
	case !ok:
		return
	case len(v) != 3:
		s.survey.Warnings = append(s.survey.Warnings, Warning{Row: x.row, Point: id, Kind: KindNoData, Action: Rejected,
			Text: fmt.Sprintf("%d numbers where northing, easting and level are expected", len(v))})
		return
	case noDataLevel(v[2]):
		s.survey.Warnings = append(s.survey.Warnings, Warning{Row: x.row, Point: id, Kind: KindNoData, Action: Rejected, Text: fmt.Sprintf("no level: %v", v[2])})
		return
	}
	if id != "" {
		if _, twice := s.ids[id]; twice {
			x.bad.add(RowError{Row: x.row, Column: "P", Text: fmt.Sprintf("the point id %q stands twice in surface %q", id, s.name), Remedy: "export the surface again"})
			return
		}
		s.ids[id] = int32(len(s.survey.Points))
	}
	s.survey.Points = append(s.survey.Points, Point{Name: id, N: v[0], E: v[1], Level: v[2], Row: x.row})
}

// face reads an F: the ids of three or four points. Faces marked i="1" are
// part of the triangulation but not of the surface.
func (x *xmlReader) face() {
	s := x.surface
	if s == nil || x.parent() != "Faces" {
		return
	}
	if x.attr.i == "1" {
		s.invisible++
		return
	}
	f := xmlFace{row: x.row}
	for rest := x.text; ; {
		var word []byte
		if word, rest = nextNumber(rest); word == nil {
			break
		}
		at, known := s.ids[string(word)]
		if !known || f.n == 4 {
			x.bad.add(RowError{Row: x.row, Column: "F", Text: fmt.Sprintf("the face names a point %q that is not among the surface's points, or more than four", toText(word[:min(len(word), 40)])), Remedy: "export the surface again"})
			return
		}
		f.ids[f.n] = at
		f.n++
	}
	if f.n < 3 {
		x.bad.add(RowError{Row: x.row, Column: "F", Text: "a face of fewer than three points", Remedy: "export the surface again"})
		return
	}
	s.faces = append(s.faces, f)
}

// cogoPoint reads a point that belongs to no surface.
func (x *xmlReader) cogoPoint() {
	v, ok := x.numbers(-1)
	if !ok || len(v) == 0 {
		return // a reference to another point
	}
	p := Point{Name: firstOf(x.attr.name, x.attr.id), Code: x.attr.code, Row: x.row}
	if len(v) < 3 || noDataLevel(v[2]) {
		x.cogo.Warnings = append(x.cogo.Warnings, Warning{Row: x.row, Point: p.Name, Kind: KindNoData, Action: Rejected, Text: "no level"})
		return
	}
	p.N, p.E, p.Level = v[0], v[1], v[2]
	x.cogo.Points = append(x.cogo.Points, p)
}

// positions reads a list of positions into the breakline, boundary or points
// it belongs to.
func (x *xmlReader) positions(each int) {
	owner := x.parent()
	if x.surface == nil || (owner != "Breakline" && owner != "Boundary" && owner != "DataPoints") {
		return
	}
	v, ok := x.numbers(-1)
	if !ok {
		return
	}
	if len(v)%each != 0 {
		x.bad.add(RowError{Row: x.row, Column: x.path[len(x.path)-1], Text: fmt.Sprintf("%d numbers do not make whole positions of %d", len(v), each), Remedy: "export the file again"})
		return
	}
	if each == 2 && owner != "Boundary" {
		x.surface.survey.Warnings = append(x.surface.survey.Warnings, Warning{Row: x.row, Kind: KindNoData, Action: Rejected, Text: "a " + strings.ToLower(owner) + " list without levels is not read"})
		return
	}
	for pos := range slices.Chunk(v, each) {
		w := Vertex{N: pos[0], E: pos[1], Level: math.NaN(), Row: x.row}
		if each == 3 {
			w.Level = pos[2]
		}
		switch owner {
		case "Breakline":
			x.line.Vertices = append(x.line.Vertices, w)
		case "Boundary":
			x.ring.vertices = append(x.ring.vertices, w)
		default:
			x.surface.survey.Points = append(x.surface.survey.Points, Point{E: w.E, N: w.N, Level: w.Level, Row: x.row})
		}
	}
}
