package survey

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const reference, terrain = "../../testdata/reference/geo/", "../../testdata/open/terrain/"

func readFile(t testing.TB, path string, opts Options) *Survey {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Read(bytes.NewReader(data), filepath.Base(path), opts)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestReadCSVFlavours(t *testing.T) {
	want := []Point{{Name: "0012", Code: "GL", E: 430000.5, N: 310001.25, Level: 62.894}, {Name: "12A", Code: "TB;1", E: 430010, N: 310002, Level: -1.5}}
	tests := []struct {
		name, text string
		opts       Options
	}{
		{"header, commas", "point,easting,northing,level,code\n0012,430000.5,310001.25,62.894,GL\n12A,430010,310002,-1.5,TB;1\n", Options{}},
		{"CR LF, mark, blank line, no last end", "\xEF\xBB\xBFpoint,easting,northing,level,code\r\n\r\n0012,430000.5,310001.25,62.894,GL\r\n12A,430010,310002,-1.5,TB;1", Options{}},
		{"CR only", "point,easting,northing,level,code\r0012,430000.5,310001.25,62.894,GL\r12A,430010,310002,-1.5,TB;1\r", Options{}},
		{"northing first by header", "Pt No,NORTHING,EASTING,Elev,Desc\n0012,310001.25,430000.5,62.894,GL\n12A,310002,430010,-1.5,TB;1\n", Options{}},
		{"units in the header", "name,E [m],N [m],Z (m),code\n0012,430000.5,310001.25,62.894,GL\n12A,430010,310002,-1.5,TB;1\n", Options{}},
		{"x y z with underscores", "point_id,x_m,y_m,z_m,feature_code\n0012,430000.5,310001.25,62.894,GL\n12A,430010,310002,-1.5,TB;1\n", Options{}},
		{"other columns between", "date,point,easting,quality,northing,level,code\nx,0012,430000.5,3,310001.25,62.894,GL\ny,12A,430010,3,310002,-1.5,TB;1\n", Options{}},
		{"semicolons and decimal commas", "point;easting;northing;level;code\n0012;430000,5;310001,25;62,894;GL\n12A;430010;310002;-1,5;\"TB;1\"\n", Options{}},
		{"tabs", "point\teasting\tnorthing\tlevel\tcode\n0012\t430000.5\t310001.25\t62.894\tGL\n12A\t430010\t310002\t-1.5\tTB;1\n", Options{}},
		{"blanks, no header, stated order", "  0012   430000.5 310001.25  62.894 GL\n12A 430010 310002 -1.5 TB;1\n", Options{Order: OrderPENZD}},
		{"commas, no header, northing first", "0012,310001.25,430000.5,62.894,GL\n12A,310002,430010,-1.5,TB;1\n", Options{Order: OrderPNEZD}},
		{"quoted numbers with decimal commas, asked for", "point,easting,northing,level,code\n0012,\"430000,5\",\"310001,25\",\"62,894\",GL\n12A,430010,310002,\"-1,5\",TB;1\n", Options{DecimalComma: true}},
		{"remarks first, exponents", "# job 4\n# gun 2\npoint,easting,northing,level,code\n0012,4.300005e5,3.1000125E+05,62.894,GL\n12A,430010,310002,-1.5,TB;1\n", Options{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read(strings.NewReader(tt.text), "f.csv", tt.opts)
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Points) != 2 || s.Unit != Metre || s.Format != FormatCSV {
				t.Fatalf("got %+v", s)
			}
			for i, p := range s.Points {
				p.Row = 0
				if p != want[i] {
					t.Errorf("point %d: %+v, want %+v", i, p, want[i])
				}
			}
		})
	}
}

func TestReadOrdersWithoutNames(t *testing.T) {
	for _, tt := range []struct {
		order Order
		text  string
	}{{OrderNEZ, "2 1 3\n5 4 6\n"}, {OrderENZ, "1 2 3\n4 5 6\n"}, {"XYZ", "1,2,3\n4,5,6\n"}} {
		s, err := Read(strings.NewReader(tt.text), "f", Options{Order: tt.order})
		if err != nil {
			t.Fatal(err)
		}
		if p := s.Points[1]; p.E != 4 || p.N != 5 || p.Level != 6 || p.Row != 2 {
			t.Errorf("%s: %+v", tt.order, p)
		}
	}
}

func TestReadQuotesAndEncodings(t *testing.T) {
	s, err := Read(strings.NewReader("point,easting,northing,level,code\n1,1,2,3,\"GL,WET \"\"B\"\"\"\n2,4,5,6,Stra\xDFe \x80\n3,7,8,9,Stra\u00DFe \u20AC\n"), "f", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{`GL,WET "B"`, "Straße €", "Straße €"} {
		if s.Points[i].Code != want {
			t.Errorf("code %q, want %q", s.Points[i].Code, want)
		}
	}
}

func TestReadUnits(t *testing.T) {
	// 18,044,619 ft: the two feet differ by 11 m at N 5,500,000 m.
	const text = "point,easting,northing,level\n1,1000,18044619,10\n2,2000,18044619,10\n3,1000,18045619,10\n"
	i, err := Read(strings.NewReader(text), "f", Options{Unit: InternationalFoot})
	if err != nil {
		t.Fatal(err)
	}
	u, err := Read(strings.NewReader(text), "f", Options{Unit: USSurveyFoot})
	if err != nil {
		t.Fatal(err)
	}
	if got := i.Points[0].E; got != 304.8 {
		t.Errorf("1000 ft is %v m, want 304.8 exactly", got)
	}
	if d := u.Points[0].N - i.Points[0].N; math.Abs(d-11.0) > 0.01 {
		t.Errorf("the feet differ by %.3f m, want 11 m", d)
	}
	for head, want := range map[string]string{
		"point,easting (ft),northing (ft),level (ft)": "which foot",
		"point,easting (ft),northing (m),level":       "two units",
		"point,easting (rod),northing (rod),level":    "not known",
	} {
		_, err := Read(strings.NewReader(head+"\n1,1,2,3\n"), "f", Options{})
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", head, err, want)
		}
	}
	s, err := Read(strings.NewReader("point,easting_ftUS,northing_ftUS,level_ftUS\n1,3937,0,0\n"), "f", Options{})
	if err != nil || s.Unit != USSurveyFoot || s.Points[0].E != 1200 {
		t.Errorf("got %+v %v, want 3937 US survey ft = 1200 m", s, err)
	}
}

func TestReadRefuses(t *testing.T) {
	tests := []struct {
		name, text string
		opts       Options
		want       []string // all must stand in the message
	}{
		{"empty", "", Options{}, []string{"empty"}},
		{"no header, no order", "1,430000,310000,50,GL\n", Options{}, []string{"not guessed", "PENZD", "E 430000 N 310000", "E 310000 N 430000"}},
		{"prose", "Dear Sir,\nplease find\n", Options{}, []string{"line 1", "neither a header"}},
		{"header without northing", "point,easting,level\n1,2,3\n", Options{}, []string{"no column for northing"}},
		{"two level columns", "point,easting,northing,level,z\n1,2,3,4,5\n", Options{}, []string{`"level" and "z" both mean level`}},
		{"header against the order", "point,easting,northing,level\n1,2,3,4\n", Options{Order: OrderPNEZD}, []string{"PNEZD", "leave the order out"}},
		{"nonsense order", "1,2,3\n", Options{Order: "EEZ"}, []string{"at most once"}},
		{"longitude and latitude by name", "point,lon,lat,level\n1,-1.5,52.5,3\n", Options{}, []string{"longitude and latitude", "project"}},
		{"longitude and latitude by look", "point,x,y,z\n1,-1.5123456,52.5123456,3\n2,-1.5123556,52.5123456,3\n3,-1.5123456,52.5123956,3\n", Options{}, []string{"longitude and latitude"}},
		{"every bad line", "point,easting,northing,level\n1,a,2,3\n2,2,2,2\n3,4,\n4,5,6,seven\n", Options{}, []string{"3 bad lines", `line 2, column easting: "a" is not a number`, "line 4", "line 5, column level"}},
		{"cut in half", "point,easting,northing,level\n1,1,2,3\n2,4,5", Options{}, []string{"line 3", "cut off"}},
		{"decimal comma not asked for", "point,easting,northing,level\n1,\"430004,000\",2,3\n", Options{}, []string{"line 2", "decimal comma"}},
		{"open quote", "point,easting,northing,level\n1,\"2,3,4\n", Options{}, []string{"line 2", "quote"}},
		{"only rejected rows", "point,easting,northing,level\n1,2,3,-9999\n", Options{}, []string{"no usable points"}},
		{"too long", "point,easting,northing,level\n1,1,1,1\n2,2,2,2\n", Options{MaxRows: 1}, []string{"more than 1 rows"}},
		{"a spreadsheet", "PK\x03\x04", Options{}, []string{"CSV"}},
		{"infinite level", "point,easting,northing,level\n1,1e999,2,3\n", Options{}, []string{"line 2", "easting"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Read(strings.NewReader(tt.text), "site.csv", tt.opts)
			if err == nil {
				t.Fatalf("read as %+v", s)
			}
			for _, want := range append(tt.want, "site.csv") {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q does not say %q", err, want)
				}
			}
		})
	}
}

func TestReadReferencePoints(t *testing.T) {
	for file, n := range map[string]int{"t1_plane.csv": 99, "t4_pre.csv": 500, "t4_post.csv": 450, "t6_pre.csv": 8000, "t6_post.csv": 7000} {
		s := readFile(t, reference+file, Options{})
		if len(s.Points) != n || len(s.Warnings) != 0 {
			t.Errorf("%s: %d points, %d warnings, want %d and none", file, len(s.Points), len(s.Warnings), n)
		}
	}
}

// Source of the figures: Python 3.11 over the same files, see
// testdata/open/SOURCES.md for the files.
func TestReadASCIIGridFiles(t *testing.T) {
	tests := []struct {
		file                string
		cols, rows, valid   int
		low, high, mean     float64
		east, north, sizeDE float64
	}{
		{"hillside_before_10m.asc", 80, 122, 9638, 189.0281, 582.3846, 376.7668, 361020.59563119, 70228.434086869, 10},
		{"gully_dem.asc", 43, 89, 1088, 1680.779392, 1725.432631, 1708.47751, 559706.5, 4380221.5, 3},
		{"riverbed_1m.asc", 50, 37, 1850, 537.359986, 543.809998, 539.8457, 556440.5, 5394932.5, 1},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			s := readFile(t, terrain+tt.file, Options{})
			g := s.Grid
			if s.Format != FormatASCIIGrid || g.Cols != tt.cols || g.Rows != tt.rows || g.Valid() != tt.valid || len(s.Points) != tt.valid {
				t.Fatalf("%s, %d x %d, %d valid", s.Format, g.Cols, g.Rows, g.Valid())
			}
			low, high, sum := math.Inf(1), math.Inf(-1), 0.0
			for _, p := range s.Points {
				low, high, sum = min(low, p.Level), max(high, p.Level), sum+p.Level
			}
			if math.Abs(low-tt.low) > 1e-4 || math.Abs(high-tt.high) > 1e-4 || math.Abs(sum/float64(tt.valid)-tt.mean) > 1e-4 {
				t.Errorf("levels %v to %v, mean %v", low, high, sum/float64(tt.valid))
			}
			if math.Abs(g.E0-tt.east) > 1e-6 || math.Abs(g.N0-tt.north) > 1e-6 || g.DE != tt.sizeDE || g.DN != tt.sizeDE {
				t.Errorf("centre %v, %v, cells %v x %v", g.E0, g.N0, g.DE, g.DN)
			}
		})
	}
}

func TestReadASCIIGridVariants(t *testing.T) {
	const body = "1 2 3\n4 -9999 6\n"
	for name, text := range map[string]string{
		"corner":               "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\nNODATA_value -9999\n" + body,
		"centre, other order":  "NROWS 2\nNCOLS 3\nYLLCENTER 205\nXLLCENTER 105\nCELLSIZE 10\n" + body,
		"centre, British":      "ncols 3 nrows 2 xllcentre 105 yllcentre 205 cellsize 10 nodata -9999\n" + body,
		"all on one line":      "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\n1 2 3 4 -9999 6",
		"decimal commas":       "ncols 3\r\nnrows 2\r\nxllcorner 100,0\r\nyllcorner 200,0\r\ncellsize 10,0\r\n1,0 2,0 3,0\r\n4,0 -9999 6,0\r\n",
		"dx dy":                "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ndx 10\ndy 10\n" + body,
		"another no-data mark": "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\nnodata_value 0\n1 2 3 4 0 6",
		"NaN":                  "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\nnodata_value nan\n1 2 3 4 NaN 6",
	} {
		t.Run(name, func(t *testing.T) {
			s, err := Read(strings.NewReader(text), "g.asc", Options{})
			if err != nil {
				t.Fatal(err)
			}
			g := s.Grid
			if g.E0 != 105 || g.N0 != 205 || g.DE != 10 || g.DN != 10 {
				t.Fatalf("%+v", g)
			}
			// The first row of the file is the northern one.
			if g.At(0, 0) != 4 || !math.IsNaN(g.At(1, 0)) || g.At(2, 0) != 6 || g.At(0, 1) != 1 || g.At(2, 1) != 3 {
				t.Errorf("levels %v", g.Levels)
			}
			if len(s.Warnings) != 1 || s.Warnings[0].Kind != KindNoData {
				t.Errorf("warnings %+v", s.Warnings)
			}
		})
	}
}

func TestReadASCIIGridRefuses(t *testing.T) {
	const head = "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\n"
	for name, tt := range map[string]struct{ text, want string }{
		"cut in half":      {head + "1 2 3 4", "4 of 6 values"},
		"too many":         {head + "1 2 3 4 5 6 7", "more than the 6"},
		"a word":           {head + "1 2 3\n4 x 6", `line 7: "x" is not a number`},
		"no corner":        {"ncols 3\nnrows 2\ncellsize 10\n1 2 3 4 5 6", "lacks xllcorner, yllcorner"},
		"half a column":    {"ncols 2.5\nnrows 2\nxllcorner 1\nyllcorner 2\ncellsize 1\n1 2 3 4 5", "whole numbers"},
		"negative cells":   {"ncols 3\nnrows 2\nxllcorner 1\nyllcorner 2\ncellsize -1\n1 2 3 4 5 6", "above 0"},
		"degrees":          {"ncols 3\nnrows 2\nxllcorner 5.74167\nyllcorner 49.44167\ncellsize 0.00833\n1 2 3 4 5 6", "degrees"},
		"a huge promise":   {"ncols 14000\nnrows 14000\nxllcorner 1\nyllcorner 2\ncellsize 1\n1", "1 of 196000000 values"},
		"an unknown key":   {"ncols 3\nnrows 2\nbyteorder LSB\n", `"byteorder" is not known`},
		"a key twice":      {"ncols 3\nncols 3\n", "twice"},
		"a key without":    {"ncols\nnrows 2\n", "ncols needs a number"},
		"nothing but void": {head + "-9999 -9999 -9999 -9999 -9999 -9999", "no cell has data"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(strings.NewReader(tt.text), "g.asc", Options{})
			if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), "g.asc") {
				t.Errorf("got %v, want %q", err, tt.want)
			}
		})
	}
}

func TestGridFacesLeaveHoles(t *testing.T) {
	n := math.NaN()
	tests := []struct {
		name   string
		cols   int
		levels []float64 // from the south
		faces  int
	}{
		{"a square", 2, []float64{1, 2, 3, 4}, 2},
		{"three of four", 2, []float64{1, 2, 3, n}, 1},
		{"two of four", 2, []float64{1, n, n, 4}, 0},
		{"a hole in nine", 3, []float64{1, 2, 3, 4, n, 6, 7, 8, 9}, 4},
		{"one column", 1, []float64{1, 2, 3}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			g := &Grid{Cols: tt.cols, Rows: len(tt.levels) / tt.cols, DE: 1, DN: 1, Levels: tt.levels}
			pts, faces := g.Points(), g.Faces()
			if len(faces) != tt.faces {
				t.Fatalf("%d faces, want %d", len(faces), tt.faces)
			}
			for _, f := range faces {
				a, b, c := pts[f[0]], pts[f[1]], pts[f[2]]
				if area := (b.E-a.E)*(c.N-a.N) - (b.N-a.N)*(c.E-a.E); area != 1 {
					t.Errorf("face %v has twice the area %v, want 1", f, area)
				}
			}
		})
	}
}

func TestReadBreaklines(t *testing.T) {
	s := readFile(t, reference+"t2_stockpile_points.csv", Options{})
	data, err := os.ReadFile(reference + "t2_stockpile_breaklines.csv")
	if err != nil {
		t.Fatal(err)
	}
	lines, err := ReadBreaklines(bytes.NewReader(data), "b.csv", s)
	if err != nil || len(lines) != 12 {
		t.Fatalf("%d lines, %v", len(lines), err)
	}
	if v := lines[11].Vertices; v[0] != (Vertex{430100, 310130, 50, 13}) || v[1].Level != 56 {
		t.Errorf("P4-P8 is %+v", v)
	}
	corners, err := ReadBreaklines(strings.NewReader("line,easting,northing,level\ncrest,1,2,3\ntoe,7,8,9\ncrest,4,5,6\ntoe,1,1,1\n"), "c.csv", s)
	if err != nil || len(corners) != 2 || corners[0].Name != "crest" || corners[0].Vertices[1].Level != 6 {
		t.Errorf("%+v %v", corners, err)
	}
	drawn, err := ReadBreaklines(strings.NewReader(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[1,2,3],[4,5,6]]}}]}`), "d.geojson", s)
	if err != nil || len(drawn) != 1 || drawn[0].Vertices[1] != (Vertex{E: 4, N: 5, Level: 6}) {
		t.Errorf("%+v %v", drawn, err)
	}
	for name, tt := range map[string]struct{ text, want string }{
		"unknown names":   {"from,to\nP1,P99\nPX,P2\n", "2 bad lines"},
		"one corner":      {"line,easting,northing,level\na,1,2,3\n", "one corner"},
		"no level":        {`{"type":"LineString","coordinates":[[1,2],[3,4]]}`, "no level"},
		"an area":         {`{"type":"Polygon","coordinates":[]}`, "not a breakline"},
		"missing columns": {"from\nP1\n", "no column for to"},
	} {
		if _, err := ReadBreaklines(strings.NewReader(tt.text), "b", s); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %q", name, err, tt.want)
		}
	}
}

func TestReadBoundaryAndFaces(t *testing.T) {
	data, err := os.ReadFile(reference + "t5_boundary.csv")
	if err != nil {
		t.Fatal(err)
	}
	rings, err := ReadBoundary(bytes.NewReader(data), "t5_boundary.csv")
	if err != nil || len(rings) != 2 || len(rings[0]) != 7 || len(rings[1]) != 5 {
		t.Fatalf("%v %v", rings, err)
	}
	if _, err := ReadBoundary(strings.NewReader("ring,easting,northing\n2,1,1\n"), "b"); err == nil {
		t.Error("a ring 2 without 0 and 1 was read")
	}
	s := readFile(t, reference+"t4_pre.csv", Options{})
	data, err = os.ReadFile(reference + "t4_pre_tin.csv")
	if err != nil {
		t.Fatal(err)
	}
	faces, err := ReadFaces(bytes.NewReader(data), "t4_pre_tin.csv", s)
	if err != nil || len(faces) != 994 || faces[0] != [3]int32{3, 445, 2} {
		t.Fatalf("%d faces, first %v, %v", len(faces), faces[0], err)
	}
	if _, err := ReadFaces(strings.NewReader("a,b,c\n1,2,501\n"), "f", s); err == nil {
		t.Error("point 501 of 500 was read")
	}
}

func BenchmarkReadCSV(b *testing.B) {
	var text bytes.Buffer
	text.WriteString("point,easting,northing,level,code\n")
	line := []byte("P123456,430123.456,310987.654,123.456,GL\n")
	for range 1_000_000 {
		text.Write(line)
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		if _, err := Read(bytes.NewReader(text.Bytes()), "f", Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
