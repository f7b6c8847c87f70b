package grid

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Source: testdata/reference/geo/zones_check.csv, cs2cs of PROJ 9.1.1 from each
// zone's own longitude and latitude, without any change of datum.
func TestZones(t *testing.T) {
	metres := map[string]float64{"m": 1, "us-ft": 1200.0 / 3937, "ft": 0.3048}
	n := 0
	for _, r := range rows(t, "zones_check.csv") {
		if r[0] == "epsg" {
			continue
		}
		code, err := strconv.Atoi(r[0])
		if err != nil {
			t.Fatal(err)
		}
		s, err := ByEPSG(code)
		if err != nil {
			t.Fatal(err)
		}
		lon, lat, k := number(t, r[1]), number(t, r[2]), metres[r[5]]
		e, nn := s.projection.Forward(lon, lat)
		if math.Hypot(e-number(t, r[3])*k, nn-number(t, r[4])*k) > 1.1e-4 {
			t.Errorf("%s: %.4f, %.4f m, want %.4f, %.4f", s.Name, e, nn, number(t, r[3])*k, number(t, r[4])*k)
		}
		backLon, backLat := s.projection.Inverse(e, nn)
		if math.Abs(backLon-lon) > 1e-11 || math.Abs(backLat-lat) > 1e-11 {
			t.Errorf("%s: back at %.12f, %.12f", s.Name, backLon, backLat)
		}
		if s.shift == nil {
			we, wn, err := s.FromWGS84(lon, lat)
			if err != nil || we != e || wn != nn {
				t.Errorf("%s: from WGS 84 %v, %v, %v", s.Name, we, wn, err)
			}
		}
		n++
	}
	if n < 190 || len(zones()) != n {
		t.Errorf("%d rows for %d zones", n, len(zones()))
	}
	for _, c := range Codes() {
		if _, err := ByEPSG(c); err != nil {
			t.Error(err)
		}
	}
}

// Source: EPSG guidance note 7-2, worked examples of methods 9802 (Texas South
// Central on NAD27, US survey feet) and 9801 (Jamaica), from memory; the way
// back and PROJ agree.
func TestLambertExamples(t *testing.T) {
	const ft = 1200.0 / 3937
	clarke := Ellipsoid{Name: "Clarke 1866", A: 20925832.16 * ft, InvF: 294.97870}
	texas := NewLambert2SP(clarke, 27+50.0/60, -99, 28+23.0/60, 30+17.0/60, 2000000*ft, 0)
	e, n := texas.Forward(-96, 28.5)
	if math.Abs(e/ft-2963503.91) > 0.01 || math.Abs(n/ft-254759.80) > 0.01 {
		t.Errorf("Texas: %.3f, %.3f ft", e/ft, n/ft)
	}
	jamaica := NewLambert1SP(Ellipsoid{Name: "Clarke 1866", A: 6378206.4, InvF: 294.97870}, 18, -77, 1, 250000, 150000)
	e, n = jamaica.Forward(-(76 + 56.0/60 + 37.26/3600), 17+55.0/60+55.80/3600)
	if math.Abs(e-255966.58) > 0.006 || math.Abs(n-142493.51) > 0.006 {
		t.Errorf("Jamaica: %.3f, %.3f m", e, n)
	}
	if k := jamaica.Scale(-77, 18); math.Abs(k-1) > 1e-14 {
		t.Errorf("scale on the standard parallel %v", k)
	}
	for _, lat := range []float64{28 + 23.0/60, 30 + 17.0/60} {
		if k := texas.Scale(-99, lat); math.Abs(k-1) > 1e-12 {
			t.Errorf("scale on a standard parallel %v", k)
		}
	}
	if k := texas.Scale(-99, 29.3); k >= 1 {
		t.Errorf("between the parallels the scale is %v", k)
	}
	south := NewLambert2SP(WGS84Ellipsoid, -30, 25, -25, -35, 0, 0)
	for _, p := range [][2]float64{{20, -28}, {33, -40}, {25, -30}} {
		lon, lat := south.Inverse(south.Forward(p[0], p[1]))
		if math.Abs(lon-p[0]) > 1e-12 || math.Abs(lat-p[1]) > 1e-12 {
			t.Errorf("south of the equator %v came back as %v, %v", p, lon, lat)
		}
	}
}

// Source: cs2cs of PROJ 9.1.1 from WGS 84 by the same seven parameters.
func TestZonesOnAnotherDatum(t *testing.T) {
	for _, tt := range []struct {
		code           int
		lon, lat, e, n float64
	}{{29903, -6.25, 53.35, 316585.86069, 234710.38117}, {29902, -9.5, 52, 97032.07720, 84110.40164}, {31467, 9, 48.5, 3500075.92054, 5373585.03917}, {31466, 7, 51.2, 2569936.55053, 5674372.46072}} {
		s, err := ByEPSG(tt.code)
		if err != nil {
			t.Fatal(err)
		}
		e, n, err := s.FromWGS84(tt.lon, tt.lat)
		if err != nil || math.Hypot(e-tt.e, n-tt.n) > 1e-3 {
			t.Errorf("%s: %.4f, %.4f, want %.4f, %.4f (%v)", s.Name, e, n, tt.e, tt.n, err)
		}
		lon, lat, err := s.ToWGS84(e, n)
		if err != nil || math.Abs(lon-tt.lon)+math.Abs(lat-tt.lat) > 1e-11 {
			t.Errorf("%s: back at %.12f, %.12f (%v)", s.Name, lon, lat, err)
		}
	}
	california, err := ByEPSG(2225)
	if err != nil || california.OwnUnit != "US survey ft" {
		t.Fatalf("%+v, %v", california, err)
	}
	if _, _, err := california.FromWGS84(-80, 40); err == nil {
		t.Error("a place in the east was taken in California")
	}
	if _, _, err := california.ToWGS84(9e6, 9e6); err == nil {
		t.Error("a plane position far away was taken in California")
	}
}

// Source: testdata/reference/geo/shiftgrid/check.csv, hgridshift of PROJ 9.1.1
// on the same two files; it keeps the shifts as single precision radians, good
// to some micrometres.
func TestShiftGrid(t *testing.T) {
	grids := map[string]*ShiftGrid{}
	for _, r := range rows(t, "shiftgrid/check.csv") {
		if r[0] == "file" {
			continue
		}
		g := grids[r[0]]
		if g == nil {
			data, err := os.ReadFile(reference + "shiftgrid/" + r[0])
			if err != nil {
				t.Fatal(err)
			}
			if g, err = ReadShiftGrid(bytes.NewReader(data), r[0]); err != nil {
				t.Fatal(err)
			}
			if g.From != "OSGB36" || g.To != "ETRS89" || len(g.SHA256) != 64 || math.Abs(g.AccuracyM-0.05) > 1e-6 {
				t.Errorf("%+v", g)
			}
			grids[r[0]] = g
		}
		lon, lat, err := g.Apply(number(t, r[1]), number(t, r[2]))
		if err != nil || math.Abs(lon-number(t, r[3])) > 1e-10 || math.Abs(lat-number(t, r[4])) > 1e-10 {
			t.Errorf("%s %s: %.12f, %.12f, want %s, %s (%v)", r[0], r[1:3], lon, lat, r[3], r[4], err)
		}
		backLon, backLat, err := g.Undo(lon, lat)
		if err != nil || math.Abs(backLon-number(t, r[1])) > 1e-11 || math.Abs(backLat-number(t, r[2])) > 1e-11 {
			t.Errorf("%s: back at %.12f, %.12f (%v)", r[0], backLon, backLat, err)
		}
	}
	g := grids["little.gsb"]
	var area *AreaError
	if _, _, err := g.Apply(5, 52); !errors.As(err, &area) {
		t.Errorf("outside the grid: %v", err)
	}
	gb, err := ByEPSG(27700)
	if err != nil {
		t.Fatal(err)
	}
	by, err := gb.WithShiftGrid(g)
	if err != nil || !strings.Contains(by.Way, g.SHA256) || by.AccuracyM > 0.06 {
		t.Fatalf("%+v, %v", by, err)
	}
	e, n, err := by.FromWGS84(-2.1, 52.33)
	if err != nil {
		t.Fatal(err)
	}
	lon, lat, err := by.ToWGS84(e, n)
	if err != nil || math.Abs(lon+2.1)+math.Abs(lat-52.33) > 1e-11 {
		t.Errorf("back at %v, %v, %v", lon, lat, err)
	}
	if _, _, err := by.FromWGS84(-6.5, 57); err == nil {
		t.Error("a place off the shift grid was taken")
	}
	if _, err := mustSystem(t, 32630).WithShiftGrid(g); err == nil {
		t.Error("a shift grid on WGS 84 itself")
	}
}

func mustSystem(t *testing.T, code int) *System {
	t.Helper()
	s, err := ByEPSG(code)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func FuzzReadShiftGrid(f *testing.F) {
	for _, name := range []string{"little.gsb", "big.gsb"} {
		data, err := os.ReadFile(reference + "shiftgrid/" + name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
		f.Add(data[:900])
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		g, err := ReadShiftGrid(bytes.NewReader(data), "f")
		if err != nil {
			return
		}
		for _, p := range [][2]float64{{-2, 52}, {0, 0}, {-4.9, 54.9}} {
			if lon, lat, err := g.Apply(p[0], p[1]); err == nil && math.IsNaN(lon+lat) {
				t.Fatalf("%v is shifted to %v, %v", p, lon, lat)
			}
		}
	})
}

// geoJSON reads rings and lines without package plan.
func geoJSON(t *testing.T, file string) []struct {
	Properties map[string]any
	Geometry   struct {
		Type        string
		Coordinates json.RawMessage
	}
} {
	t.Helper()
	data, err := os.ReadFile("../../testdata/open/geojson/" + file)
	if err != nil {
		t.Fatal(err)
	}
	var c struct {
		Features []struct {
			Properties map[string]any
			Geometry   struct {
				Type        string
				Coordinates json.RawMessage
			}
		}
	}
	if err := json.Unmarshal(data, &c); err != nil {
		t.Fatal(err)
	}
	return c.Features
}

// Source: ellipsoidal areas by pyproj 3.4.1 (GeographicLib's algorithm) on WGS
// 84, of the file named; see testdata/open/SOURCES.md.
func TestAreasOfZones(t *testing.T) {
	sum, low, high := 0.0, math.Inf(1), 0.0
	for i, f := range geoJSON(t, "zones_102_wgs84.geojson") {
		var parts [][][][2]float64
		if err := json.Unmarshal(f.Geometry.Coordinates, &parts); err != nil {
			t.Fatal(err)
		}
		area := 0.0
		for _, rings := range parts {
			a, err := WGS84Ellipsoid.Area(rings...)
			if err != nil {
				t.Fatal(err)
			}
			area += a
		}
		if i == 0 && math.Abs(area-5243758.895) > 0.005 {
			t.Errorf("zone 1: %.4f m², want 5,243,758.895", area)
		}
		sum, low, high = sum+area, min(low, area), max(high, area)
	}
	for what, v := range map[string][3]float64{"sum": {sum, 964236536.8, 60}, "least": {low, 559318.4, 0.06}, "largest": {high, 170003470.9, 0.06}} {
		if math.Abs(v[0]-v[1]) > v[2] {
			t.Errorf("%s: %.4f m², want %.1f", what, v[0], v[1])
		}
	}
}

// Source: geodesic lengths by pyproj 3.4.1 on WGS 84.
func TestLengthsOfStreams(t *testing.T) {
	sum := 0.0
	for _, f := range geoJSON(t, "stream_links_wgs84.geojson") {
		var lines [][][2]float64
		if f.Geometry.Type == "LineString" {
			lines = make([][][2]float64, 1)
			if err := json.Unmarshal(f.Geometry.Coordinates, &lines[0]); err != nil {
				t.Fatal(err)
			}
		} else if err := json.Unmarshal(f.Geometry.Coordinates, &lines); err != nil {
			t.Fatal(err)
		}
		for _, l := range lines {
			d, err := WGS84Ellipsoid.Length(l)
			if err != nil {
				t.Fatal(err)
			}
			sum += d
		}
	}
	if math.Abs(sum-45776.869) > 0.001 {
		t.Errorf("%.4f m, want 45,776.869", sum)
	}
}

// Source: GeographicLib 2.1.2, Planimeter.
func TestGeodesicBoxes(t *testing.T) {
	box := func(w, s, e, n float64) [][2]float64 { return [][2]float64{{w, s}, {e, s}, {e, n}, {w, n}} }
	for _, tt := range []struct {
		name       string
		ring       [][2]float64
		want, each float64
	}{
		{"500 m square", box(-1.5, 52.5, -1.492640, 52.504495), 249991.7, 0.05},
		{"0.001 degree", box(-1, 52, -0.999, 52.001), 7641.5, 0.05},
		{"1 degree", box(-1, 52, 0, 53), 7556565706, 0.6},
	} {
		got, err := WGS84Ellipsoid.Area(tt.ring)
		if err != nil || math.Abs(got-tt.want) > tt.each {
			t.Errorf("%s: %.3f m², want %v (%v)", tt.name, got, tt.want, err)
		}
	}
	// Splitting a box by a meridian changes nothing; the hemisphere's strip is
	// half the ellipsoid.
	whole, _ := WGS84Ellipsoid.Area(box(10, 45, 11, 46))
	west, _ := WGS84Ellipsoid.Area([][2]float64{{10, 45}, {11, 45}, {11, 46}})
	east, _ := WGS84Ellipsoid.Area([][2]float64{{10, 45}, {11, 46}, {10, 46}})
	if math.Abs(whole-west-east) > 1e-3 {
		t.Errorf("a box of %v m² is split into %v and %v", whole, west, east)
	}
	// Source: area of the WGS 84 ellipsoid, 510065621724000 m² (from memory, common figure).
	if half := 2 * math.Pi * WGS84Ellipsoid.strip(1); math.Abs(2*half-510065621724000) > 1e6 {
		t.Errorf("the ellipsoid has %.0f m²", 2*half)
	}
	across, err := WGS84Ellipsoid.Area(box(179.9, -1, -179.9, 1))
	here, _ := WGS84Ellipsoid.Area(box(-0.1, -1, 0.1, 1))
	if err != nil || math.Abs(across-here) > 1e-3 {
		t.Errorf("across the date line %v m², elsewhere %v (%v)", across, here, err)
	}
	for name, ring := range map[string][][2]float64{"round the pole": {{0, 80}, {90, 80}, {180, 80}, {-90, 80}}, "two corners": {{0, 0}, {1, 1}}, "half round the globe": {{0, 0}, {170, 0}, {170, 1}}} {
		if a, err := WGS84Ellipsoid.Area(ring); err == nil {
			t.Errorf("%s: %v m²", name, a)
		}
	}
}

// Source: Vincenty's check line of the Ordnance Survey and Geoscience Australia
// (Flinders Peak to Buninyong on GRS 80, 54972.271 m), from memory.
func TestDistance(t *testing.T) {
	dms := func(d, m, s float64) float64 { return d + m/60 + s/3600 }
	d, err := GRS80.Distance(dms(144, 25, 29.52440), -dms(37, 57, 3.72030), dms(143, 55, 35.38390), -dms(37, 39, 10.15610))
	if err != nil || math.Abs(d-54972.271) > 1e-3 {
		t.Errorf("%.4f m, want 54972.271 (%v)", d, err)
	}
	// A quarter of the meridian: 10,001,965.729 m on WGS 84.
	q := 0.0
	for lat := 0.0; lat < 89; lat++ {
		s, _ := WGS84Ellipsoid.Distance(7, lat, 7, lat+1)
		q += s
	}
	s, _ := WGS84Ellipsoid.Distance(7, 89, 7, 89.999999)
	if q += s; math.Abs(q-10001965.729) > 0.2 {
		t.Errorf("quarter of the meridian %.3f m", q)
	}
	if _, err := WGS84Ellipsoid.Distance(0, 0, 179, 0); !errors.Is(err, ErrFarApart) {
		t.Errorf("nearly opposite: %v", err)
	}
}

// Source: geo areal scale 0.99945593 at this place and geodesic area 249991.7
// m², by PROJ 9.1.1 and GeographicLib 2.1.2; ground area 31 ppm more for 100 m.
func TestAreasOnGridEllipsoidAndGround(t *testing.T) {
	s := mustSystem(t, 32630)
	var ring [][2]float64
	for _, p := range [][2]float64{{-1.5, 52.5}, {-1.492640, 52.5}, {-1.492640, 52.504495}, {-1.5, 52.504495}} {
		e, n, err := s.FromWGS84(p[0], p[1])
		if err != nil {
			t.Fatal(err)
		}
		ring = append(ring, [2]float64{e, n})
	}
	a, err := s.Areas(100, ring)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(a.GridM2-249855.624) > 0.02 || math.Abs(a.EllipsoidM2-249991.7) > 0.05 || math.Abs(a.Scale*a.Scale-0.99945593) > 2e-7 {
		t.Errorf("%+v", a)
	}
	if r := a.EllipsoidM2 * a.Scale * a.Scale / a.GridM2; math.Abs(r-1) > 1e-7 {
		t.Errorf("grid area over areal scale is off by %v", r-1)
	}
	if ppm := (a.GroundM2/a.EllipsoidM2 - 1) * 1e6; math.Abs(ppm-31.4) > 0.1 {
		t.Errorf("ground area %.2f ppm more", ppm)
	}
	if _, err := mustSystem(t, 3857).Areas(0, ring); err == nil {
		t.Error("an area from the web map")
	}
}

func TestSuspectControlPoint(t *testing.T) {
	pairs := controlPoints(t)
	good, err := FitSimilarity(pairs, false)
	if err != nil {
		t.Fatal(err)
	}
	if p, found := good.Suspect(); found || good.Acceptable() != nil {
		t.Errorf("a good fit suspects %+v, %v", p, good.Acceptable())
	}
	pairs[2].GridE += 0.120
	bad, err := FitSimilarity(pairs, false)
	if err != nil {
		t.Fatal(err)
	}
	p, found := bad.Suspect()
	if !found || p.Name != pairs[2].Name || p.RMSWithout > 0.008 {
		t.Errorf("suspected %+v, %v", p, found)
	}
	if err := bad.Acceptable(); err != nil {
		t.Errorf("45 mm is below the limit: %v", err)
	}
	pairs[2].GridE += 0.120
	worse, _ := FitSimilarity(pairs, false)
	if err := worse.Acceptable(); err == nil || !strings.Contains(err.Error(), pairs[2].Name) {
		t.Errorf("refused with %v", err)
	}
	two, _ := FitSimilarity(pairs[:2], false)
	if err := two.Acceptable(); err == nil || !strings.Contains(err.Error(), "third") {
		t.Errorf("two points: %v", err)
	}
}
