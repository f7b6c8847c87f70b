package plan

import (
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func area(t testing.TB, rings ...orb.Ring) *Polygon {
	t.Helper()
	p, err := NewPolygon(orb.MultiPolygon{rings}, "area")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func box(e0, n0, e1, n1 float64) orb.Ring {
	return orb.Ring{{e0, n0}, {e1, n0}, {e1, n1}, {e0, n1}, {e0, n0}}
}

func TestOverlapsAndUnion(t *testing.T) {
	a, b, c := area(t, box(430000, 310000, 430100, 310050)), area(t, box(430090, 310040, 430130, 310060)), area(t, box(430100, 310000, 430140, 310040))
	hole := area(t, box(430000, 310000, 430100, 310100), box(430020, 310020, 430080, 310080))
	inHole := area(t, box(430030, 310030, 430070, 310070))
	for _, tt := range []struct {
		name     string
		areas    []*Polygon
		overlaps []float64
		union    float64
	}{
		{"alone", []*Polygon{a}, nil, 5000},
		{"a corner shared", []*Polygon{a, b}, []float64{100}, 5700},
		{"a side shared is no overlap", []*Polygon{a, c}, nil, 6600},
		{"three", []*Polygon{a, b, c}, []float64{100}, 7300},
		{"the same twice", []*Polygon{a, a}, []float64{5000}, 5000},
		{"in a hole", []*Polygon{hole, inHole}, nil, 6400 + 1600},
		{"over a hole's edge", []*Polygon{hole, a}, []float64{5000 - 60*30}, 6400 + 60*30},
	} {
		names := []string{"A", "B", "C"}[:len(tt.areas)]
		got := Overlaps(names, tt.areas)
		if len(got) != len(tt.overlaps) {
			t.Errorf("%s: %+v", tt.name, got)
			continue
		}
		for i, o := range got {
			if math.Abs(o.AreaM2-tt.overlaps[i]) > 1e-6 || o.A != "A" || o.B != "B" {
				t.Errorf("%s: %+v, want %v m²", tt.name, o, tt.overlaps[i])
			}
		}
		if u, err := UnionM2(tt.areas...); err != nil || math.Abs(u-tt.union) > 1e-6 {
			t.Errorf("%s: together %v m², want %v (%v)", tt.name, u, tt.union, err)
		}
	}
}

// Of two areas: union = both less what they share. Of several: no less than the
// largest, no more than the sum, and the order changes nothing.
func TestUnionOfRandomBoxes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		var areas []*Polygon
		sum, largest := 0.0, 0.0
		for range 2 + r.IntN(4) {
			e, n := 600000+100*r.Float64(), 5500000+100*r.Float64()
			p := area(t, box(e, n, e+5+40*r.Float64(), n+5+40*r.Float64()))
			areas = append(areas, p)
			sum, largest = sum+p.AreaM2(), max(largest, p.AreaM2())
		}
		two, err := UnionM2(areas[:2]...)
		if err != nil {
			t.Fatal(err)
		}
		shared := 0.0
		for _, o := range Overlaps([]string{"A", "B"}, areas[:2]) {
			shared = o.AreaM2
		}
		if math.Abs(two-(areas[0].AreaM2()+areas[1].AreaM2()-shared)) > leastOverlapM2 {
			t.Fatalf("together %v m², apart %v and %v, shared %v", two, areas[0].AreaM2(), areas[1].AreaM2(), shared)
		}
		all, err := UnionM2(areas...)
		if err != nil || all < largest-1e-6 || all > sum+1e-6 {
			t.Fatalf("together %v m² of %v, the largest %v (%v)", all, sum, largest, err)
		}
		r.Shuffle(len(areas), func(i, k int) { areas[i], areas[k] = areas[k], areas[i] })
		if again, err := UnionM2(areas...); err != nil || math.Abs(again-all) > 1e-6 {
			t.Fatalf("in another order %v m², before %v (%v)", again, all, err)
		}
	}
}

func TestNotesAndDateLine(t *testing.T) {
	fs, err := ReadFeatures(strings.NewReader(`{"type":"Feature","properties":{"code":"A"},"geometry":{"type":"Polygon","coordinates":[[[0,0],[9,0],[9,0],[9,9],[0,0]]]}}`), site)
	if err != nil || len(fs[0].Notes) != 1 || !strings.Contains(fs[0].Notes[0], "positions 2 and 3 are the same") {
		t.Errorf("%+v, %v", fs, err)
	}
	_, err = ReadFeatures(strings.NewReader(`{"type":"Feature","properties":{"code":"A"},"geometry":{"type":"LineString","coordinates":[[179.5,1],[-179.5,1]]}}`), Options{})
	if err == nil || !strings.Contains(err.Error(), "antimeridian") {
		t.Errorf("over the date line: %v", err)
	}
	if _, err := ReadFeatures(strings.NewReader(`{"type":"LineString","coordinates":[[0,0],[500000,1]]}`), site); err != nil {
		t.Errorf("a long line in metres: %v", err)
	}
}

// A ring in projected metres, against RFC 7946; under the GPL and read from
// beside the project where it is there.
func TestProjectedRingIsNotTakenForDegrees(t *testing.T) {
	data, err := os.ReadFile("../../../shared/data/open/geojson/floodplain_boundary_epsg28992.geojson")
	if os.IsNotExist(err) {
		t.Skip("floodplain_boundary_epsg28992.geojson is under the GPL and not part of the project; lay it beside it to run this test")
	}
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ReadFeatures(strings.NewReader(string(data)), Options{Name: "floodplain"}); err == nil || !strings.Contains(err.Error(), "metres") && !strings.Contains(err.Error(), "site's grid") {
		t.Errorf("taken for degrees: %v", err)
	}
	p, err := ParsePolygon(data, Options{Name: "floodplain", Frame: FrameSite})
	if err != nil || math.Abs(p.AreaM2()-4964800) > 1e-6 {
		t.Errorf("in its own metres: %v", err)
	}
}
