package survey

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// Flags of POLYLINE and VERTEX, group 70. Source: the drawing format's
// reference, from memory.
const (
	dxfClosed     = 1
	dxf3D         = 8
	dxfMesh       = 16
	dxfClosedN    = 32
	dxfPolyface   = 64
	vertexIsPlace = 64
	vertexIsFace  = 128
	vertexIsFrame = 16 // a spline's control point, not on the line
)

// arcStep is the largest distance of a chord from the arc it stands for, in
// the drawing's unit.
const arcStep = 0.005

// polyVertex is a corner of a polyline with the bulge of the arc to the next.
type polyVertex struct {
	Vertex
	bulge float64
	flags int
	ids   [4]int
}

// lightPolyline reads an LWPOLYLINE: corners on one level.
func (d *dxfReader) lightPolyline(e *dxfEntity, layer string) {
	level, ok := d.number(e, 38, 0)
	if !ok {
		return
	}
	var at []polyVertex
	for _, t := range e.tags {
		if t.code != 10 && t.code != 20 && t.code != 42 {
			continue
		}
		v, ok := d.parse(e.kind, t)
		if !ok {
			return
		}
		if t.code == 10 {
			at = append(at, polyVertex{Vertex: Vertex{E: v, N: math.NaN(), Level: level, Row: e.row}})
			continue
		}
		if len(at) == 0 {
			continue
		}
		if last := &at[len(at)-1]; t.code == 20 {
			last.N = v
		} else {
			last.bulge = v
		}
	}
	for _, v := range at {
		if math.IsNaN(v.N) {
			d.bad.add(RowError{Row: e.row, Column: e.kind, Text: "a corner has no y (group 20)", Remedy: "draw it again or remove it"})
			return
		}
	}
	d.keepLine(e, at, d.flags(e, 70)&dxfClosed != 0, layer, true)
}

// polyline reads a POLYLINE with its VERTEX records.
func (d *dxfReader) polyline(e *dxfEntity, l *dxfLayer, layer string, wanted bool) error {
	flags := d.flags(e, 70)
	var at []polyVertex
	for {
		t, ok, err := d.tag()
		if err != nil {
			return err
		}
		if !ok || t.code != 0 {
			return fileErr(d.name, ErrFormat, "line %d: the polyline that begins there has no end (SEQEND); was the file cut off?", e.row)
		}
		v := &dxfEntity{kind: "VERTEX", row: t.row}
		if v.tags, err = d.groups(); err != nil {
			return err
		}
		if !t.is("VERTEX") {
			if !t.is("SEQEND") {
				return fileErr(d.name, ErrFormat, "line %d: %q among the corners of a polyline; SEQEND is missing", t.row, toText(t.value[:min(len(t.value), 40)]))
			}
			break
		}
		if len(at) > d.opts.maxRows() {
			return fileErr(d.name, ErrTooLarge, "a polyline of more than %d corners", d.opts.maxRows())
		}
		pv := polyVertex{flags: d.flags(v, 70)}
		if pv.flags&vertexIsFrame != 0 {
			continue
		}
		if pv.flags&vertexIsFace != 0 && pv.flags&vertexIsPlace == 0 {
			for k := range 4 {
				pv.ids[k] = d.flags(v, 71+k)
			}
		} else if pv.Vertex, ok = d.place(v, 10); !ok {
			continue
		}
		pv.bulge, _ = d.number(v, 42, 0)
		at = append(at, pv)
	}
	mesh := flags&(dxfMesh|dxfPolyface) != 0
	if mesh {
		l.faces++
	} else {
		l.lines++
	}
	switch {
	case !wanted:
	case flags&dxfPolyface != 0:
		d.polyface(e, at)
	case flags&dxfMesh != 0:
		d.mesh(e, at, flags)
	case flags&dxf3D != 0:
		d.keepLine(e, at, flags&dxfClosed != 0, layer, false)
	default:
		level, ok := d.number(e, 30, 0)
		if !ok {
			return nil
		}
		for i := range at {
			at[i].Level = level
		}
		d.keepLine(e, at, flags&dxfClosed != 0, layer, true)
	}
	return nil
}

// polyface reads faces given by the numbers of their corners; a negative
// number only hides an edge.
func (d *dxfReader) polyface(e *dxfEntity, at []polyVertex) {
	var places []int32
	for _, v := range at {
		if v.flags&vertexIsPlace != 0 || v.flags&vertexIsFace == 0 {
			places = append(places, d.vertex(v.Vertex))
		}
	}
	for _, v := range at {
		if v.flags&vertexIsFace == 0 || v.flags&vertexIsPlace != 0 {
			continue
		}
		var corners []int32
		for _, id := range v.ids {
			if id < 0 {
				id = -id
			}
			if id > len(places) {
				d.bad.add(RowError{Row: e.row, Column: e.kind, Text: fmt.Sprintf("a face names corner %d of %d", id, len(places)), Remedy: "export the drawing again"})
				return
			}
			if id > 0 {
				corners = append(corners, places[id-1])
			}
		}
		for k := 2; k < len(corners); k++ {
			d.triangle(corners[0], corners[k-1], corners[k])
		}
	}
}

// mesh reads a net of M by N corners.
func (d *dxfReader) mesh(e *dxfEntity, at []polyVertex, flags int) {
	m, n := d.flags(e, 71), d.flags(e, 72)
	if m < 2 || n < 2 || m > len(at) || n > len(at) || m*n != len(at) {
		d.bad.add(RowError{Row: e.row, Column: e.kind, Text: fmt.Sprintf("a mesh of %d by %d corners has %d", m, n, len(at)), Remedy: "export the drawing again"})
		return
	}
	ids := make([]int32, len(at))
	for i, v := range at {
		ids[i] = d.vertex(v.Vertex)
	}
	rows, cols := m, n
	if flags&dxfClosed != 0 {
		rows++
	}
	if flags&dxfClosedN != 0 {
		cols++
	}
	for i := range rows - 1 {
		for j := range cols - 1 {
			a, b := ids[i*n+j], ids[(i+1)%m*n+j]
			c, f := ids[(i+1)%m*n+(j+1)%n], ids[i*n+(j+1)%n]
			d.triangle(a, b, c)
			d.triangle(a, c, f)
		}
	}
}

// keepLine files a polyline as breakline or boundary. own says that its
// corners are in the entity's own coordinate system.
func (d *dxfReader) keepLine(e *dxfEntity, at []polyVertex, isClosed bool, layer string, own bool) {
	if len(at) < 2 {
		return
	}
	mirror := false
	if own {
		var ok bool
		if mirror, ok = d.mirrored(e); !ok {
			return
		}
	}
	if isClosed {
		at = append(at, at[0])
	}
	var out []Vertex
	for i, v := range at {
		w := v.Vertex
		w.Row = e.row
		out = append(out, w)
		if v.bulge != 0 && i+1 < len(at) {
			d.bulges++
			out = append(out, arc(w, at[i+1].Vertex, v.bulge)...)
		}
	}
	if mirror {
		for i := range out {
			out[i] = out[i].mirror()
		}
	}
	if d.opts.BoundaryLayer != "" && strings.EqualFold(layer, d.opts.BoundaryLayer) {
		if a, b := out[0], out[len(out)-1]; len(out) < 4 || a.E != b.E || a.N != b.N {
			d.bad.add(RowError{Row: e.row, Column: e.kind, Text: fmt.Sprintf("a line on the boundary layer %s is not closed", layer), Remedy: "close it"})
			return
		}
		d.survey.Boundary = append(d.survey.Boundary, out)
		return
	}
	d.survey.Breaklines = append(d.survey.Breaklines, Breakline{Name: layer, Vertices: out})
}

// arc returns the places between two corners joined by an arc, whose bulge is
// the tangent of a quarter of its angle, positive anticlockwise.
func arc(a, b Vertex, bulge float64) []Vertex {
	chord := math.Hypot(b.E-a.E, b.N-a.N)
	if chord == 0 || math.IsInf(chord, 0) || math.Abs(bulge) > 1e6 {
		return nil
	}
	angle := 4 * math.Atan(bulge)
	radius := chord / 2 / math.Abs(math.Sin(angle/2))
	step := math.Pi
	if radius > arcStep {
		step = 2 * math.Acos(1-arcStep/radius)
	}
	n := int(min(math.Ceil(math.Abs(angle)/step), 256))
	// The centre stands off the chord's middle by half the chord over the
	// tangent of half the angle.
	off := 1 / (2 * math.Tan(angle/2))
	ce, cn := (a.E+b.E)/2-float64((b.N-a.N)*off), (a.N+b.N)/2+float64((b.E-a.E)*off)
	var out []Vertex
	for k := 1; k < n; k++ {
		sin, cos := math.Sincos(angle * float64(k) / float64(n))
		u, v := a.E-ce, a.N-cn
		out = append(out, Vertex{E: ce + float64(u*cos) - float64(v*sin), N: cn + float64(u*sin) + float64(v*cos), Level: a.Level, Row: a.Row})
	}
	return out
}

// finish settles layers, unit and what was not read.
func (d *dxfReader) finish() (*Survey, error) {
	s := d.survey
	names := slices.Sorted(maps.Keys(d.layers))
	for _, want := range d.opts.Layers {
		if want != "*" && !slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(n, want) }) {
			return nil, fileErr(d.name, ErrFormat, "no layer %q is drawn on; there are %s", want, strings.Join(names, ", "))
		}
	}
	var withFaces []string
	for _, n := range names {
		if d.layers[n].faces > 0 {
			withFaces = append(withFaces, n)
		}
	}
	if len(d.opts.Layers) == 0 && len(withFaces) > 1 {
		return nil, &ChoiceError{d.name, "layer", withFaces}
	}
	s.Part = strings.Join(d.opts.Layers, ", ")
	var held []string
	for _, n := range names {
		if l := d.layers[n]; l.faces+l.points+l.lines > 0 {
			held = append(held, fmt.Sprintf("%s (%d faces, %d points, %d lines)", n, l.faces, l.points, l.lines))
		}
	}
	if len(held) > 0 {
		s.note("layers: %s", strings.Join(held, ", "))
	}
	if len(d.skip) > 0 {
		var kinds []string
		for _, k := range slices.Sorted(maps.Keys(d.skip)) {
			kinds = append(kinds, fmt.Sprintf("%d %s", d.skip[k], k))
		}
		s.note("not read: %s", strings.Join(kinds, ", "))
	}
	if d.tilted > 0 {
		s.Warnings = append(s.Warnings, Warning{Kind: KindBadRow, Action: Rejected, Text: fmt.Sprintf("%d entities lie in a plane that is not level and are not read", d.tilted)})
	}
	if d.bulges > 0 {
		s.note("%d arcs are drawn as chords within %v of the drawing's unit", d.bulges, arcStep)
	}
	if d.opts.Unit != "" && d.unit != "" && d.unit != d.opts.Unit {
		// What a drawing states is often its template's; a person knows better.
		s.Warnings = append(s.Warnings, Warning{Kind: KindNote, Action: Flagged, Text: fmt.Sprintf("the drawing states %s; it is read in %s, as asked", d.unit, d.opts.Unit)})
		d.unit = d.opts.Unit
	}
	if d.unit == Inch {
		s.Warnings = append(s.Warnings, Warning{Kind: KindNote, Action: Flagged, Text: "the drawing states inches, which many exports do whatever they are drawn in; state the unit if it is another"})
	}
	if err := s.settleUnit(d.unit, d.opts.Unit); err != nil {
		return nil, err
	}
	if s.levelsAllZero() {
		s.Warnings = append(s.Warnings, Warning{Kind: KindZeroLevel, Action: Flagged, Text: "every level is 0: the drawing is flat, its levels are lost or stand in texts"})
	}
	return s.finish("the drawing holds no point, line or face on the layers read")
}
