package survey

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
)

// geoJSONGrid is the member by which a file says that its positions are
// easting, northing and level of a plane grid. RFC 7946 knows degrees only.
const geoJSONGrid = "coordinates_in"

const siteGridMetres = "site grid, metres"

// geoReader is one run over a GeoJSON file of points, lines and triangles.
type geoReader struct {
	survey  *Survey
	corner  corners
	bad     FileError
	feature int // the feature at hand, from 1
	props   map[string]any
	flat    int // positions without level in points and lines
	inside  bool
	max     int
}

// readGeoJSON reads GeoJSON with levels as third number: Points as points,
// LineStrings as breaklines, Polygons of three corners as faces, one other
// Polygon as boundary. Positions are degrees, as RFC 7946 says, unless they
// cannot be, a crs member or this program's own member says otherwise, or the
// caller states a unit. Source: RFC 7946, sections 3 and 4.
func readGeoJSON(data []byte, name string, opts Options) (*Survey, error) {
	g := &geoReader{survey: &Survey{Name: name, Format: FormatGeoJSON}, corner: corners{}, bad: FileError{Name: name}, inside: true, max: opts.maxRows()}
	var top struct {
		Type string
		CRS  struct{ Properties struct{ Name string } }
		In   string `json:"coordinates_in"`
	}
	if err := json.Unmarshal(data, &top); err != nil {
		return nil, jsonFault(name, data, err)
	}
	if top.Type == "" {
		return nil, fileErr(name, ErrFormat, "this is JSON, but not GeoJSON: it has no type")
	}
	if err := g.walk(data, 0); err != nil {
		return nil, err
	}
	if err := g.bad.err(); err != nil && !opts.RejectBadRows {
		return nil, err
	}
	s := g.survey
	for _, r := range g.bad.Rows {
		s.Warnings = append(s.Warnings, Warning{Row: r.Row, Kind: KindBadRow, Action: Rejected, Text: r.Text})
	}
	if g.flat > 0 {
		s.Warnings = append(s.Warnings, Warning{Kind: KindNoData, Action: Rejected, Text: fmt.Sprintf("%d positions have no level as third number", g.flat)})
	}
	crs := strings.ToUpper(top.CRS.Properties.Name)
	s.System = firstOf(top.CRS.Properties.Name, top.In)
	degrees := strings.HasSuffix(crs, "CRS84") || strings.HasSuffix(crs, ":4326")
	switch {
	case degrees && !g.inside:
		return nil, fileErr(name, ErrFormat, "the crs member says %s, but positions are beyond ±180, ±90; correct the member", top.CRS.Properties.Name)
	case degrees, crs == "" && top.In == "" && g.inside && opts.Unit == "":
		s.Degrees, s.Unit, s.System = true, Metre, firstOf(s.System, "WGS 84 longitude, latitude, as RFC 7946 says")
		s.note("positions are longitude and latitude; if they are metres of the site grid, state the unit")
		return s.finish("it holds no point, line or triangle with levels")
	}
	if err := s.settleUnit("", opts.Unit); err != nil {
		return nil, err
	}
	return s.finish("it holds no point, line or triangle with levels")
}

// jsonFault names the line of a fault in JSON.
func jsonFault(name string, data []byte, err error) error {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		at := min(int(syntax.Offset), len(data))
		return fileErr(name, ErrFormat, "line %d: not JSON (%v); was the file cut off?", 1+strings.Count(string(data[:at]), "\n"), err)
	}
	return fileErr(name, ErrFormat, "not GeoJSON (%v)", err)
}

func (g *geoReader) walk(raw json.RawMessage, depth int) error {
	var o struct {
		geometry
		Properties map[string]any
	}
	if err := json.Unmarshal(raw, &o); err != nil {
		return jsonFault(g.survey.Name, raw, err)
	}
	if depth > 8 {
		return fileErr(g.survey.Name, ErrFormat, "geometries nested more than 8 deep")
	}
	if len(g.survey.Points) > g.max {
		return fileErr(g.survey.Name, ErrTooLarge, "more than %d points", g.max)
	}
	switch o.Type {
	case "FeatureCollection", "GeometryCollection":
		for _, part := range append(o.Features, o.Geometries...) {
			if o.Type == "FeatureCollection" {
				g.feature++
			}
			if err := g.walk(part, depth+1); err != nil {
				return err
			}
		}
		return nil
	case "Feature":
		if len(o.Geometry) == 0 || string(o.Geometry) == "null" {
			g.fault("it has no geometry", "draw it or remove it")
			return nil
		}
		g.props = o.Properties
		err := g.walk(o.Geometry, depth+1)
		g.props = nil
		return err
	}
	return g.shape(o.geometry)
}

func (g *geoReader) fault(text, remedy string) {
	g.bad.add(RowError{Row: g.feature, Column: "feature", Text: text, Remedy: remedy})
}

// property returns a text or number property under the first key that has one.
func (g *geoReader) property(keys ...string) string {
	for _, k := range keys {
		switch v := g.props[k].(type) {
		case string:
			return v
		case float64:
			return fmt.Sprint(v)
		}
	}
	return ""
}

// shape reads one geometry that is not a collection.
func (g *geoReader) shape(o geometry) error {
	var err error
	switch o.Type {
	case "Point":
		var p []float64
		if err = json.Unmarshal(o.Coordinates, &p); err == nil {
			g.point(p)
		}
	case "MultiPoint":
		var ps [][]float64
		if err = json.Unmarshal(o.Coordinates, &ps); err == nil {
			for _, p := range ps {
				g.point(p)
			}
		}
	case "LineString":
		var l [][]float64
		if err = json.Unmarshal(o.Coordinates, &l); err == nil {
			g.line(l)
		}
	case "MultiLineString":
		var ls [][][]float64
		if err = json.Unmarshal(o.Coordinates, &ls); err == nil {
			for _, l := range ls {
				g.line(l)
			}
		}
	case "Polygon":
		var p [][][]float64
		if err = json.Unmarshal(o.Coordinates, &p); err == nil {
			g.polygon(p)
		}
	case "MultiPolygon":
		var ps [][][][]float64
		if err = json.Unmarshal(o.Coordinates, &ps); err == nil {
			for _, p := range ps {
				g.polygon(p)
			}
		}
	default:
		g.fault(fmt.Sprintf("geometry type %q is not known", o.Type), "")
	}
	if err != nil {
		g.fault(fmt.Sprintf("its coordinates are no positions (%v)", err), "write each position as [easting, northing, level]")
	}
	return nil
}

// vertex reads a position; ok is false when it is none.
func (g *geoReader) vertex(p []float64) (Vertex, bool) {
	if len(p) < 2 || math.Abs(p[0]) > 1e12 || math.Abs(p[1]) > 1e12 {
		g.fault(fmt.Sprintf("%v is no position", p), "write each position as [easting, northing, level]")
		return Vertex{}, false
	}
	g.inside = g.inside && math.Abs(p[0]) <= 180 && math.Abs(p[1]) <= 90
	v := Vertex{E: p[0], N: p[1], Level: math.NaN(), Row: g.feature}
	if len(p) > 2 && !noDataLevel(p[2]) {
		v.Level = p[2]
	}
	return v, true
}

func (g *geoReader) point(p []float64) {
	v, ok := g.vertex(p)
	switch {
	case !ok:
	case math.IsNaN(v.Level):
		g.flat++
	default:
		g.survey.Points = append(g.survey.Points, Point{Name: g.property("point", "name", "id"), Code: g.property("code"), E: v.E, N: v.N, Level: v.Level, Row: g.feature})
	}
}

// ring reads positions; all reports whether every one has its level.
func (g *geoReader) ring(ps [][]float64) (out []Vertex, all, ok bool) {
	all = true
	for _, p := range ps {
		v, good := g.vertex(p)
		if !good {
			return nil, false, false
		}
		all = all && !math.IsNaN(v.Level)
		out = append(out, v)
	}
	return out, all, true
}

func (g *geoReader) line(ps [][]float64) {
	v, all, ok := g.ring(ps)
	switch {
	case !ok:
	case len(v) < 2:
		g.fault("a line of fewer than two positions", "remove it")
	case !all:
		g.flat += len(v)
	default:
		g.survey.Breaklines = append(g.survey.Breaklines, Breakline{Name: firstOf(g.property("line", "name", "code"), fmt.Sprintf("line %d", len(g.survey.Breaklines)+1)), Vertices: v})
	}
}

// polygon reads a triangle with levels as a face, another polygon as boundary.
func (g *geoReader) polygon(rings [][][]float64) {
	var read [][]Vertex
	levels := true
	for _, r := range rings {
		v, all, ok := g.ring(r)
		if !ok {
			return
		}
		if len(v) < 4 || v[0].E != v[len(v)-1].E || v[0].N != v[len(v)-1].N {
			g.fault("a ring that is not closed or has fewer than four positions", "repeat its first position at its end")
			return
		}
		read, levels = append(read, v), levels && all
	}
	switch {
	case len(read) == 1 && len(read[0]) == 4 && levels:
		var f [3]int32
		for k, v := range read[0][:3] {
			f[k] = g.corner.of(g.survey, v)
		}
		g.survey.triangle(f[0], f[1], f[2])
	case len(read) == 0:
		g.fault("a polygon without rings", "remove it")
	case g.survey.Boundary != nil:
		g.fault("a second polygon that is no triangle; a survey has one boundary", "keep areas in a file of their own")
	default:
		g.survey.Boundary = read
	}
}
