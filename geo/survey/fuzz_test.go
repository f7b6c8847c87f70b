package survey

import (
	"bytes"
	"math"
	"os"
	"testing"
)

func readErr(path string, opts Options) (*Survey, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return Read(bytes.NewReader(data), path, opts)
}

func seed(f *testing.F, texts ...string) {
	for _, s := range texts {
		f.Add([]byte(s))
	}
}

// FuzzReadPoints checks that reading never panics and that what was read is
// read again the same after writing.
func FuzzReadPoints(f *testing.F) {
	seed(f, "point,easting,northing,level,code\nP1,1,2,3,GL\n", "p;x;y;z\n1;1,5;2,25;3,125\n", "1 2 3\n", "\xEF\xBB\xBFname\te\tn\th\r\n\"a\"\"b\"\t1e3\t-2\t+.5\r\n", "point,easting,northing,level\n1,2,3,-9999\n")
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, opts := range []Options{{RejectBadRows: true}, {Order: OrderPENZD, DecimalComma: true}} {
			s, err := Read(bytes.NewReader(data), "f", opts)
			if err != nil || s.Grid != nil {
				continue
			}
			var out bytes.Buffer
			if err := WriteCSV(&out, s); err != nil {
				t.Fatal(err)
			}
			again, err := Read(bytes.NewReader(out.Bytes()), "f", Options{})
			if err != nil {
				t.Fatalf("written %q: %v", out.Bytes(), err)
			}
			if len(again.Points) != len(s.Points) {
				t.Fatalf("%d points became %d", len(s.Points), len(again.Points))
			}
			for i, p := range again.Points {
				if q := s.Points[i]; p.E != q.E || p.N != q.N || p.Level != q.Level {
					t.Fatalf("point %v became %v", q, p)
				}
			}
			if _, _, err := Clean(s, CleanOptions{Conflicts: KeepFirstRow}); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func FuzzReadASCIIGrid(f *testing.F) {
	seed(f, "ncols 3\nnrows 2\nxllcorner 100\nyllcorner 200\ncellsize 10\nNODATA_value -9999\n1 2 3\n4 -9999 6\n", "NROWS 1\nNCOLS 2\nYLLCENTER 205,5\nXLLCENTER 105\ndx 10\ndy 2\n1e3 nan")
	f.Fuzz(func(t *testing.T, data []byte) {
		if !isASCIIGrid(data) {
			return
		}
		s, err := Read(bytes.NewReader(data), "f", Options{})
		if err != nil {
			return
		}
		var out bytes.Buffer
		if err := WriteASCIIGrid(&out, s.Grid); err != nil {
			t.Fatal(err)
		}
		again, err := Read(bytes.NewReader(out.Bytes()), "f", Options{})
		if err != nil {
			t.Fatalf("written %q: %v", out.Bytes(), err)
		}
		for i, v := range again.Grid.Levels {
			if w := s.Grid.Levels[i]; v != w && !(math.IsNaN(v) && (math.IsNaN(w) || w == -9999)) {
				t.Fatalf("cell %d: %v became %v", i, w, v)
			}
		}
		s.Grid.Faces()
	})
}

func FuzzReadLines(f *testing.F) {
	seed(f, "from,to\nP1,P2\n", "line,easting,northing,level\na,1,2,3\na,4,5,6\n", "ring,easting,northing\n0,1,2\n0,3,4\n1,5,6\n", "a,b,c\n1,2,3\n", `{"type":"MultiLineString","coordinates":[[[1,2,3],[4,5,6]]]}`)
	s := &Survey{Points: []Point{{Name: "P1"}, {Name: "P2", E: 1}, {Name: "P3", N: 1}}}
	f.Fuzz(func(t *testing.T, data []byte) {
		if lines, err := ReadBreaklines(bytes.NewReader(data), "f", s); err == nil {
			for _, l := range lines {
				if len(l.Vertices) < 2 {
					t.Fatalf("a line of %d corners", len(l.Vertices))
				}
			}
		}
		if rings, err := ReadBoundary(bytes.NewReader(data), "f"); err == nil && len(rings) == 0 {
			t.Fatal("no rings and no error")
		}
		if faces, err := ReadFaces(bytes.NewReader(data), "f", s); err == nil {
			for _, tri := range faces {
				for _, v := range tri {
					if v < 0 || v > 2 {
						t.Fatalf("triangle %v of 3 points", tri)
					}
				}
			}
		}
	})
}
