package survey

import (
	"bytes"
	"math"
	"os"
	"testing"
)

// again writes a survey in a format and reads it back: the second and third
// generation have to be the same.
func again(t *testing.T, format string, s *Survey) {
	if s.Degrees || s.Faces == nil && len(s.Points) == 0 {
		return // lines alone; or not on a plane
	}
	for _, p := range s.Points {
		if !(math.Abs(p.E) < 1e9 && math.Abs(p.N) < 1e9 && math.Abs(p.Level) < 1e9) {
			return
		}
	}
	for _, l := range s.Breaklines {
		for _, v := range l.Vertices {
			if !(math.Abs(v.E) < 1e9 && math.Abs(v.N) < 1e9 && math.Abs(v.Level) < 1e9) {
				return
			}
		}
	}
	plain := *s
	plain.Boundary = nil
	var b bytes.Buffer
	if err := writers[format](&b, &plain); err != nil {
		t.Fatal(err)
	}
	back, err := Read(bytes.NewReader(b.Bytes()), "f", Options{Unit: Metre, Layers: []string{"*"}})
	if err != nil {
		t.Fatalf("written %q: %v", b.Bytes()[:min(b.Len(), 4000)], err)
	}
	if format == "LandXML" && plain.Faces == nil && len(plain.Breaklines) > 0 {
		back.Boundary = nil
	}
	if len(back.Faces) < len(plain.Faces) {
		return // faces between equal corners have no area and are not read
	}
	sameSurvey(t, format, &plain, back)
}

// fuzzRead checks that reading never panics and is stable.
func fuzzRead(f *testing.F, format string, accept func([]byte) bool) {
	f.Fuzz(func(t *testing.T, data []byte) {
		if !accept(data) {
			return
		}
		for _, opts := range []Options{{RejectBadRows: true, Layers: []string{"*"}, Classes: []int{0, 1, 2}, ThinM: 3}, {Surface: "s", BoundaryLayer: "B"}} {
			s, err := Read(bytes.NewReader(data), "f", opts)
			if err != nil {
				continue
			}
			for _, tri := range s.Faces {
				for _, v := range tri {
					if v < 0 || int(v) >= len(s.Points) {
						t.Fatalf("a face of point %d of %d", v, len(s.Points))
					}
				}
			}
			if format != "" {
				again(t, format, s)
			}
		}
	})
}

func file(f *testing.F, path string, most int) {
	data, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data[:min(len(data), most)])
}

func FuzzReadLandXML(f *testing.F) {
	seed(f, `<LandXML><Units><Imperial linearUnit="foot"/></Units><Surfaces><Surface name="s"><SourceData><Breaklines><Breakline name="b"><PntList3D>1 2 3 4 5 6</PntList3D></Breakline></Breaklines><Boundaries><Boundary bndType="outer"><PntList2D>0 0 0 9 9 9</PntList2D></Boundary></Boundaries></SourceData><Definition surfType="TIN"><Pnts><P id="1">0 0 1</P><P id="2">0 1 1</P><P id="3">1 0 1</P><P id="4">1 1</P></Pnts><Faces><F>1 2 3</F><F i="1">1 2 3</F></Faces></Definition></Surface></Surfaces></LandXML>`,
		`<l:LandXML xmlns:l="x"><l:CgPoints><l:CgPoint name="a" code="c">1 2 3</l:CgPoint></l:CgPoints></l:LandXML>`)
	fuzzRead(f, "LandXML", func(b []byte) bool { return bytes.HasPrefix(bytes.TrimLeft(b, " \t\r\n"), []byte("<")) })
}

func FuzzReadDXF(f *testing.F) {
	file(f, open+"drawing/field_instrument.dxf", 1<<20)
	file(f, open+"drawing/ascii_r12.dxf", 1<<20)
	seed(f, "0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\nB\n70\n1\n10\n0\n20\n0\n42\n1\n10\n2\n20\n0\n10\n2\n20\n5\n0\n3DFACE\n8\nA\n10\n0\n20\n0\n30\n1\n11\n1\n21\n0\n31\n1\n12\n0\n22\n1\n32\n1\n13\n0\n23\n1\n33\n1\n0\nENDSEC\n0\nEOF\n",
		"0\nSECTION\n2\nENTITIES\n0\nPOLYLINE\n70\n16\n71\n2\n72\n2\n0\nVERTEX\n10\n0\n20\n0\n0\nVERTEX\n10\n1\n20\n0\n0\nVERTEX\n10\n0\n20\n1\n0\nVERTEX\n10\n1\n20\n1\n0\nSEQEND\n0\nENDSEC\n0\nEOF\n")
	fuzzRead(f, "DXF", isDXF)
}

func FuzzReadGeoTIFF(f *testing.F) {
	for _, name := range []string{"strips_float32_lzw_predictor3", "tiles_float32_deflate_predictor3", "strips_int16_packbits_big_endian", "bigtiff_float32_deflate"} {
		file(f, reference+"geotiff/"+name+".tif", 1<<20)
	}
	fuzzRead(f, "", isTIFF)
}

func FuzzReadLAS(f *testing.F) {
	data, err := os.ReadFile(open + "pointcloud/lidar_1065pts.las")
	if err != nil {
		f.Fatal(err)
	}
	few := bytes.Clone(data[:227+34*8])
	few[107], few[108] = 8, 0
	f.Add(few)
	fuzzRead(f, "DXF", func(b []byte) bool { return bytes.HasPrefix(b, []byte("LASF")) })
}

func FuzzReadGeoJSON(f *testing.F) {
	seed(f, `{"type":"FeatureCollection","coordinates_in":"site grid, metres","features":[{"type":"Feature","properties":{"point":"P1","code":7},"geometry":{"type":"Point","coordinates":[1,2,3]}},{"type":"Feature","properties":null,"geometry":{"type":"Polygon","coordinates":[[[0,0,1],[1,0,2],[0,1,3],[0,0,1]]]}}]}`,
		`{"type":"GeometryCollection","geometries":[{"type":"MultiLineString","coordinates":[[[430000,5,1],[430001,5,2]]]},{"type":"MultiPoint","coordinates":[[430000,1,9],[2,3]]}]}`)
	fuzzRead(f, "GeoJSON", func(b []byte) bool { return bytes.HasPrefix(bytes.TrimLeft(b, " \t\r\n"), []byte("{")) })
}
