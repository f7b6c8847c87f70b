package survey

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

const open = "../../testdata/open/"

// sameSurvey compares what a surface is made of.
func sameSurvey(t *testing.T, what string, a, b *Survey) {
	t.Helper()
	place := func(s *Survey, i int32) [3]float64 {
		p := s.Points[i]
		return [3]float64{p.E, p.N, p.Level}
	}
	if len(a.Faces) != len(b.Faces) || len(a.Breaklines) != len(b.Breaklines) || len(a.Boundary) != len(b.Boundary) {
		t.Fatalf("%s: %d faces, %d lines, %d rings became %d, %d, %d", what, len(a.Faces), len(a.Breaklines), len(a.Boundary), len(b.Faces), len(b.Breaklines), len(b.Boundary))
	}
	for i, f := range a.Faces {
		for k := range f {
			if p, q := place(a, f[k]), place(b, b.Faces[i][k]); p != q {
				t.Fatalf("%s: face %d: %v became %v", what, i, p, q)
			}
		}
	}
	if a.Faces == nil {
		if len(a.Points) != len(b.Points) {
			t.Fatalf("%s: %d points became %d", what, len(a.Points), len(b.Points))
		}
		for i := range a.Points {
			if p, q := place(a, int32(i)), place(b, int32(i)); p != q {
				t.Fatalf("%s: point %v became %v", what, p, q)
			}
		}
	}
	for i, l := range a.Breaklines {
		sameRing(t, what, l.Vertices, b.Breaklines[i].Vertices)
	}
	for i, r := range a.Boundary {
		sameRing(t, what, closed(r), closed(b.Boundary[i]))
	}
}

func sameRing(t *testing.T, what string, a, b []Vertex) {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%s: a line of %d corners became one of %d", what, len(a), len(b))
	}
	for k := range a {
		if a[k].E != b[k].E || a[k].N != b[k].N || a[k].Level != b[k].Level && !math.IsNaN(a[k].Level) {
			t.Fatalf("%s: corner %v became %v", what, a[k], b[k])
		}
	}
}

var writers = map[string]func(*bytes.Buffer, *Survey) error{
	"LandXML": func(b *bytes.Buffer, s *Survey) error { return WriteLandXML(b, s) },
	"DXF":     func(b *bytes.Buffer, s *Survey) error { return WriteDXF(b, s) },
	"GeoJSON": func(b *bytes.Buffer, s *Survey) error { return WriteGeoJSON(b, s) },
}

func TestWrittenSurveysReadBackTheSame(t *testing.T) {
	ring := []Vertex{{E: 430000, N: 310000, Level: 1}, {E: 430010, N: 310000, Level: 1.5}, {E: 430010, N: 310010.125, Level: 2}, {E: 430000, N: 310010, Level: 1}}
	surveys := map[string]*Survey{
		"faces":             readFile(t, open+"survey/tin_164pts_usft.xml", Options{}),
		"points and lines":  {Name: "a & b", Points: []Point{{E: 430001.5, N: 310002.25, Level: 50.125}, {E: 430002, N: 310003, Level: 0.1}, {E: 430003, N: 310001, Level: -2}}, Breaklines: []Breakline{{Name: "top <1>", Vertices: ring[:3]}}},
		"points in a fence": {Name: "fence", Points: []Point{{E: 430001, N: 310001, Level: 5}, {E: 430002, N: 310009, Level: 6}, {E: 430009, N: 310001, Level: 7}}, Boundary: [][]Vertex{ring}},
	}
	for name, s := range surveys {
		for format, write := range writers {
			t.Run(name+" as "+format, func(t *testing.T) {
				var b bytes.Buffer
				if err := write(&b, s); err != nil {
					t.Fatal(err)
				}
				again, err := Read(bytes.NewReader(b.Bytes()), "f", Options{BoundaryLayer: "BOUNDARY"})
				if err != nil {
					t.Fatalf("%v in\n%s", err, b.String()[:min(b.Len(), 2000)])
				}
				sameSurvey(t, format, s, again)
			})
		}
	}
}

// The drawings' figures were worked out with another library; see
// testdata/open/SOURCES.md.
func TestDrawings(t *testing.T) {
	lengths := func(s *Survey) (sum float64) {
		for _, l := range s.Breaklines {
			for i := 1; i < len(l.Vertices); i++ {
				a, b := l.Vertices[i-1], l.Vertices[i]
				sum += math.Sqrt((a.E-b.E)*(a.E-b.E) + (a.N-b.N)*(a.N-b.N) + (a.Level-b.Level)*(a.Level-b.Level))
			}
		}
		return sum
	}
	instrument := readFile(t, open+"drawing/field_instrument.dxf", Options{})
	if len(instrument.Points) != 11 || len(instrument.Breaklines) != 10 || math.Abs(lengths(instrument)-4.582211) > 1e-6 {
		t.Errorf("field instrument: %d points, %d lines of %.6f m", len(instrument.Points), len(instrument.Breaklines), lengths(instrument))
	}
	old := readFile(t, open+"drawing/ascii_r12.dxf", Options{})
	if len(old.Points) != 1 || len(old.Breaklines) != 2 || math.Abs(lengths(old)-14.926864) > 1e-6 {
		t.Errorf("release 12: %d points, %d lines of %.6f", len(old.Points), len(old.Breaklines), lengths(old))
	}
	if text := fmt.Sprint(old.Warnings); !strings.Contains(text, "Δοκιμή") && !strings.ContainsAny(text, "αβγδεικλμνοπρστυΑΒΓΔΕΛΜΟΠ") {
		t.Errorf("the Greek layer's name is not among %s", text)
	}
	faces := readFile(t, open+"drawing/faces3d.dxf", Options{})
	if len(faces.Faces) < 44 || faces.Unit != Millimetre {
		t.Errorf("faces: %d, %s", len(faces.Faces), faces.Unit)
	}
}

// Source: the same file read with another library.
func TestPointCloud(t *testing.T) {
	const file = open + "pointcloud/lidar_1065pts.las"
	all := readFile(t, file, Options{Classes: []int{1, 2}, Unit: InternationalFoot})
	if len(all.Points) != 1065 {
		t.Fatalf("%d points, want 1065", len(all.Points))
	}
	b, low, high, sum := extentOf(all.Points), math.Inf(1), math.Inf(-1), 0.0
	for _, p := range all.Points {
		low, high, sum = min(low, p.Level), max(high, p.Level), sum+p.Level
	}
	for what, v := range map[string][3]float64{
		"x min": {b.MinX, 635619.85, 0.005}, "x max": {b.MaxX, 638982.55, 0.005}, "y min": {b.MinY, 848899.70, 0.005}, "y max": {b.MaxY, 853535.43, 0.005},
		"z min": {low, 406.59, 0.005}, "z max": {high, 586.38, 0.005}, "mean z": {sum / 1065, 434.09784, 5e-6},
	} {
		if got := v[0] / 0.3048; math.Abs(got-v[1]) > v[2] {
			t.Errorf("%s: %.5f ft, want %.5f", what, got, v[1])
		}
	}
	ground := readFile(t, file, Options{})
	if len(ground.Points) != 276 || !strings.Contains(fmt.Sprint(ground.Warnings), "1: 789, 2: 276") {
		t.Errorf("%d ground points, want 276; %v", len(ground.Points), ground.Warnings)
	}
	thin := readFile(t, file, Options{ThinM: 500})
	if n := len(thin.Points); n < 20 || n > 80 {
		t.Errorf("%d points thinned to one in each square of 500", n)
	}
}

// Written with GDAL 3.6.2 from riverbed_1m.asc, each in another form.
func TestGeoTIFFForms(t *testing.T) {
	want := readFile(t, terrain+"riverbed_1m.asc", Options{})
	half := func(v float64) float64 { return math.Round(v) }
	single := func(v float64) float64 { return float64(float32(v)) }
	for _, tt := range []struct {
		file, system string
		value        func(float64) float64
		metres       float64
	}{
		{"strips_float32_plain.tif", "EPSG:32630", single, 1},
		{"strips_float32_lzw_predictor3.tif", "EPSG:32630", single, 1},
		{"tiles_float32_deflate_predictor3.tif", "EPSG:32630", single, 1},
		{"tiles_float64_deflate.tif", "EPSG:32630", single, 1},
		{"strips_int16_packbits_big_endian.tif", "EPSG:32630", half, 1},
		{"tiles_int16_lzw_predictor2.tif", "EPSG:32630", half, 1},
		{"bigtiff_float32_deflate.tif", "EPSG:32630", single, 1},
		{"point_float32.tif", "EPSG:32630", single, 1},
		{"us_feet.tif", "EPSG:2225", single, 1200.0 / 3937},
	} {
		t.Run(tt.file, func(t *testing.T) {
			s := readFile(t, reference+"geotiff/"+tt.file, Options{})
			g, w := s.Grid, want.Grid
			if !strings.HasPrefix(s.System, tt.system) {
				t.Errorf("system %q, want %s", s.System, tt.system)
			}
			if g.Cols != w.Cols || g.Rows != w.Rows || g.E0 != w.E0*tt.metres || g.N0 != w.N0*tt.metres || g.DE != w.DE*tt.metres {
				t.Fatalf("%d by %d cells at %v, %v of %v", g.Cols, g.Rows, g.E0, g.N0, g.DE)
			}
			for i, v := range g.Levels {
				if v != tt.value(w.Levels[i])*tt.metres {
					t.Fatalf("cell %d: %v, want %v", i, v, tt.value(w.Levels[i]))
				}
			}
		})
	}
}

func TestFormatsRefused(t *testing.T) {
	las := load(t, open+"pointcloud/lidar_1065pts.las")
	laz := bytes.Clone(las)
	laz[104] |= 128
	withheld := bytes.Clone(las)
	const head, record = 227, 34
	for i := range 1065 {
		withheld[head+i*record+15] |= 128
	}
	const open, shut = "  0\nSECTION\n  2\nENTITIES\n", "  0\nENDSEC\n  0\nEOF\n"
	face := func(layer string) string {
		return "  0\n3DFACE\n  8\n" + layer + "\n 10\n0\n 20\n0\n 30\n1\n 11\n1\n 21\n0\n 31\n1\n 12\n0\n 22\n1\n 32\n1\n 13\n0\n 23\n1\n 33\n1\n"
	}
	const xml = `<LandXML><Surfaces><Surface name="s"><Definition surfType="TIN"><Pnts><P id="1">0 0 1</P><P id="2">0 1 1</P><P id="3">1 0 1</P>`
	tests := []struct {
		name string
		data []byte
		opts Options
		want []string
	}{
		{"a compressed point cloud", laz, Options{}, []string{"LAZ", "unpack"}},
		{"a point cloud cut short", las[:20000], Options{}, []string{"promises 1065 points", "cut off"}},
		{"no point of the class", las, Options{Classes: []int{9}}, []string{"no point is of class 9", "1: 789, 2: 276"}},
		{"every point withheld", withheld, Options{}, []string{"no point is of class 2"}},
		{"a picture cut short", load(t, reference+"geotiff/strips_float32_plain.tif")[:3000], Options{}, []string{"cut off"}},
		{"a drawing cut short", []byte(open + face("A")), Options{}, []string{"EOF"}},
		{"faces on two layers", []byte(open + face("BEFORE") + face("AFTER") + shut), Options{}, []string{"2 layers", "AFTER, BEFORE", "--layer"}},
		{"a layer that is not there", []byte(open + face("BEFORE") + shut), Options{Layers: []string{"AFTER"}}, []string{`no layer "AFTER"`, "BEFORE"}},
		{"a coordinate that is no number", []byte(open + strings.Replace(face("A"), "11\n1\n", "11\nx\n", 1) + shut), Options{}, []string{"line", "3DFACE group 11", `"x"`}},
		{"an empty drawing", []byte(open + shut), Options{}, []string{"no point, line or face"}},
		{"a binary drawing", []byte("AutoCAD Binary DXF\r\n\x1a\x00"), Options{}, []string{"text"}},
		{"another XML", []byte("<?xml version=\"1.0\"?><svg/>"), Options{}, []string{"svg", "not LandXML"}},
		{"LandXML cut short", []byte(xml), Options{}, []string{"cut off"}},
		{"a face of a point that is not there", []byte(xml + `</Pnts><Faces><F>1 2 4</F></Faces></Definition></Surface></Surfaces></LandXML>`), Options{}, []string{"line 1", `"4"`}},
		{"an id twice", []byte(xml + `<P id="3">1 1 1</P></Pnts></Definition></Surface></Surfaces></LandXML>`), Options{}, []string{`"3" stands twice`}},
		{"an unknown unit", []byte(`<LandXML><Units><Metric linearUnit="furlong"/></Units></LandXML>`), Options{}, []string{"furlong"}},
		{"a unit against the file's", load(t, "../../testdata/open/survey/tin_164pts_usft.xml"), Options{Unit: Metre}, []string{"states US survey ft", "m was asked for"}},
		{"GeoJSON without levels", []byte(`{"type":"Point","coordinates":[430000,310000]}`), Options{}, []string{"no point, line or triangle with levels"}},
		{"GeoJSON with a broken line", []byte("{\"type\":\"FeatureCollection\",\n\"features\":[}"), Options{}, []string{"line 2"}},
		{"JSON of another kind", []byte(`{"a":1}`), Options{}, []string{"not GeoJSON"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read(bytes.NewReader(tt.data), "f", tt.opts)
			if err == nil {
				t.Fatalf("read as %d points, %v", len(s.Points), s.Warnings)
			}
			for _, want := range tt.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q does not say %q", err, want)
				}
			}
		})
	}
}

func TestDXFEntities(t *testing.T) {
	head := "  0\nSECTION\n  2\nHEADER\n  9\n$INSUNITS\n 70\n6\n  0\nENDSEC\n  0\nSECTION\n  2\nENTITIES\n"
	const shut = "  0\nENDSEC\n  0\nEOF\n"
	read := func(text string) *Survey {
		t.Helper()
		s, err := Read(strings.NewReader(head+text+shut), "f", Options{})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	line := read("0\nLWPOLYLINE\n8\nC\n38\n12.5\n70\n1\n10\n0\n20\n0\n10\n4\n20\n0\n10\n4\n20\n3\n")
	if v := line.Breaklines[0].Vertices; len(v) != 4 || v[0] != v[3] || v[2].Level != 12.5 {
		t.Errorf("closed light polyline: %v", v)
	}
	half := read("0\nLWPOLYLINE\n8\nC\n38\n1\n10\n0\n20\n0\n42\n1\n10\n2\n20\n0\n")
	for _, v := range half.Breaklines[0].Vertices {
		if r := math.Hypot(v.E-1, v.N); math.Abs(r-1) > 1e-12 || v.N > 1e-12 {
			t.Errorf("a half circle anticlockwise from (0,0) to (2,0) runs through (%v, %v)", v.E, v.N)
		}
	}
	mirror := read("0\nINSERT\n8\nT\n2\nTREE\n10\n5\n20\n6\n30\n7\n210\n0\n220\n0\n230\n-1\n")
	if p := mirror.Points[0]; p.E != -5 || p.N != 6 || p.Level != -7 || p.Code != "TREE" {
		t.Errorf("mirrored insert: %+v", p)
	}
	vertex := func(flags string, e, n, z int) string {
		return fmt.Sprintf("0\nVERTEX\n8\nF\n10\n%d\n20\n%d\n30\n%d\n70\n%s\n", e, n, z, flags)
	}
	poly := read("0\nPOLYLINE\n8\nF\n66\n1\n10\n0\n20\n0\n30\n0\n70\n64\n" + vertex("192", 0, 0, 1) + vertex("192", 1, 0, 2) + vertex("192", 1, 1, 3) + vertex("192", 0, 1, 4) +
		"0\nVERTEX\n8\nF\n10\n0\n20\n0\n30\n0\n70\n128\n71\n1\n72\n-2\n73\n3\n74\n4\n0\nSEQEND\n")
	if len(poly.Faces) != 2 || len(poly.Points) != 4 || poly.Points[poly.Faces[1][2]].Level != 4 {
		t.Errorf("polyface: %v of %v", poly.Faces, poly.Points)
	}
	mesh := read("0\nPOLYLINE\n8\nF\n66\n1\n10\n0\n20\n0\n30\n0\n70\n16\n71\n2\n72\n3\n" + vertex("64", 0, 0, 1) + vertex("64", 1, 0, 2) + vertex("64", 2, 0, 3) + vertex("64", 0, 1, 4) + vertex("64", 1, 1, 5) + vertex("64", 2, 1, 6) + "0\nSEQEND\n")
	if len(mesh.Faces) != 4 || len(mesh.Points) != 6 {
		t.Errorf("mesh: %v", mesh.Faces)
	}
}

func TestGeoJSONFrames(t *testing.T) {
	const point = `"type":"Point","coordinates":[1.5,52.25,7]`
	for _, tt := range []struct {
		name, text string
		opts       Options
		degrees    bool
	}{
		{"by the standard", "{" + point + "}", Options{}, true},
		{"a unit is stated", "{" + point + "}", Options{Unit: Metre}, false},
		{"beyond degrees", `{"type":"Point","coordinates":[430000,310000,7]}`, Options{}, false},
		{"own member", `{"coordinates_in":"site grid, metres",` + point + `}`, Options{}, false},
		{"old member, grid", `{"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},` + point + `}`, Options{}, false},
		{"old member, degrees", `{"crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},` + point + `}`, Options{}, true},
	} {
		s, err := Read(strings.NewReader(tt.text), "f", tt.opts)
		if err != nil || s.Degrees != tt.degrees {
			t.Errorf("%s: degrees %v, %v", tt.name, s != nil && s.Degrees, err)
		}
	}
}

func load(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// BenchmarkFormats reads a surface of 250,000 points and 500,000 faces in each
// format that holds one.
func BenchmarkFormats(b *testing.B) {
	g := &Grid{Cols: 500, Rows: 500, E0: 430000, N0: 310000, DE: 1, DN: 1, Levels: make([]float64, 250_000)}
	for i := range g.Levels {
		g.Levels[i] = 60 + math.Round(1000*math.Sin(float64(i)/700))/1000
	}
	s := &Survey{Name: "grid", Points: g.Points(), Faces: g.Faces()}
	for _, format := range []string{"LandXML", "DXF", "GeoJSON"} {
		var text bytes.Buffer
		if err := writers[format](&text, s); err != nil {
			b.Fatal(err)
		}
		b.Run(format, func(b *testing.B) {
			b.SetBytes(int64(text.Len()))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read(bytes.NewReader(text.Bytes()), "f", Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	las := load(b, open+"pointcloud/lidar_1065pts.las")
	many := append(bytes.Clone(las[:227]), bytes.Repeat(las[227:227+34*1065], 939)...)
	n := 939 * 1065
	many[107], many[108], many[109] = byte(n&255), byte(n>>8&255), byte(n>>16) // the number of points
	b.Run("LAS", func(b *testing.B) {
		b.SetBytes(int64(len(many)))
		for b.Loop() {
			if _, err := Read(bytes.NewReader(many), "f", Options{Classes: []int{1, 2}}); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func TestMatrixOfLevels(t *testing.T) {
	want := []float64{4, 5, math.NaN(), 1, 2, 3} // rows from the south
	for name, text := range map[string]string{
		"bare":            "1,2,3\n4,5,NA\n",
		"names above":     "a,b,c\n1,2,3\n4,5,-9999\n",
		"names all round": "\"row\",\"V1\",\"V2\",\"V3\"\n\"1\",1,2,3\n\"2\",4,5,\n",
		"words at left":   "x;V1;V2;V3\nnorth;1;2;3\nsouth;4;5;-\n",
	} {
		s, err := Read(strings.NewReader(text), "f", Options{CellM: 10, CornerE: 100, CornerN: 200})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		g := s.Grid
		if g.Cols != 3 || g.Rows != 2 || g.E0 != 105 || g.N0 != 205 || g.DE != 10 {
			t.Errorf("%s: %+v", name, g)
			continue
		}
		for i, v := range g.Levels {
			if v != want[i] && !(math.IsNaN(v) && math.IsNaN(want[i])) {
				t.Errorf("%s: levels %v", name, g.Levels)
				break
			}
		}
	}
	for name, text := range map[string]string{"ragged": "1,2\n3\n", "words": "1,2\n3,x\n", "empty": "", "names alone": "a,b\n"} {
		if s, err := Read(strings.NewReader(text), "f", Options{CellM: 1}); err == nil {
			t.Errorf("%s: read as %v", name, s.Grid)
		}
	}
	if _, err := Read(strings.NewReader("1,2\n"), "f", Options{CellM: -1}); err == nil {
		t.Error("cells of -1")
	}
}

func TestDrawingUnitCanBeOverruled(t *testing.T) {
	const text = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nPOINT\n10\n100\n20\n200\n30\n5\n0\nENDSEC\n0\nEOF\n"
	inch, err := Read(strings.NewReader(text), "f", Options{})
	if err != nil || inch.Points[0].E != 2.54 || !strings.Contains(fmt.Sprint(inch.Warnings), "states inches") {
		t.Errorf("%+v, %v", inch, err)
	}
	metre, err := Read(strings.NewReader(text), "f", Options{Unit: Metre})
	if err != nil || metre.Points[0].E != 100 || !strings.Contains(fmt.Sprint(metre.Warnings), "as asked") {
		t.Errorf("%+v, %v", metre, err)
	}
}

func TestTextAboveAHeaderAndUTF16(t *testing.T) {
	const text = "Job: field 4\nGun 2; prism 17.5 mm\n\npoint;easting;northing;level\n1;1000,5;2000,25;50,125\n2;1001;2000;51\n"
	s, err := Read(strings.NewReader(text), "f", Options{})
	if err != nil || len(s.Points) != 2 || s.Points[0].E != 1000.5 || s.Points[0].Row != 5 || !strings.Contains(fmt.Sprint(s.Warnings), "passed over") {
		t.Errorf("%+v, %v", s, err)
	}
	for _, big := range []bool{false, true} {
		var wide []byte
		for _, r := range "\uFEFF" + text {
			if big {
				wide = append(wide, byte(r>>8), byte(r))
			} else {
				wide = append(wide, byte(r), byte(r>>8))
			}
		}
		again, err := Read(bytes.NewReader(wide), "f", Options{})
		if err != nil || len(again.Points) != 2 || again.Points[0] != s.Points[0] {
			t.Errorf("UTF-16, big-endian %v: %+v, %v", big, again, err)
		}
	}
	if _, err := Read(strings.NewReader("Dear Sir\nplease find\npoint,easting,level\n"), "f", Options{}); err == nil {
		t.Error("a letter was read")
	}
}

// LAS 1.4 with point format 6, 64-bit counts, extra bytes and a reference
// system in text, put together byte by byte from the layout of the standard.
func TestLASOnePointFour(t *testing.T) {
	const record = 30 + 4 // format 6 and four extra bytes
	wkt := append([]byte(`COMPD_CS["ETRS89 / UTM zone 32N + DHHN2016",PROJCS[]]`), 0)
	vlr := make([]byte, 54+len(wkt))
	copy(vlr[2:], "LASF_Projection")
	binary.LittleEndian.PutUint16(vlr[18:], 2112)
	binary.LittleEndian.PutUint16(vlr[20:], uint16(len(wkt)))
	copy(vlr[54:], wkt)
	h := make([]byte, 375)
	copy(h, "LASF")
	h[6], h[24], h[25], h[104] = 16, 1, 4, 6
	le := binary.LittleEndian
	le.PutUint16(h[94:], 375)
	le.PutUint32(h[96:], uint32(375+len(vlr)))
	le.PutUint32(h[100:], 1)
	le.PutUint16(h[105:], record)
	for k, v := range [3]float64{0.01, 0.01, 0.001} {
		le.PutUint64(h[131+8*k:], math.Float64bits(v))
	}
	for k, v := range [3]float64{500000, 5500000, 0} {
		le.PutUint64(h[155+8*k:], math.Float64bits(v))
	}
	points := []struct {
		x, y, z      int32
		class, flags byte
	}{{100, 200, 50123, 2, 0}, {-100, 300, 50200, 2, 0}, {0, 0, 1, 5, 0}, {5, 5, 2, 2, 4}, {6, 6, 3, 2, 1}}
	le.PutUint64(h[247:], uint64(len(points)))
	data := append(h, vlr...)
	for _, p := range points {
		b := make([]byte, record)
		le.PutUint32(b, uint32(p.x))
		le.PutUint32(b[4:], uint32(p.y))
		le.PutUint32(b[8:], uint32(p.z))
		b[15], b[16] = p.flags, p.class
		data = append(data, b...)
	}
	s, err := Read(bytes.NewReader(data), "f", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Points) != 2 || s.Points[0].E != 500001 || s.Points[0].N != 5500002 || s.Points[0].Level != 50.123 || s.Points[1].E != 499999 {
		t.Errorf("%+v", s.Points)
	}
	if text := fmt.Sprint(s.Warnings); !strings.Contains(text, "2: 4, 5: 1") || !strings.Contains(text, "2 points are marked withheld or synthetic") {
		t.Errorf("%v", s.Warnings)
	}
	if s.System != "ETRS89 / UTM zone 32N + DHHN2016" {
		t.Errorf("system %q", s.System)
	}
}
