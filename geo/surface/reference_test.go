package surface

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
)

// The expected figures of this file come from testdata/reference/geo/README.md
// and were not made with this program: t1 to t3 worked by hand, t4 and t5 in
// exact rational arithmetic and again by polygon intersection, t6 in two
// independent ways; triangle sets by another triangulator, checked exactly.

const reference, terrain = "../../testdata/reference/geo/", "../../testdata/open/terrain/"

func load(t testing.TB, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func readSurvey(t testing.TB, path string) *survey.Survey {
	t.Helper()
	s, err := survey.Read(bytes.NewReader(load(t, path)), path, survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func surfaceOf(t testing.TB, s *survey.Survey, opts Options) *Surface {
	t.Helper()
	out, warnings, err := FromSurvey(s, opts)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range warnings {
		t.Errorf("%s: line %d: %s", s.Name, w.Row, w.Text)
	}
	return out
}

func fromFile(t testing.TB, file, breaklines string) *Surface {
	t.Helper()
	s := readSurvey(t, reference+file)
	opts := Options{NoFlags: true}
	if breaklines != "" {
		lines, err := survey.ReadBreaklines(bytes.NewReader(load(t, reference+breaklines)), breaklines, s)
		if err != nil {
			t.Fatal(err)
		}
		opts.Breaklines = lines
	}
	return surfaceOf(t, s, opts)
}

func boundary(t testing.TB, file string) *plan.Polygon {
	t.Helper()
	rings, err := survey.ReadBoundary(bytes.NewReader(load(t, reference+file)), file)
	if err != nil {
		t.Fatal(err)
	}
	p, err := boundaryOf(&survey.Survey{Name: file, Boundary: rings})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func rectangle(t testing.TB, e0, n0, e1, n1 float64) *plan.Polygon {
	t.Helper()
	p, err := plan.NewPolygon(orb.MultiPolygon{{{{e0, n0}, {e1, n0}, {e1, n1}, {e0, n1}, {e0, n0}}}}, "rectangle")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// near compares to a relative tolerance, absolute below 1.
func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*max(1, math.Abs(want))) {
		t.Errorf("%s: %.12g, want %.12g (off by %.3g)", what, got, want, got-want)
	}
}

// t1 asks what it takes to bring the tilted plane to level 101: the level is
// the later surface. Seen from the level, fill and cut change places.
func TestT1PlaneToLevel(t *testing.T) {
	points := readSurvey(t, reference+"t1_plane.csv")
	plane := surfaceOf(t, points, Options{})
	for i := range points.Points {
		points.Points[i].Level = 101
	}
	to, err := Compare(plane, surfaceOf(t, points, Options{}), nil, CompareOptions{})
	if err != nil {
		t.Fatal(err)
	}
	over, err := AboveLevel(plane, 101, nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, d := range map[string]Difference{"to the level": to,
		"over the level": {FillM3: over.CutM3, CutM3: over.FillM3, NetM3: -over.NetM3, FillAreaM2: over.CutAreaM2, CutAreaM2: over.FillAreaM2, MinDzM: -over.MaxDzM, MaxDzM: -over.MinDzM}} {
		near(t, name+": fill", d.FillM3, 12080.0/3, 1e-12)
		near(t, name+": cut", d.CutM3, 2480.0/3, 1e-12)
		near(t, name+": net", d.NetM3, 3200, 1e-12)
		near(t, name+": fill area", d.FillAreaM2, 5600, 1e-12)
		near(t, name+": cut area", d.CutAreaM2, 2400, 1e-12)
		near(t, name+": lowest dz", d.MinDzM, -1, 1e-12)
		near(t, name+": highest dz", d.MaxDzM, 1.8, 1e-12)
	}
}

func TestT2StockpileWithBreaklines(t *testing.T) {
	s := fromFile(t, "t2_stockpile_points.csv", "t2_stockpile_breaklines.csv")
	near(t, "slope area", s.SlopeAreaM2(), 1366.190379, 1e-9)
	for name, base := range map[string]Base{"level": LevelBase(50), "toe": ToeFromSurface()} {
		m, err := Stockpile(s, base, rectangle(t, 430100, 310100, 430140, 310130))
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+": volume", m.VolumeM3, 3800, 1e-12)
		near(t, name+": plan area", m.PlanAreaM2, 1200, 1e-12)
		near(t, name+": footprint", m.FootprintM2, 1200, 1e-12)
		near(t, name+": height", m.HeightM, 6, 1e-12)
		near(t, name+": steepest face, 6 up over 10", m.SteepestFaceRatio, 0.6, 1e-12)
	}
}

func TestT3RidgeNeedsItsBreakline(t *testing.T) {
	for lines, want := range map[string]float64{"t3_ridge_breaklines.csv": 1080, "": 288} {
		d, err := AboveLevel(fromFile(t, "t3_ridge_points.csv", lines), 10, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "breaklines "+lines, d.FillM3, want, 1e-12)
		near(t, "area", d.PlanAreaM2, 720, 1e-12)
		if d.CutM3 != 0 || d.CutAreaM2 != 0 {
			t.Errorf("cut %v over %v m², want none", d.CutM3, d.CutAreaM2)
		}
	}
}

var tolerance15 = CompareOptions{ToleranceM: 0.15, AccuracyM: 0.02}

func TestT4(t *testing.T) {
	pre, post := fromFile(t, "t4_pre.csv", ""), fromFile(t, "t4_post.csv", "")
	d, err := Compare(pre, post, nil, tolerance15)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", d.FillM3, 7568.852093260, 1e-12)
	near(t, "cut", d.CutM3, 11804.527101802, 1e-12)
	near(t, "net", d.NetM3, -4235.675008542, 1e-12)
	near(t, "fill area", d.FillAreaM2, 15392.393549108, 1e-12)
	near(t, "cut area", d.CutAreaM2, 14607.606450892, 1e-12)
	near(t, "tolerance area", d.Band.WithinAreaM2, 19767.595098297, 1e-12)
	near(t, "area", d.PlanAreaM2, 30000, 1e-12)
	near(t, "lowest dz", d.MinDzM, -4.975504916, 1e-9)
	near(t, "highest dz", d.MaxDzM, 5.857931186, 1e-9)
	if d.Pieces != 5446 {
		t.Errorf("%d pieces, want 5446", d.Pieces)
	}
	if d.OnlyBeforeM2 != 0 || d.OnlyAfterM2 != 0 {
		t.Errorf("areas on one surface only: %v, %v", d.OnlyBeforeM2, d.OnlyAfterM2)
	}
	near(t, "slope area before", pre.SlopeAreaM2(), 30478.554437, 1e-10)
	near(t, "slope area after", post.SlopeAreaM2(), 30632.566954, 1e-10)
	prism := func(s *Surface) float64 {
		p, err := AboveLevel(s, 50, nil)
		if err != nil {
			t.Fatal(err)
		}
		return p.NetM3
	}
	near(t, "prism before", prism(pre), 387991.523010436, 1e-12)
	near(t, "prism after", prism(post), 383755.848001894, 1e-12)
	near(t, "net as a difference of prisms", prism(post)-prism(pre), d.NetM3, 1e-9)
}

func TestT4TriangleSets(t *testing.T) {
	for _, which := range []string{"pre", "post"} {
		s := readSurvey(t, reference+"t4_"+which+".csv")
		want, err := survey.ReadFaces(bytes.NewReader(load(t, reference+"t4_"+which+"_tin.csv")), which, s)
		if err != nil {
			t.Fatal(err)
		}
		given := *s
		given.Faces = want
		if got, want := triangleSet(surfaceOf(t, s, Options{})), triangleSet(surfaceOf(t, &given, Options{})); !slices.Equal(got, want) {
			t.Errorf("t4_%s: %d triangles, want the %d given", which, len(got), len(want))
		}
	}
}

// triangleSet lists triangles by the places of their corners, sorted.
func triangleSet(s *Surface) []string {
	var out []string
	pts := s.Points()
	for _, tri := range s.Triangles() {
		k := 0
		for i := range 3 {
			if p, q := pts[tri[i]], pts[tri[k]]; p.E < q.E || (p.E == q.E && p.N < q.N) {
				k = i
			}
		}
		text := ""
		for i := range 3 {
			p := pts[tri[(k+i)%3]]
			text += fmt.Sprintf("%.3f %.3f;", p.E, p.N)
		}
		out = append(out, text)
	}
	slices.Sort(out)
	return out
}

func TestT5InsideABoundaryWithAHole(t *testing.T) {
	within := boundary(t, "t5_boundary.csv")
	d, err := Compare(fromFile(t, "t4_pre.csv", ""), fromFile(t, "t4_post.csv", ""), within, tolerance15)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", d.FillM3, 230.517019970, 1e-11)
	near(t, "cut", d.CutM3, 6441.745763488, 1e-12)
	near(t, "fill area", d.FillAreaM2, 5300.002048961, 1e-11)
	near(t, "cut area", d.CutAreaM2, 6899.997951039, 1e-11)
	near(t, "tolerance area", d.Band.WithinAreaM2, 8123.691634260, 1e-12)
	near(t, "area", d.PlanAreaM2, 12200, 1e-12)
	if d.UncoveredM2 != 0 {
		t.Errorf("uncovered %v", d.UncoveredM2)
	}
}

func TestT6(t *testing.T) {
	pre, post := fromFile(t, "t6_pre.csv", ""), fromFile(t, "t6_post.csv", "")
	if len(pre.tri) != 15994 || len(post.tri) != 13994 {
		t.Errorf("%d and %d triangles, want 15994 and 13994", len(pre.tri), len(post.tri))
	}
	d, err := Compare(pre, post, nil, tolerance15)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", d.FillM3, 29242.183114710, 1e-12)
	near(t, "cut", d.CutM3, 32060.338243295, 1e-12)
	near(t, "net", d.NetM3, -2818.155128585, 1e-11)
	near(t, "fill area", d.FillAreaM2, 71413.257883, 1e-11)
	near(t, "cut area", d.CutAreaM2, 72586.742117, 1e-11)
	near(t, "tolerance area", d.Band.WithinAreaM2, 118586.307362, 1e-11)
	near(t, "lowest dz", d.MinDzM, -5.995718869, 1e-9)
	near(t, "highest dz", d.MaxDzM, 7.436359196, 1e-9)
	if d.Pieces != 85520 {
		t.Errorf("%d pieces, want 85520", d.Pieces)
	}
}

// hillside returns the surface before a slope failure and after it: before
// plus the observed change, before where the change has no data.
func hillside(t testing.TB) (before, after *survey.Survey, change *survey.Grid) {
	t.Helper()
	before = readSurvey(t, terrain+"hillside_before_10m.asc")
	change = readSurvey(t, terrain+"hillside_change_10m.asc").Grid
	g := *before.Grid
	g.Levels = slices.Clone(g.Levels)
	for i, v := range change.Levels {
		if !math.IsNaN(v) {
			g.Levels[i] += v
		}
	}
	after = &survey.Survey{Name: "after", Format: survey.FormatASCIIGrid, Grid: &g, Points: g.Points()}
	return before, after, change
}

// The cell sums are published with the data set: sums over the cells of the
// change grid, 100 m² each. Sampled at the cell centres our surfaces must give
// them back.
func TestHillsideRaster(t *testing.T) {
	b, a, change := hillside(t)
	before, after := surfaceOf(t, b, Options{}), surfaceOf(t, a, Options{})
	f := Frame{change.Cols, change.Rows, change.E0, change.N0, change.DE, change.DN}
	g := DifferenceRaster(before, after, nil, f)
	var fill, cut float64
	cells := 0
	for _, dz := range g.Levels {
		if math.IsNaN(dz) || math.Abs(dz) < 1e-9 {
			continue
		}
		cells++
		fill, cut = fill+max(dz, 0)*100, cut+max(-dz, 0)*100
	}
	if cells != 224 {
		t.Errorf("%d cells changed, want 224", cells)
	}
	near(t, "fill", fill, 22542.77, 1e-6)
	near(t, "cut", cut, 26406.60, 1e-6)
	near(t, "net", fill-cut, -3863.83, 2e-6)
}

// The exact figures of the two surfaces, of triangles between cell centres.
// Both have the same triangles, so an independent sum over single triangles,
// in Python 3.11 floats with math.fsum, gives the same to the digits shown.
func TestHillsideExact(t *testing.T) {
	b, a, _ := hillside(t)
	d, err := Compare(surfaceOf(t, b, Options{}), surfaceOf(t, a, Options{}), nil, CompareOptions{ToleranceM: 0.5})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "fill", d.FillM3, 21743.090301615826, 1e-12)
	near(t, "cut", d.CutM3, 25606.923026615827, 1e-12)
	near(t, "net", d.NetM3, -3863.832725, 1e-11)
	near(t, "area", d.PlanAreaM2, 943800, 1e-12)
	near(t, "fill area", d.FillAreaM2, 19094.563985322846, 1e-11)
	near(t, "cut area", d.CutAreaM2, 13355.436014677156, 1e-11)
	near(t, "area within 0.5 m", d.Band.WithinAreaM2, 925892.3111704383, 1e-12)
	near(t, "share within 0.5 m", d.Band.WithinShare, 0.9810259707251943, 1e-12)
	near(t, "lowest dz", d.MinDzM, -15.6922, 1e-9)
	near(t, "highest dz", d.MaxDzM, 7.819817, 1e-6)
}
