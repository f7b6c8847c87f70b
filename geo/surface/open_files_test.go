package surface

import (
	"bytes"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/geo/survey"
)

// The figures of this file were worked out with other programs from the files
// named, GDAL 3.6.2, NumPy 1.24.2 and SciPy 1.10.1, or stand in the files
// themselves, stated by the program that wrote them. Sources and licences:
// testdata/open/SOURCES.md. Files under the GPL are not part of the project;
// they are read from a folder beside it where there is one.

const open, beside = "../../testdata/open/", "../../../shared/data/open/"

// besides reads a file that may be missing.
func besides(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(beside + path)
	if errors.Is(err, os.ErrNotExist) {
		t.Skipf("%s is under the GPL and not part of the project; lay it beside it to run this test", path)
	}
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// aboveLowest is the volume between a surface and the level of its lowest point.
func aboveLowest(t *testing.T, s *Surface) float64 {
	t.Helper()
	low, _ := s.Levels()
	m, err := Stockpile(s, LevelBase(low), nil)
	if err != nil {
		t.Fatal(err)
	}
	return m.VolumeM3
}

// Areas and levels in US survey feet and square feet as published with the
// files; the volume is above the lowest point.
func TestLandXMLInUSSurveyFeet(t *testing.T) {
	const ft = 1200.0 / 3937.0
	for _, tt := range []struct {
		file                      string
		points, faces             int
		plan, slope, high, volume float64
	}{
		{"survey/tin_164pts_usft.xml", 164, 300, 3031776.118, 3047658.897, 551.728760, 103446633.309},
		{"survey/tin_1657pts_usft.xml", 1657, 3199, 3033985.925, 3047007.907, 548.918091, 102643110.210},
	} {
		t.Run(tt.file, func(t *testing.T) {
			s := readSurvey(t, open+tt.file)
			if len(s.Points) != tt.points || len(s.Faces) != tt.faces || s.Unit != survey.USSurveyFoot || s.Part != "surface" {
				t.Fatalf("%d points, %d faces, %s, part %q", len(s.Points), len(s.Faces), s.Unit, s.Part)
			}
			g := surfaceOf(t, s, Options{})
			near(t, "plan area, ft²", g.PlanAreaM2()/ft/ft, tt.plan, 1e-9)
			near(t, "slope area, ft²", g.SlopeAreaM2()/ft/ft, tt.slope, 1e-9)
			_, high := g.Levels()
			near(t, "highest, ft", high/ft, tt.high, 1e-9)
			near(t, "volume, ft³", aboveLowest(t, g)/ft/ft/ft, tt.volume, 1e-11)
		})
	}
}

// Plan and slope areas stand in the file, stated by the program that wrote it.
func TestLandXMLWithInvisibleFaces(t *testing.T) {
	data := besides(t, "survey/tin_three_surfaces_m.xml")
	_, err := survey.Read(bytes.NewReader(data), "three.xml", survey.Options{})
	var choice *survey.ChoiceError
	if !errors.As(err, &choice) || strings.Join(choice.Names, "") != "ABC" {
		t.Fatalf("without a choice: %v", err)
	}
	for _, tt := range []struct {
		name                string
		points, faces       int
		plan, slope, volume float64
	}{
		{"A", 29, 45, 782.534993295878, 787.571393159215, 469.3848},
		{"B", 92, 138, 276.288603169264, 285.932864395357, 169.9743},
		{"C", 143, 179, 106.922785151175, 116.345528954459, 67.0849},
	} {
		s, err := survey.Read(bytes.NewReader(data), "three.xml", survey.Options{Surface: tt.name})
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Points) != tt.points || len(s.Faces) != tt.faces || s.Unit != survey.Metre {
			t.Errorf("%s: %d points, %d faces, %s", tt.name, len(s.Points), len(s.Faces), s.Unit)
		}
		g := surfaceOf(t, s, Options{})
		near(t, tt.name+" plan area", g.PlanAreaM2(), tt.plan, 1e-9)
		near(t, tt.name+" slope area", g.SlopeAreaM2(), tt.slope, 1e-9)
		near(t, tt.name+" volume", aboveLowest(t, g), tt.volume, 1e-6)
	}
}

func TestDXFFacesWithoutLevels(t *testing.T) {
	s := readSurvey(t, open+"drawing/faces3d.dxf")
	if _, _, err := FromSurvey(s, Options{}); err == nil || !strings.Contains(err.Error(), "every level is 0") {
		t.Errorf("a flat drawing made a surface: %v", err)
	}
	g := surfaceOf(t, s, Options{AllowFlat: true})
	near(t, "area, mm²", g.PlanAreaM2()*1e6, 1853203.186, 1e-9)
}

func TestPointCloudGround(t *testing.T) {
	s := readSurvey(t, open+"pointcloud/lidar_1065pts.las")
	g, _, err := FromSurvey(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := len(g.Points()); n > 276 || n < 270 {
		t.Errorf("%d corners of 276 ground points", n)
	}
}

// The textbook survey: Delaunay triangles, hull area and the mean level over
// the hull from SciPy.
func TestTextbookSurvey(t *testing.T) {
	data := besides(t, "survey/davis_topo52.csv")
	var text strings.Builder
	for i, line := range strings.Split(strings.ReplaceAll(strings.TrimSpace(string(data)), `"`, ""), "\n") {
		f := strings.Split(strings.TrimSpace(line), ",")
		if i == 0 {
			text.WriteString("easting,northing,level\n")
			continue
		}
		text.WriteString(strings.Join(f, ",") + "\n")
	}
	s, err := survey.Read(strings.NewReader(text.String()), "davis", survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	g, _, err := FromSurvey(s, Options{NoFlags: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(g.Triangles()) != 87 {
		t.Errorf("%d triangles, want 87", len(g.Triangles()))
	}
	near(t, "hull", g.PlanAreaM2(), 35.99, 1e-9)
	m, err := Stockpile(g, LevelBase(0), nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean level over the hull", m.VolumeM3/g.PlanAreaM2(), 831.56849, 1e-8)
}

// 87 by 61 cells; volumes above the lowest level by both diagonals.
func TestVolcanoByBothDiagonals(t *testing.T) {
	data := besides(t, "terrain/volcano_10m.csv")
	read, err := survey.Read(bytes.NewReader(data), "volcano", survey.Options{CellM: 10})
	if err != nil {
		t.Fatal(err)
	}
	grid := read.Grid
	if grid.Rows != 87 || grid.Cols != 61 {
		t.Fatalf("%d rows of %d", grid.Rows, grid.Cols)
	}
	sum, low, high := 0.0, math.Inf(1), math.Inf(-1)
	for _, v := range grid.Levels {
		sum, low, high = sum+v, min(low, v), max(high, v)
	}
	if sum != 690907 || low != 94 || high != 195 {
		t.Errorf("levels %v to %v, sum %v", low, high, sum)
	}
	turned := &survey.Grid{Cols: 61, Rows: 87, DE: 10, DN: 10}
	for row := range 87 {
		for col := range 61 {
			turned.Levels = append(turned.Levels, grid.At(60-col, row)) // mirrored: the other diagonal
		}
	}
	var got [2]float64
	for i, g := range []*survey.Grid{grid, turned} {
		s := surfaceOf(t, &survey.Survey{Name: "volcano", Grid: g}, Options{})
		got[i] = aboveLowest(t, s)
	}
	if max(got[0], got[1]) != 19049050 || min(got[0], got[1]) != 19048950 {
		t.Errorf("volumes %v, want 19,049,050 and 19,048,950", got)
	}
}

// The grid of a whole country in degrees is read, but no surface is made of it.
func TestGeoTIFFInDegrees(t *testing.T) {
	data := besides(t, "terrain/country_elev_wgs84.tif")
	s, err := survey.Read(bytes.NewReader(data), "country.tif", survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := FromSurvey(s, Options{}); err == nil || !strings.Contains(err.Error(), "EPSG:4326") {
		t.Errorf("a surface in degrees: %v", err)
	}
	low, high, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, p := range s.Points {
		low, high, sum = min(low, p.Level), max(high, p.Level), sum+p.Level
	}
	if len(s.Points) != 4608 || low != 141 || high != 547 {
		t.Errorf("%d cells, %v to %v", len(s.Points), low, high)
	}
	near(t, "mean", sum/4608, 348.3365885, 1e-9)
	g := s.Grid
	near(t, "west", g.E0-g.DE/2, 5.74167, 1e-5)
	near(t, "south", g.N0-g.DN/2, 49.44167, 1e-5)
	near(t, "east", g.E0+(float64(g.Cols)-0.5)*g.DE, 6.53333, 1e-5)
	near(t, "north", g.N0+(float64(g.Rows)-0.5)*g.DN, 50.19167, 1e-5)
}
