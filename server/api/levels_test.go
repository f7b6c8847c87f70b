package api

import (
	"fmt"
	"math"
	"net/url"
	"os"
	"testing"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/server/app"
)

// fromFile makes a surface of a survey file as the levels command does.
func fromFile(t *testing.T, name string) *surface.Surface {
	t.Helper()
	f, err := os.Open("../../testdata/sites/real-inputs/surveys/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	s, err := survey.Read(f, name, survey.Options{})
	if err != nil {
		t.Fatal(err)
	}
	made, _, err := surface.FromSurvey(s, surface.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// TestLevelsAreThoseOfTheFiles holds the figures against those of the levels
// command: the same overlay over the surfaces made from the files themselves.
func TestLevelsAreThoseOfTheFiles(t *testing.T) {
	s := serve(t)
	d, err := surface.Compare(fromFile(t, "before.asc"), fromFile(t, "after.asc"), nil, surface.CompareOptions{ToleranceM: 0.5, AccuracyM: 0.02})
	if err != nil {
		t.Fatal(err)
	}
	var got Levels
	s.as(app.Surveyor).send("GET", "/api/levels?before=before&after=after&tolerance=0.5&accuracy=0.02", nil).want(200).into(&got)
	f, r := got.Figures, unit.Round9
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"fill", f.Fill, r(d.FillM3)}, {"cut", f.Cut, r(d.CutM3)}, {"net", f.Net, r(d.NetM3)}, {"fill area", f.FillArea, r(d.FillAreaM2)},
		{"cut area", f.CutArea, r(d.CutAreaM2)}, {"area", f.PlanArea, r(d.PlanAreaM2)}, {"above", f.Above, r(d.MaxAboveM)}, {"below", f.Below, r(d.MaxBelowM)},
		{"mean", f.Mean, r(d.MeanM)}, {"rms", f.RMS, r(d.RMSM)}, {"within", *f.Within, r(d.Band.WithinAreaM2)}, {"share", *f.Share, r(d.Band.WithinShare)}, {"doubtful", *f.Doubtful, r(d.Band.DoubtfulAreaM2)},
	} {
		if c.got != c.want {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
	// Sum of the change of all cells times their 100 m²: rasterio 1.3.5, see
	// expected.yaml of the folder. The triangles' net is the cells' but for the edge.
	if math.Abs(f.Net - -3863.83) > 0.01 {
		t.Errorf("net %v", f.Net)
	}
	if got.Caution == "" || got.Sentence == "" {
		t.Error("figures without their sentence and caution")
	}
}

func TestLevelsRefused(t *testing.T) {
	s := serve(t)
	p := s.as(app.Surveyor)
	for _, c := range []struct {
		name, query string
		status      int
		code        app.Code
	}{
		{"no survey before", "before=x&after=after", 404, app.NotFound},
		{"no survey after", "before=before&after=x", 404, app.NotFound},
		{"no feature", "before=before&after=after&within=NONE", 404, app.NotFound},
		{"feature that is no area", "before=before&after=after&within=NSR1", 422, app.Invalid},
		{"tolerance in words", "before=before&after=after&tolerance=wide", 422, app.Invalid},
		{"negative accuracy", "before=before&after=after&tolerance=0.1&accuracy=-1", 422, app.Invalid},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, path := range []string{"/api/levels?", "/api/levels/raster?", "/api/levels/section?"} {
				got := p.send("GET", path+c.query, nil)
				got.t = t
				got.problem(c.status, c.code)
			}
		})
	}
	for _, line := range []string{"1,2", "1,2;1,2", "a,b;c,d", "NaN,1;2,3", "1,2;3", "1,2;Inf,4"} {
		p.send("GET", "/api/levels/section?before=before&after=after&line="+url.QueryEscape(line), nil).problem(422, app.Invalid)
	}
	p.send("GET", "/api/levels/section?before=before&after=after&line=1,2;3,4", nil).problem(422, app.Invalid)
	p.send("GET", "/api/levels?before=before&after=after&tolerence=0.1", nil).problem(422, app.Invalid)
	for _, cells := range []string{"19", "1001", "x"} {
		p.send("GET", "/api/levels/raster?before=before&after=after&cells="+cells, nil).problem(422, app.Invalid)
	}
}

// TestRaster holds cells against the surfaces themselves.
func TestRaster(t *testing.T) {
	s := serve(t)
	before, after := fromFile(t, "before.asc"), fromFile(t, "after.asc")
	var got Raster
	s.as(app.Surveyor).send("GET", "/api/levels/raster?before=before&after=after&cells=100&tolerance=0.15", nil).want(200).into(&got)
	if len(got.Values) != got.Cols*got.Rows || max(got.Cols, got.Rows) < 90 || max(got.Cols, got.Rows) > 102 {
		t.Fatalf("%d × %d cells, %d values", got.Cols, got.Rows, len(got.Values))
	}
	equal(t, "edges", got.Edges, []float64{0.15, 0.3, 0.6, 1.2, 2.4})
	known := 0
	for i, v := range got.Values {
		e, n := got.Origin[0]+(float64(i%got.Cols)+0.5)*got.Cell, got.Origin[1]+(float64(i/got.Cols)+0.5)*got.Cell
		a, inA := before.LevelAt(e, n)
		b, inB := after.LevelAt(e, n)
		if v == nil {
			if inA && inB && !nearEdge(before, e, n) {
				t.Fatalf("cell %d has no level, the surfaces have", i)
			}
			continue
		}
		known++
		if inA && inB && math.Abs(*v-(b-a)) > 0.0006 {
			t.Fatalf("cell %d: %v, want %v", i, *v, b-a)
		}
	}
	if known < len(got.Values)/2 {
		t.Errorf("%d of %d cells have a level", known, len(got.Values))
	}
}

// nearEdge tells whether a place lies within a hair of where the surface ends.
func nearEdge(s *surface.Surface, e, n float64) bool {
	const hair = 0.01
	for _, d := range [][2]float64{{hair, 0}, {-hair, 0}, {0, hair}, {0, -hair}} {
		if _, in := s.LevelAt(e+d[0], n+d[1]); !in {
			return true
		}
	}
	return false
}

// TestSection walks a line and finds both surfaces' levels along it.
func TestSection(t *testing.T) {
	s := serve(t)
	p := s.as(app.Surveyor)
	before, after := fromFile(t, "before.asc"), fromFile(t, "after.asc")
	minE, minN, maxE, maxN := before.Extent()
	var middle Section
	p.send("GET", "/api/levels/section?before=before&after=after", nil).want(200).into(&middle)
	equal(t, "ends across the middle", middle.Line[0][1], (minN+maxN)/2)
	var got Section
	line := fmt.Sprintf("%f,%f;%f,%f;%f,%f", minE+50, minN+50, (minE+maxE)/2, (minN+maxN)/2, maxE-50, minN+80)
	p.send("GET", "/api/levels/section?before=before&after=after&line="+url.QueryEscape(line), nil).want(200).into(&got)
	if len(got.Points) < 50 {
		t.Fatalf("%d points", len(got.Points))
	}
	last := -1.0
	for i, q := range got.Points {
		if q.Distance <= last {
			t.Fatalf("point %d at %v after %v", i, q.Distance, last)
		}
		last = q.Distance
		for _, one := range []struct {
			s   *surface.Surface
			got *float64
		}{{before, q.Before}, {after, q.After}} {
			z, in := one.s.LevelAt(q.E, q.N)
			if in != (one.got != nil) || in && math.Abs(z-*one.got) > 6e-5 {
				t.Fatalf("point %d: %v, want %v %v", i, one.got, z, in)
			}
		}
	}
	length := math.Hypot(got.Line[1][0]-got.Line[0][0], got.Line[1][1]-got.Line[0][1]) + math.Hypot(got.Line[2][0]-got.Line[1][0], got.Line[2][1]-got.Line[1][1])
	if last > length+1e-6 {
		t.Errorf("the section is %v m long, the line %v m", last, length)
	}
}

func TestPlanAndSurveys(t *testing.T) {
	s := serve(t)
	p := s.as(app.Gate)
	got := p.send("GET", "/api/plan", nil).want(200)
	got.has(`"FeatureCollection"`, `"NSR1"`, `"monitoring point"`, `"Sound level logger"`)
	var plan Plan
	got.into(&plan)
	if !(plan.Extent[0] < plan.Extent[2]) || !(plan.Extent[1] <= plan.Extent[3]) || plan.Grid == "" {
		t.Errorf("extent %v, grid %q", plan.Extent, plan.Grid)
	}
	p.send("GET", "/api/plan?at=1970-01-01T00:00:00Z", nil).want(200).hasNot("NSR1")
	p.send("GET", "/api/plan?at=then", nil).problem(422, app.Invalid)
	var surveys []Survey
	s.as(app.Landowner).send("GET", "/api/surveys", nil).want(200).into(&surveys)
	equal(t, "surveys", []string{surveys[0].Ref, surveys[1].Ref}, []string{"before", "after"})
	if surveys[0].Points != 9638 && surveys[0].Points < 9000 {
		t.Errorf("%d points", surveys[0].Points)
	}
}
