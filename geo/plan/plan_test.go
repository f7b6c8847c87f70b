package plan

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// ring writes coordinates as a GeoJSON ring, closed.
func ring(xy ...float64) string {
	var b strings.Builder
	b.WriteString("[")
	for i := 0; i < len(xy); i += 2 {
		fmt.Fprintf(&b, "[%v,%v],", xy[i], xy[i+1])
	}
	fmt.Fprintf(&b, "[%v,%v]]", xy[0], xy[1])
	return b.String()
}

func polygon(rings ...string) string {
	return `{"type":"Polygon","coordinates":[` + strings.Join(rings, ",") + `]}`
}

func square(x, y, side float64) string {
	return ring(x, y, x+side, y, x+side, y+side, x, y+side)
}

var site = Options{Name: "p.geojson", Frame: FrameSite}

// Areas worked by the surveyor's shoelace formula, by hand.
func TestPolygonAreas(t *testing.T) {
	tests := []struct {
		name, text string
		area       float64
	}{
		{"five corners", polygon(ring(0, 0, 60, 0, 60, 40, 35, 55, 0, 40)), 2850},
		{"five corners, other way round", polygon(ring(90, 160, 150, 210, 200, 170, 180, 110, 100, 100)), 8100},
		{"L shape", polygon(ring(0, 0, 20, 0, 20, 10, 10, 10, 10, 20, 0, 20)), 300},
		{"square with a hole", polygon(square(0, 0, 100), square(40, 40, 20)), 9600},
		{"hole wound like the outer ring", polygon(square(0, 0, 10), ring(4, 4, 4, 6, 6, 6, 6, 4)), 96},
		{"far from the origin", polygon(square(400000.123, 300000.456, 10)), 100},
		{"two parts", `{"type":"MultiPolygon","coordinates":[[` + square(0, 0, 10) + `],[` + square(20, 0, 5) + `]]}`, 125},
		{"two parts sharing a side", `{"type":"MultiPolygon","coordinates":[[` + square(0, 0, 10) + `],[` + square(10, 0, 10) + `]]}`, 200},
		{"hole touching the outer ring at a corner", polygon(square(0, 0, 10), ring(0, 0, 4, 2, 2, 4)), 94},
		{"hole with a corner on the outer ring's side", polygon(square(0, 0, 10), ring(5, 0, 7, 4, 3, 4)), 92},
		{"hole sharing a side with the outer ring", polygon(square(0, 0, 10), ring(3, 0, 7, 0, 7, 2, 3, 2)), 92},
		{"a corner twice", polygon(ring(0, 0, 10, 0, 10, 0, 10, 10, 0, 10)), 100},
		{"feature", `{"type":"Feature","properties":null,"geometry":` + polygon(square(0, 0, 10)) + `}`, 100},
		{"collection", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":` + polygon(square(0, 0, 10)) + `},{"type":"Feature","properties":{},"geometry":` + polygon(square(50, 0, 10)) + `}]}`, 200},
		{"mark and old grid member", "\xEF\xBB\xBF" + `{"type":"Feature","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},"properties":{},"geometry":` + polygon(square(430000, 310000, 10)) + `}`, 100},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, err := ParsePolygon([]byte(tt.text), site)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(p.AreaM2()-tt.area) > 1e-9*tt.area {
				t.Errorf("area %v, want %v", p.AreaM2(), tt.area)
			}
			sum := 0.0
			_, _, tris := p.Triangles()
			for _, tri := range tris {
				s := (tri[1].X-tri[0].X)*(tri[2].Y-tri[0].Y) - (tri[1].Y-tri[0].Y)*(tri[2].X-tri[0].X)
				if s <= 0 {
					t.Errorf("triangle %v does not turn anticlockwise", tri)
				}
				sum += s / 2
			}
			if math.Abs(sum-tt.area) > 1e-9*tt.area {
				t.Errorf("triangles cover %v, want %v", sum, tt.area)
			}
			for _, part := range p.Rings() {
				for i, r := range part {
					if (ringArea(r) > 0) != (i == 0) {
						t.Errorf("ring %d winds the wrong way", i)
					}
				}
			}
		})
	}
}

func TestParsePolygonRefuses(t *testing.T) {
	tests := []struct {
		name, text string
		opts       Options
		want       []string
	}{
		{"bow-tie, with its crossing", polygon(ring(0, 0, 10, 10, 10, 0, 0, 10)), site, []string{"crosses itself at (5.000, 5.000)", "redraw"}},
		{"open ring", `{"type":"Polygon","coordinates":[[[0,0],[10,0],[10,10],[0,10]]]}`, site, []string{"outer ring: not closed", "repeat the first"}},
		{"three positions", `{"type":"Polygon","coordinates":[[[0,0],[10,0],[0,0]]]}`, site, []string{"4 or more"}},
		{"no area", polygon(ring(0, 0, 10, 10, 20, 20)), site, []string{"encloses no area"}},
		{"hole outside", polygon(square(0, 0, 10), square(20, 20, 2)), site, []string{"hole 1", "outside"}},
		{"hole across the edge", polygon(square(0, 0, 10), square(8, 4, 4)), site, []string{"hole 1: crosses the outer ring", "(10.000, "}},
		{"hole in a hole", polygon(square(0, 0, 10), square(2, 2, 6), square(3, 3, 1)), site, []string{"hole 2", "overlaps hole 1"}},
		{"overlapping parts", `{"type":"MultiPolygon","coordinates":[[` + square(0, 0, 10) + `],[` + square(5, 0, 10) + `]]}`, site, []string{"part 2: overlaps part 1 by 50.000 m²"}},
		{"the same part twice", `{"type":"MultiPolygon","coordinates":[[` + square(0, 0, 10) + `],[` + square(0, 0, 10) + `]]}`, site, []string{"by 100.000 m²"}},
		{"degrees where metres are due", polygon(ring(-1.5, 52.5, -1.49264, 52.5, -1.49264, 52.504495)), site, []string{"look like longitude and latitude", "project"}},
		{"degrees named by crs", `{"type":"Polygon","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:OGC:1.3:CRS84"}},"coordinates":[` + square(0, 0, 10) + `]}`, site, []string{"longitude and latitude"}},
		{"metres where degrees are due", polygon(square(430000, 310000, 10)), Options{Name: "p.geojson"}, []string{"not longitude and latitude", "site's grid"}},
		{"metres named by crs", `{"type":"Polygon","crs":{"type":"name","properties":{"name":"EPSG:27700"}},"coordinates":[` + square(430000, 310000, 10) + `]}`, Options{Name: "p.geojson"}, []string{"EPSG:27700", "RFC 7946"}},
		{"degrees without a way to metres", polygon(square(-1.5, 52.5, 0.01)), Options{Name: "p.geojson"}, []string{"site grid metres are needed"}},
		{"a line", `{"type":"LineString","coordinates":[[0,0],[10,0]]}`, site, []string{"LineString is not an area"}},
		{"text for numbers", `{"type":"Polygon","coordinates":[[["0","0"],[10,0],[10,10],[0,0]]]}`, site, []string{"position 1", "not two or three numbers"}},
		{"one number", `{"type":"Polygon","coordinates":[[[0],[10,0],[10,10],[0]]]}`, site, []string{"position 1", "position 4"}},
		{"null", `{"type":"Polygon","coordinates":[[[null,0],[10,0],[10,10],[0,0]]]}`, site, []string{"position 1"}},
		{"empty coordinates", `{"type":"Polygon","coordinates":[]}`, site, []string{"1 or more"}},
		{"no geometry", `{"type":"Feature","id":"SP1","properties":{},"geometry":null}`, site, []string{"feature (SP1): no geometry"}},
		{"empty collection", `{"type":"FeatureCollection","features":[]}`, site, []string{"no features"}},
		{"unknown type", `{"type":"Circle","coordinates":[]}`, site, []string{`"Circle"`}},
		{"not JSON", `{"type":"Polygon"`, site, []string{"not GeoJSON"}},
		{"two faults", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"code":"A1"},"geometry":` + polygon(ring(0, 0, 10, 10, 10, 0, 0, 10)) + `},{"type":"Feature","properties":{"code":"A2"},"geometry":null}]}`, site, []string{"2 faults", "feature 1 (A1), outer ring: crosses", "feature 2 (A2): no geometry"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p, err := ParsePolygon([]byte(tt.text), tt.opts)
			if err == nil {
				t.Fatalf("read as %+v", p)
			}
			for _, want := range append(tt.want, "p.geojson") {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q does not say %q", err, want)
				}
			}
		})
	}
}

func TestParsePolygonProjects(t *testing.T) {
	opts := Options{Project: func(lon, lat float64) (float64, float64, error) {
		return 100000 * (lon + 2), 100000 * (lat - 52), nil
	}}
	p, err := ParsePolygon([]byte(polygon(square(-1.5, 52.5, 0.001))), opts)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.AreaM2()-10000) > 1e-6 {
		t.Errorf("area %v, want 10000", p.AreaM2())
	}
	opts.Project = func(lon, lat float64) (float64, float64, error) { return 0, 0, fmt.Errorf("outside the grid's area") }
	if _, err := ParsePolygon([]byte(polygon(square(-1.5, 52.5, 0.001))), opts); err == nil || !strings.Contains(err.Error(), "outside the grid") {
		t.Errorf("got %v", err)
	}
}

func TestReadFeatures(t *testing.T) {
	const text = `{"type":"FeatureCollection","features":[
		{"type":"Feature","id":7,"properties":{"kind":"receptor","label":"Barn","rooms":3},"geometry":{"type":"Point","coordinates":[-1.5,52.5]}},
		{"type":"Feature","properties":{"code":"HR1","kind":"haul route"},"geometry":{"type":"LineString","coordinates":[[-1.5,52.5,61.5],[-1.4,52.5],[-1.4,52.6,63]]}},
		{"type":"Feature","properties":{"code":"G"},"geometry":{"type":"GeometryCollection","geometries":[{"type":"MultiPoint","coordinates":[[1,2],[3,4]]},{"type":"MultiLineString","coordinates":[[[0,0],[1,1]]]}]}}]}`
	fs, err := ReadFeatures(strings.NewReader(text), Options{Name: "plan.geojson"})
	if err != nil {
		t.Fatal(err)
	}
	if len(fs) != 3 || fs[0].Code != "7" || fs[0].Kind != "receptor" || fs[0].Label != "Barn" || fs[0].Properties["rooms"] != 3.0 || fs[0].Frame != FrameWGS84 {
		t.Fatalf("%+v", fs)
	}
	if fs[0].Levels != nil || len(fs[1].Levels) != 3 || fs[1].Levels[0] != 61.5 || !math.IsNaN(fs[1].Levels[1]) || fs[1].Levels[2] != 63 {
		t.Errorf("levels %v, %v", fs[0].Levels, fs[1].Levels)
	}
	if l, ok := fs[1].Geometry.(orb.LineString); !ok || l[2] != (orb.Point{-1.4, 52.6}) {
		t.Errorf("line %v", fs[1].Geometry)
	}
	if c, ok := fs[2].Geometry.(orb.Collection); !ok || len(c) != 2 {
		t.Errorf("collection %v", fs[2].Geometry)
	}
}

func TestContains(t *testing.T) {
	p, err := ParsePolygon([]byte(polygon(ring(0, 0, 20, 0, 20, 10, 10, 10, 10, 20, 0, 20), square(2, 2, 4))), site)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name string
		e, n float64
		want bool
	}{
		{"inside", 15, 5, true}, {"in the hole", 4, 4, false}, {"in the notch", 15, 15, false},
		{"on a side", 20, 5, true}, {"on a corner", 10, 10, true}, {"on the hole's edge", 2, 3, true},
		{"level with a corner", -5, 10, false}, {"right of all", 30, 10, false}, {"between hole and side", 1, 2, true},
	} {
		if got := p.Contains(tt.e, tt.n); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

func TestDistance(t *testing.T) {
	box := orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}, {{4, 4}, {4, 6}, {6, 6}, {6, 4}, {4, 4}}}
	tests := []struct {
		name string
		a, b orb.Geometry
		want float64
	}{
		{"two points", orb.Point{0, 0}, orb.Point{3, 4}, 5},
		{"point beside a line", orb.Point{5, 3}, orb.LineString{{0, 0}, {10, 0}}, 3},
		{"point beyond a line's end", orb.Point{13, 4}, orb.LineString{{0, 0}, {10, 0}}, 5},
		{"point in an area", orb.Point{1, 1}, box, 0},
		{"point in its hole", orb.Point{5, 5}, box, 1},
		{"area to area", box, orb.Polygon{{{13, 14}, {20, 14}, {20, 20}, {13, 14}}}, 5},
		{"area inside an area", orb.Polygon{{{1, 1}, {2, 1}, {2, 2}, {1, 1}}}, box, 0},
		{"crossing lines", orb.LineString{{0, 0}, {10, 10}}, orb.LineString{{0, 10}, {10, 0}}, 0},
		{"several parts", orb.MultiPoint{{100, 0}, {12, 0}}, box, 2},
		{"second part inside", orb.MultiPoint{{100, 0}, {2, 2}}, box, 0},
		{"collections", orb.Collection{orb.Point{50, 0}, orb.LineString{{30, 0}, {40, 0}}}, orb.Collection{box}, 20},
		{"nothing", orb.MultiPoint{}, box, math.Inf(1)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, d := range []float64{Distance(tt.a, tt.b), Distance(tt.b, tt.a)} {
				if d != tt.want {
					t.Errorf("%v, want %v", d, tt.want)
				}
			}
		})
	}
}

func FuzzParsePolygon(f *testing.F) {
	for _, s := range []string{polygon(square(0, 0, 10), square(2, 2, 1)), polygon(ring(0, 0, 10, 10, 10, 0, 0, 10)),
		`{"type":"MultiPolygon","coordinates":[[` + square(0, 0, 10) + `],[` + square(10, 0, 10) + `]]}`,
		polygon(square(0, 0, 10), ring(3, 0, 7, 0, 7, 2, 3, 2)), `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":null}]}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ParsePolygon(data, site)
		if err != nil {
			return
		}
		sum, scale := 0.0, 1.0
		_, _, tris := p.Triangles()
		for _, tri := range tris {
			sum += ((tri[1].X-tri[0].X)*(tri[2].Y-tri[0].Y) - (tri[1].Y-tri[0].Y)*(tri[2].X-tri[0].X)) / 2
		}
		b := p.Rings().Bound()
		scale += (b.Max[0] - b.Min[0]) + (b.Max[1] - b.Min[1])
		// Corners move by up to a micrometre where rings touch.
		if area := p.AreaM2(); math.Abs(sum-area) > 1e-4*scale+1e-9*area {
			t.Fatalf("triangles cover %v, rings %v", sum, area)
		}
	})
}
