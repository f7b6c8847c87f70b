package survey

import (
	"bufio"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// shortest writes a number with as few digits as read back the same value.
func shortest(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// WriteLandXML writes a survey as one surface of a LandXML 1.2 file in metres:
// its faces as definition, or its points, breaklines and boundary as source
// data. northing stands before easting, as the format has it.
func WriteLandXML(w io.Writer, s *Survey) error {
	b := bufio.NewWriter(w)
	f := func(format string, args ...any) { _, _ = fmt.Fprintf(b, format, args...) }
	f("%s<LandXML xmlns=\"http://www.landxml.org/schema/LandXML-1.2\" version=\"1.2\" date=\"1970-01-01\" time=\"00:00:00\" language=\"English\">\n", xml.Header)
	f(" <Units><Metric areaUnit=\"squareMeter\" linearUnit=\"meter\" volumeUnit=\"cubicMeter\" temperatureUnit=\"celsius\" pressureUnit=\"milliBars\"/></Units>\n")
	f(" <Surfaces>\n  <Surface name=\"%s\">\n", attribute(firstOf(s.Part, s.Name, "surface")))
	if s.Faces == nil || len(s.Breaklines) > 0 {
		writeSourceData(f, s)
	}
	if s.Faces != nil {
		f("   <Definition surfType=\"TIN\">\n    <Pnts>\n")
		for i, p := range s.Points {
			f("     <P id=\"%d\">%s %s %s</P>\n", i+1, shortest(p.N), shortest(p.E), shortest(p.Level))
		}
		f("    </Pnts>\n    <Faces>\n")
		for _, t := range s.Faces {
			f("     <F>%d %d %d</F>\n", t[0]+1, t[1]+1, t[2]+1)
		}
		f("    </Faces>\n   </Definition>\n")
	}
	f("  </Surface>\n </Surfaces>\n</LandXML>\n")
	return b.Flush()
}

// writeSourceData writes what a surface was made from; with faces the points
// stand in the definition.
func writeSourceData(f func(string, ...any), s *Survey) {
	list := func(v []Vertex) {
		for i, p := range v {
			if i > 0 {
				f(" ")
			}
			f("%s %s", shortest(p.N), shortest(p.E))
			if !math.IsNaN(p.Level) {
				f(" %s", shortest(p.Level))
			}
		}
	}
	f("   <SourceData>\n")
	if s.Faces == nil && len(s.Points) > 0 {
		f("    <DataPoints><PntList3D>")
		for i, p := range s.Points {
			if i > 0 {
				f(" ")
			}
			f("%s %s %s", shortest(p.N), shortest(p.E), shortest(p.Level))
		}
		f("</PntList3D></DataPoints>\n")
	}
	if s.Faces == nil && len(s.Boundary) > 0 {
		f("    <Boundaries>\n")
		for i, ring := range s.Boundary {
			kind, levels := "void", true
			if i == 0 {
				kind = "outer"
			}
			for _, v := range ring {
				levels = levels && !math.IsNaN(v.Level)
			}
			element := "PntList3D"
			if !levels {
				element = "PntList2D"
				flat := make([]Vertex, len(ring))
				for k, v := range ring {
					v.Level = math.NaN()
					flat[k] = v
				}
				ring = flat
			}
			f("     <Boundary bndType=\"%s\" edgeTrim=\"true\"><%s>", kind, element)
			list(ring)
			f("</%s></Boundary>\n", element)
		}
		f("    </Boundaries>\n")
	}
	if len(s.Breaklines) > 0 {
		f("    <Breaklines>\n")
		for _, l := range s.Breaklines {
			f("     <Breakline brkType=\"standard\" name=\"%s\"><PntList3D>", attribute(l.Name))
			list(l.Vertices)
			f("</PntList3D></Breakline>\n")
		}
		f("    </Breaklines>\n")
	}
	f("   </SourceData>\n")
}

// attribute protects a text in an XML attribute.
func attribute(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

// WriteDXF writes a survey as a release 12 text drawing in metres: faces as
// 3DFACE on layer GROUND, or points as POINT on layer POINTS; breaklines as
// 3-D POLYLINE on layer BREAKLINES; boundary rings on layer BOUNDARY.
func WriteDXF(w io.Writer, s *Survey) error {
	b := bufio.NewWriter(w)
	tag := func(code int, value string) { _, _ = fmt.Fprintf(b, "%d\n%s\n", code, value) }
	place := func(code int, e, n, level float64) {
		tag(code, shortest(e))
		tag(code+10, shortest(n))
		tag(code+20, shortest(level))
	}
	begin := func(kind, layer string) {
		tag(0, kind)
		tag(8, layer)
	}
	tag(999, "plane grid: x easting, y northing, z level, metres")
	tag(0, "SECTION")
	tag(2, "HEADER")
	tag(9, "$ACADVER")
	tag(1, "AC1009")
	tag(9, "$INSUNITS")
	tag(70, "6")
	tag(0, "ENDSEC")
	tag(0, "SECTION")
	tag(2, "ENTITIES")
	line := func(layer string, v []Vertex, level func(Vertex) float64) {
		begin("POLYLINE", layer)
		tag(66, "1")
		place(10, 0, 0, 0)
		tag(70, strconv.Itoa(dxf3D))
		for _, p := range v {
			begin("VERTEX", layer)
			place(10, p.E, p.N, level(p))
			tag(70, "32")
		}
		begin("SEQEND", layer)
	}
	for _, t := range s.Faces {
		begin("3DFACE", "GROUND")
		for k, v := range [4]int32{t[0], t[1], t[2], t[2]} {
			p := s.Points[v]
			place(10+k, p.E, p.N, p.Level)
		}
	}
	if s.Faces == nil {
		for _, p := range s.Points {
			begin("POINT", "POINTS")
			place(10, p.E, p.N, p.Level)
		}
	}
	for _, l := range s.Breaklines {
		line("BREAKLINES", l.Vertices, func(v Vertex) float64 { return v.Level })
	}
	for _, r := range s.Boundary {
		line("BOUNDARY", closed(r), func(v Vertex) float64 {
			if math.IsNaN(v.Level) {
				return 0
			}
			return v.Level
		})
	}
	tag(0, "ENDSEC")
	tag(0, "EOF")
	return b.Flush()
}

// WriteGeoJSON writes a survey as a GeoJSON feature collection in site grid
// metres with the level as third number: faces as polygons of three corners,
// or points; breaklines; the boundary. A member of the collection says that
// positions are no degrees, which RFC 7946 would take them for.
func WriteGeoJSON(w io.Writer, s *Survey) error {
	b := bufio.NewWriter(w)
	_, _ = fmt.Fprintf(b, "{\"type\":\"FeatureCollection\",%q:%q,\"features\":[", geoJSONGrid, siteGridMetres)
	first := true
	var failed error
	feature := func(kind string, props map[string]string, coordinates any) {
		text, err := json.Marshal(coordinates)
		if err != nil {
			failed = err
			return
		}
		p, err := json.Marshal(props)
		if err != nil {
			failed = err
			return
		}
		if !first {
			_ = b.WriteByte(',')
		}
		first = false
		_, _ = fmt.Fprintf(b, "\n{\"type\":\"Feature\",\"properties\":%s,\"geometry\":{\"type\":%q,\"coordinates\":%s}}", p, kind, text)
	}
	at := func(v Vertex) []float64 {
		if math.IsNaN(v.Level) {
			return []float64{v.E, v.N}
		}
		return []float64{v.E, v.N, v.Level}
	}
	list := func(v []Vertex) [][]float64 {
		out := make([][]float64, len(v))
		for i := range v {
			out[i] = at(v[i])
		}
		return out
	}
	for _, t := range s.Faces {
		var ring [][]float64
		for _, v := range [4]int32{t[0], t[1], t[2], t[0]} {
			p := s.Points[v]
			ring = append(ring, []float64{p.E, p.N, p.Level})
		}
		feature("Polygon", map[string]string{"kind": "face"}, [][][]float64{ring})
	}
	if s.Faces == nil {
		for _, p := range s.Points {
			feature("Point", map[string]string{"point": p.Name, "code": p.Code}, []float64{p.E, p.N, p.Level})
		}
	}
	for _, l := range s.Breaklines {
		feature("LineString", map[string]string{"kind": "breakline", "line": l.Name}, list(l.Vertices))
	}
	if len(s.Boundary) > 0 {
		var rings [][][]float64
		for _, r := range s.Boundary {
			rings = append(rings, list(closed(r)))
		}
		feature("Polygon", map[string]string{"kind": "boundary"}, rings)
	}
	if failed != nil {
		return fmt.Errorf("%s: %w", s.Name, failed)
	}
	_, _ = b.WriteString("\n]}\n")
	return b.Flush()
}
