package survey

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// dxfTag is a group: a code and its value.
type dxfTag struct {
	code  int
	value []byte
	row   int // line of the value
}

// dxfReader is one run over a text DXF file.
type dxfReader struct {
	name   string
	opts   Options
	lines  lines
	held   *dxfTag // read ahead
	survey *Survey
	corner corners
	unit   Unit
	layers map[string]*dxfLayer
	skip   map[string]int // kinds of entity not read, with their number
	tilted int
	bulges int
	bad    FileError
}

// dxfLayer counts what a layer holds.
type dxfLayer struct{ faces, points, lines int }

// isDXF reports whether a text begins like a DXF file, which may open with
// remarks (group 999).
func isDXF(data []byte) bool {
	l := lines{data: data[:min(len(data), 4096)]}
	for range 64 {
		code, ok := l.next()
		if !ok {
			return false
		}
		value, ok := l.next()
		if !ok {
			return false
		}
		switch string(bytes.TrimSpace(code)) {
		case "999":
		case "0":
			return strings.EqualFold(string(bytes.TrimSpace(value)), "SECTION")
		default:
			return false
		}
	}
	return false
}

// readDXF reads a text DXF drawing, release 12 to 2018: POINT and INSERT
// positions as points; LINE, POLYLINE and LWPOLYLINE as breaklines; 3DFACE,
// polyface and polygon meshes as faces. x is easting, y northing.
//
// Source: the drawing format's published reference of groups by entity; the
// flags of POLYLINE and the codes of $INSUNITS from memory.
func readDXF(data []byte, name string, opts Options) (*Survey, error) {
	d := &dxfReader{name: name, opts: opts, lines: lines{data: data}, bad: FileError{Name: name},
		survey: &Survey{Name: name, Format: FormatDXF}, corner: corners{}, layers: map[string]*dxfLayer{}, skip: map[string]int{}}
	if opts.BoundaryLayer != "" && len(opts.Layers) > 0 && !slices.Contains(opts.Layers, "*") {
		d.opts.Layers = append(slices.Clone(opts.Layers), opts.BoundaryLayer)
	}
	if err := d.sections(); err != nil {
		return nil, err
	}
	if err := d.bad.err(); err != nil && !opts.RejectBadRows {
		return nil, err
	}
	for _, r := range d.bad.Rows {
		d.survey.Warnings = append(d.survey.Warnings, Warning{Row: r.Row, Kind: KindBadRow, Action: Rejected, Text: r.Text})
	}
	return d.finish()
}

// tag returns the next group; ok is false at the end of the file.
func (d *dxfReader) tag() (dxfTag, bool, error) {
	if d.held != nil {
		t := *d.held
		d.held = nil
		return t, true, nil
	}
	line, ok := d.lines.next()
	for ok && d.lines.row == 1 && len(bytes.TrimSpace(line)) == 0 {
		line, ok = d.lines.next()
	}
	if !ok || len(bytes.TrimSpace(line)) == 0 && len(bytes.TrimSpace(d.lines.data)) == 0 {
		return dxfTag{}, false, nil
	}
	code, err := strconv.Atoi(string(bytes.TrimSpace(line)))
	if err != nil {
		return dxfTag{}, false, fileErr(d.name, ErrFormat, "line %d: %q is not a group code; was the file cut off or saved in another form?", d.lines.row, toText(line[:min(len(line), 40)]))
	}
	value, ok := d.lines.next()
	if !ok {
		return dxfTag{}, false, fileErr(d.name, ErrFormat, "line %d: the group code has no value; was the file cut off?", d.lines.row)
	}
	return dxfTag{code, bytes.TrimSpace(value), d.lines.row}, true, nil
}

func (t dxfTag) is(word string) bool { return strings.EqualFold(string(t.value), word) }

// sections walks the file to its end and reads header and entities.
func (d *dxfReader) sections() error {
	section, ended := "", false
	for {
		t, ok, err := d.tag()
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		switch {
		case t.code == 0 && t.is("SECTION"):
			section = ""
		case t.code == 2 && section == "":
			section = strings.ToUpper(string(t.value))
		case t.code == 0 && t.is("ENDSEC"):
			section = "none"
		case t.code == 0 && t.is("EOF"):
			ended = true
		case t.code == 9 && section == "HEADER":
			if err := d.variable(t); err != nil {
				return err
			}
		case t.code == 0 && section == "ENTITIES":
			if err := d.entity(string(t.value)); err != nil {
				return err
			}
		}
		if len(d.survey.Points) > d.opts.maxRows() {
			return fileErr(d.name, ErrTooLarge, "more than %d points", d.opts.maxRows())
		}
	}
	if !ended {
		return fileErr(d.name, ErrFormat, "the drawing does not end with EOF; was the file cut off?")
	}
	return nil
}

// variable reads the header variable for the unit of length.
func (d *dxfReader) variable(t dxfTag) error {
	if !t.is("$INSUNITS") {
		return nil
	}
	v, ok, err := d.tag()
	if err != nil || !ok {
		return err
	}
	units := map[string]Unit{"1": Inch, "2": InternationalFoot, "4": Millimetre, "5": Centimetre, "6": Metre, "21": USSurveyFoot}
	switch u, known := units[string(v.value)]; {
	case known:
		d.unit = u
	case string(v.value) != "0":
		return fileErr(d.name, ErrFormat, "line %d: the drawing's unit, $INSUNITS %s, is not a unit of surveying; set it to metres", v.row, v.value)
	}
	return nil
}

// groups reads the groups of one entity up to the next.
func (d *dxfReader) groups() ([]dxfTag, error) {
	var out []dxfTag
	for {
		t, ok, err := d.tag()
		if err != nil || !ok {
			return out, err
		}
		if t.code == 0 {
			d.held = &t
			return out, nil
		}
		out = append(out, t)
	}
}

// dxfEntity is one entity's groups.
type dxfEntity struct {
	kind string
	tags []dxfTag
	row  int
}

// number returns the first value of a group, def when it has none.
func (d *dxfReader) number(e *dxfEntity, code int, def float64) (float64, bool) {
	for _, t := range e.tags {
		if t.code == code {
			return d.parse(e.kind, t)
		}
	}
	return def, true
}

func (d *dxfReader) parse(kind string, t dxfTag) (float64, bool) {
	v, _, ok := parseNumber(t.value)
	if !ok || math.IsInf(v, 0) {
		d.bad.add(RowError{Row: t.row, Column: kind + " group " + strconv.Itoa(t.code), Text: fmt.Sprintf("%q is not a number", toText(t.value[:min(len(t.value), 40)])), Remedy: "correct it"})
		return 0, false
	}
	return v, true
}

// flags returns a whole number group, 0 when it is missing.
func (d *dxfReader) flags(e *dxfEntity, code int) int {
	v, _ := d.number(e, code, 0)
	return int(max(min(v, 1<<30), -(1 << 30)))
}

// place reads a corner from its group of x and those of y and level.
func (d *dxfReader) place(e *dxfEntity, code int) (Vertex, bool) {
	x, okX := d.number(e, code, math.NaN())
	y, okY := d.number(e, code+10, math.NaN())
	z, okZ := d.number(e, code+20, 0)
	if !okX || !okY || !okZ {
		return Vertex{}, false
	}
	if math.IsNaN(x) || math.IsNaN(y) {
		d.bad.add(RowError{Row: e.row, Column: e.kind, Text: fmt.Sprintf("groups %d and %d, the position, are missing", code, code+10), Remedy: "draw it again or remove it"})
		return Vertex{}, false
	}
	return Vertex{E: x, N: y, Level: z, Row: e.row}, true
}

// layer returns the layer's name; ok is false when it is not to be read.
func (d *dxfReader) layer(e *dxfEntity) (*dxfLayer, string, bool) {
	name := "0"
	for _, t := range e.tags {
		if t.code == 8 {
			name = dxfText(t.value)
			break
		}
	}
	l := d.layers[name]
	if l == nil {
		l = &dxfLayer{}
		d.layers[name] = l
	}
	for _, want := range d.opts.Layers {
		if want == "*" || strings.EqualFold(want, name) {
			return l, name, true
		}
	}
	return l, name, len(d.opts.Layers) == 0
}

// dxfText decodes a name: UTF-8 or Windows-1252, and \U+03B1 for a character.
func dxfText(b []byte) string {
	s := toText(b)
	for {
		i := strings.Index(s, `\U+`)
		if i < 0 || len(s) < i+7 {
			return s
		}
		r, err := strconv.ParseUint(s[i+3:i+7], 16, 16)
		if err != nil {
			return s
		}
		s = s[:i] + string(rune(r)) + s[i+7:]
	}
}

// mirrored reports how an entity in its own coordinate system is turned: ok is
// false for one that is not level.
func (d *dxfReader) mirrored(e *dxfEntity) (mirror, ok bool) {
	x, okX := d.number(e, 210, 0)
	y, okY := d.number(e, 220, 0)
	z, okZ := d.number(e, 230, 1)
	if !okX || !okY || !okZ || math.Abs(x) > 1e-9 || math.Abs(y) > 1e-9 || z == 0 {
		d.tilted++
		return false, false
	}
	return z < 0, true
}

func (v Vertex) mirror() Vertex { v.E, v.Level = -v.E, -v.Level; return v }

// entity reads one entity of the drawing.
func (d *dxfReader) entity(kind string) error {
	e := &dxfEntity{kind: strings.ToUpper(kind), row: d.lines.row}
	var err error
	if e.tags, err = d.groups(); err != nil {
		return err
	}
	l, name, wanted := d.layer(e)
	switch e.kind {
	case "POINT":
		if l.points++; wanted {
			if v, ok := d.place(e, 10); ok {
				d.survey.Points = append(d.survey.Points, Point{Code: name, E: v.E, N: v.N, Level: v.Level, Row: e.row})
			}
		}
	case "INSERT":
		if l.points++; wanted {
			d.insert(e)
		}
	case "LINE":
		if l.lines++; wanted {
			a, okA := d.place(e, 10)
			b, okB := d.place(e, 11)
			if okA && okB && a != b {
				d.survey.Breaklines = append(d.survey.Breaklines, Breakline{Name: name, Vertices: []Vertex{a, b}})
			}
		}
	case "LWPOLYLINE":
		if l.lines++; wanted {
			d.lightPolyline(e, name)
		}
	case "POLYLINE":
		return d.polyline(e, l, name, wanted)
	case "3DFACE":
		if l.faces++; wanted {
			d.face(e)
		}
	case "SEQEND", "ATTRIB":
	default:
		d.skip[e.kind]++
	}
	return nil
}

// insert takes the place of a block as a point with the block's name as code.
func (d *dxfReader) insert(e *dxfEntity) {
	v, ok := d.place(e, 10)
	if !ok {
		return
	}
	mirror, ok := d.mirrored(e)
	if !ok {
		return
	}
	if mirror {
		v = v.mirror()
	}
	block := ""
	for _, t := range e.tags {
		if t.code == 2 {
			block = dxfText(t.value)
			break
		}
	}
	d.survey.Points = append(d.survey.Points, Point{Code: block, E: v.E, N: v.N, Level: v.Level, Row: e.row})
}

// face reads a 3DFACE: three or four corners in world coordinates; with four
// it is parted from its first to its third.
func (d *dxfReader) face(e *dxfEntity) {
	var at [4]int32
	for k := range 4 {
		v, ok := d.place(e, 10+k)
		if !ok {
			return
		}
		at[k] = d.vertex(v)
	}
	d.triangle(at[0], at[1], at[2])
	d.triangle(at[0], at[2], at[3])
}

// vertex returns the point of a face's corner.
func (d *dxfReader) vertex(v Vertex) int32 { return d.corner.of(d.survey, v) }

func (d *dxfReader) triangle(a, b, c int32) { d.survey.triangle(a, b, c) }
