package grid

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

const reference = "../../testdata/reference/geo/"

func rows(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open(reference + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1 // some notes hold a comma
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[1:]
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Source: testdata/reference/geo/coords_check.csv, PROJ 9.1.1 with the network
// off and no shift grid. Projections to 0.1 mm, ways through the
// seven-parameter shift to 1 mm, both ways.
func TestCoordinateRows(t *testing.T) {
	n := 0
	for _, r := range rows(t, "coords_check.csv") {
		n++
		name := strings.Join(r[:4], " ")
		code, _ := strconv.Atoi(r[1])
		s, err := ByEPSG(code)
		if err != nil {
			t.Fatal(err)
		}
		lat, lon, wantE, wantN := number(t, r[2]), number(t, r[3]), number(t, r[4]), number(t, r[5])
		if r[0] == "4277" { // latitude and longitude of the grid's own datum
			e, nn := s.projection.Forward(lon, lat)
			if math.Hypot(e-wantE, nn-wantN) > 1e-4 {
				t.Errorf("%s: %.4f, %.4f, want %.4f, %.4f", name, e, nn, wantE, wantN)
			}
			continue
		}
		tolerance := 1e-4
		if s.shift != nil {
			tolerance = 1e-3
		}
		e, nn, err := s.FromWGS84(lon, lat)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if math.Hypot(e-wantE, nn-wantN) > tolerance {
			t.Errorf("%s: %.4f, %.4f, want %.4f, %.4f", name, e, nn, wantE, wantN)
		}
		backLon, backLat, err := s.ToWGS84(e, nn)
		if err != nil || math.Abs(backLon-lon) > 1e-11 || math.Abs(backLat-lat) > 1e-11 {
			t.Errorf("%s: back at %.12f, %.12f (%v)", name, backLon, backLat, err)
		}
	}
	if n != 33 {
		t.Errorf("%d rows, want 33", n)
	}
}

// Fifteen degrees off the meridian only a high order gets this right.
// Source: PROJ 9.1.1 for EPSG:32630 at (12, 52).
func TestFarFromTheMeridian(t *testing.T) {
	s, err := ByEPSG(32630)
	if err != nil {
		t.Fatal(err)
	}
	e, n, err := s.FromWGS84(12, 52)
	if err != nil || math.Hypot(e-1526795.4562, n-5868029.9028) > 1e-4 {
		t.Errorf("%.4f, %.4f, %v", e, n, err)
	}
}

// Source: EPSG guidance note 7-2, worked examples of methods 9606 and 9602,
// answers as computed with PROJ 9.1.1.
func TestDatumExamples(t *testing.T) {
	wgs72 := XYZ{3657660.66, 255768.55, 5201382.11}
	h := Helmert{TZ: 4.5, RZ: 0.554, PPM: 0.219}
	got := h.Apply(wgs72)
	if d := math.Abs(got.X-3657660.774) + math.Abs(got.Y-255778.430) + math.Abs(got.Z-5201387.749); d > 2e-3 {
		t.Errorf("position vector: %+v", got)
	}
	wgs72Ellipsoid := Ellipsoid{Name: "WGS 72", A: 6378135, InvF: 298.26}
	lon, lat, height := WGS84Ellipsoid.Geographic(h.Apply(wgs72Ellipsoid.Geocentric(4, 55, 0)))
	if math.Abs(lat-55.000024885) > 1e-9 || math.Abs(lon-4.000153889) > 1e-9 || math.Abs(height-3.218) > 1e-3 {
		t.Errorf("geographic: %.9f %.9f %.4f", lat, lon, height)
	}
	if back := h.Undo(got); math.Abs(back.X-wgs72.X)+math.Abs(back.Y-wgs72.Y)+math.Abs(back.Z-wgs72.Z) > 1e-8 {
		t.Errorf("undone: %+v", back)
	}
	p := WGS84Ellipsoid.Geocentric(2+7.0/60+46.380/3600, 53+48.0/60+33.820/3600, 73)
	if math.Abs(p.X-3771793.968)+math.Abs(p.Y-140253.342)+math.Abs(p.Z-5124304.349) > 2e-3 {
		t.Errorf("geocentric: %+v", p)
	}
}

// Source: PROJ 9.1.1 `proj -V`, areal scale near 52.502 N 1.496 W.
func TestArealScale(t *testing.T) {
	for code, want := range map[int]float64{27700: 0.99923142, 32630: 0.99945593} {
		s, err := ByEPSG(code)
		if err != nil {
			t.Fatal(err)
		}
		k := s.Scale(-1.49632, 52.5022475)
		if math.Abs(k*k-want) > 2e-7 {
			t.Errorf("EPSG:%d: areal scale %.8f, want %.8f", code, k*k, want)
		}
		// The scale is what distances say: a step of a metre or so north.
		e0, n0 := s.projection.Forward(-1.5, 52.5)
		e1, n1 := s.projection.Forward(-1.5, 52.50001)
		f := s.projection.figure().flattening()
		e2, sin := f*(2-f), math.Sin(52.500005*math.Pi/180)
		meridian := s.projection.figure().A * (1 - e2) / math.Pow(1-e2*sin*sin, 1.5) * 0.00001 * math.Pi / 180
		if got := math.Hypot(e1-e0, n1-n0) / meridian; math.Abs(got-s.Scale(-1.5, 52.500005)) > 1e-7 {
			t.Errorf("EPSG:%d: scale %.9f, by distance %.9f", code, s.Scale(-1.5, 52.5), got)
		}
	}
}

func TestThereAndBack(t *testing.T) {
	for _, code := range []int{27700, 2157, 32630, 32733, 25832, 3857} {
		s, err := ByEPSG(code)
		if err != nil {
			t.Fatal(err)
		}
		meridian := 0.0
		if s.projection != nil {
			meridian = s.projection.meridian()
		}
		n := 0
		for lat := -75.0; lat <= 80; lat += 2.5 {
			for d := -6.0; d <= 6; d += 0.75 {
				e, nn, err := s.FromWGS84(meridian+d, lat)
				var area *AreaError
				if errors.As(err, &area) {
					continue
				}
				lon, back, err := s.ToWGS84(e, nn)
				if err != nil || math.Abs(lon-meridian-d)*math.Cos(lat*math.Pi/180) > 1e-11 || math.Abs(back-lat) > 1e-11 {
					t.Fatalf("EPSG:%d: %v, %v came back as %v, %v (%v)", code, meridian+d, lat, lon, back, err)
				}
				n++
			}
		}
		if n < 15 {
			t.Errorf("EPSG:%d: only %d places tried", code, n)
		}
	}
}

func TestOutsideTheArea(t *testing.T) {
	tests := []struct {
		code     int
		lon, lat float64
	}{{27700, 10, 52}, {27700, -1, 40}, {27700, 52.5, -1.5}, {32630, 30, 52}, {2157, 5, 53}, {3857, 0, 89}, {32630, 200, 5}, {32630, math.NaN(), 5}}
	for _, tt := range tests {
		s, err := ByEPSG(tt.code)
		if err != nil {
			t.Fatal(err)
		}
		if e, n, err := s.FromWGS84(tt.lon, tt.lat); err == nil {
			t.Errorf("EPSG:%d took %v, %v as %v, %v", tt.code, tt.lon, tt.lat, e, n)
		}
	}
	if _, err := ByEPSG(4326); err == nil {
		t.Error("EPSG:4326 is no plane grid")
	}
}

func controlPoints(t *testing.T) []Pair {
	var pairs []Pair
	for _, r := range rows(t, "control_points.csv") {
		pairs = append(pairs, Pair{r[0], number(t, r[1]), number(t, r[2]), number(t, r[3]), number(t, r[4])})
	}
	return pairs
}

// Source: testdata/reference/geo/README.md, least squares with NumPy 1.24.2.
func TestFitSimilarity(t *testing.T) {
	s, err := FitSimilarity(controlPoints(t), false)
	if err != nil {
		t.Fatal(err)
	}
	for name, v := range map[string][3]float64{
		"a": {s.A, 0.991451729, 1e-9}, "b": {s.B, 0.127405381, 1e-9}, "tx": {s.TX, 433600.0492, 1e-4}, "ty": {s.TY, 286999.9961, 1e-4},
		"ppm": {s.ScalePPM, -395.75, 0.01}, "rotation": {s.RotationDeg, 7.3225986, 1e-7}, "rms": {s.RMSM * 1000, 7.62, 0.005}, "unit": {s.UnitM * 1000, 6.96, 0.005},
	} {
		if math.Abs(v[0]-v[1]) > v[2] {
			t.Errorf("%s: %.9f, want %.9f", name, v[0], v[1])
		}
	}
	for i, want := range [][2]float64{{1.84, -1.92}, {-10.42, -1.97}, {8.51, 5.63}, {-1.81, -6.29}, {1.87, 4.55}} {
		if r := s.Residuals[i]; math.Abs(r.E*1000-want[0]) > 0.006 || math.Abs(r.N*1000-want[1]) > 0.006 {
			t.Errorf("%s: %+.2f/%+.2f mm, want %+.2f/%+.2f", r.Name, r.E*1000, r.N*1000, want[0], want[1])
		}
	}
	e, n := s.ToGrid(1100, 2100)
	if math.Abs(e-434423.0948) > 1e-4 || math.Abs(n-289222.1906) > 1e-4 {
		t.Errorf("(1100, 2100) is %.4f, %.4f", e, n)
	}
	if x, y := s.ToSite(e, n); math.Hypot(x-1100, y-2100) > 1e-8 {
		t.Errorf("back at %v, %v", x, y)
	}
	if !s.Checked {
		t.Error("five points are a check")
	}
}

func TestFitWithScaleHeldAndBlunder(t *testing.T) {
	pairs := controlPoints(t)
	held, err := FitSimilarity(pairs, true)
	if err != nil || math.Abs(held.RMSM*1000-87.15) > 0.005 || math.Abs(held.RotationDeg-7.3225986) > 1e-7 || math.Abs(held.ScalePPM) > 1e-6 {
		t.Errorf("held: rms %.2f mm, rotation %.7f, %v", held.RMSM*1000, held.RotationDeg, err)
	}
	pairs[2].GridE += 0.120
	s, err := FitSimilarity(pairs, false)
	if err != nil || math.Abs(s.RMSM*1000-45.43) > 0.005 || math.Abs(s.Residuals[2].E*1000-75.04) > 0.005 {
		t.Errorf("spoiled: rms %.2f mm, SC3 %.2f, %v", s.RMSM*1000, s.Residuals[2].E*1000, err)
	}
	// Dropping the guilty point brings the rms down; dropping another does not.
	for i, r := range s.Residuals {
		if good := r.RMSIf < 0.010; good != (i == 2) {
			t.Errorf("without %s the rms is %.1f mm", r.Name, r.RMSIf*1000)
		}
	}
}

func TestFitOfTwoPoints(t *testing.T) {
	s, err := FitSimilarity([]Pair{{"A", 1000, 2000, 434039.457, 289239.281}, {"B", 1400, 2300, 434411.512, 289573.402}}, false)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.A-0.9962332) > 1e-9 || math.Abs(s.B-0.0881276) > 1e-9 || math.Abs(s.RotationDeg-5.0552723) > 1e-7 || s.Checked {
		t.Errorf("%+v", s)
	}
	if e, n := s.ToGrid(1250, 2150); math.Abs(e-434275.2962) > 1e-4 || math.Abs(n-289410.7479) > 1e-4 {
		t.Errorf("(1250, 2150) is %.4f, %.4f", e, n)
	}
	for _, pairs := range [][]Pair{nil, {{"A", 1, 2, 3, 4}}, {{"A", 1, 2, 3, 4}, {"B", 1, 2, 3, 4}}, {{"A", 1, 2, 3, 4}, {"B", math.NaN(), 2, 3, 5}}} {
		if _, err := FitSimilarity(pairs, false); err == nil {
			t.Errorf("%v was fitted", pairs)
		}
	}
}
