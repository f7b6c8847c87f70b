package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/grid"
	"github.com/swardbook/swardbook/geo/plan"
)

const planHelp = `Usage: swardbook plan FILE [--site-grid] [--json]

Checks a plan file, GeoJSON after RFC 7946, and lists what is drawn: areas and
lengths, corners drawn twice, areas that cover the same ground. Every fault is
named with its feature, ring, place and remedy.

  --site-grid   positions are metres of a plane grid, not longitude and latitude
  --json        as JSON, figures rounded to 1e-9

Areas and lengths of a plan in longitude and latitude are geodesic, on the WGS
84 ellipsoid; of one in a plane grid they are grid areas and lengths.

Example: swardbook plan boundary.geojson

Exit codes: 0 read, 1 it has faults, 2 wrong call.
`

type planFigures struct {
	File     string           `json:"file"`
	Frame    plan.Frame       `json:"frame"`
	Features []featureFigures `json:"features"`
	Area     float64          `json:"area_m2"` // of all areas, one by one
	Length   float64          `json:"length_m"`
	Overlaps []string         `json:"overlaps"`
	Notes    []string         `json:"notes"`
}

type featureFigures struct {
	Code   string  `json:"code,omitempty"`
	Kind   string  `json:"kind,omitempty"`
	Shape  string  `json:"shape"`
	Area   float64 `json:"area_m2,omitempty"`
	Length float64 `json:"length_m,omitempty"`
}

func runPlan(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	f := flags("plan")
	site, asJSON := f.Bool("site-grid", false, ""), f.Bool("json", false, "")
	words, code, ended := parse(f, args, planHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) != 1 {
		return usageError(stderr, "plan", "name one plan FILE")
	}
	g := &ground{stdin: stdin, report: startProgress("plan", stderr)}
	defer g.report.stop()
	data, err := g.bytes(words[0])
	if err != nil {
		return failed(stderr, "plan", err)
	}
	opts := plan.Options{Name: filepath.Base(words[0])}
	if *site {
		opts.Frame = plan.FrameSite
	}
	features, err := plan.ReadFeatures(bytes.NewReader(data), opts)
	if err != nil {
		return failed(stderr, "plan", err)
	}
	out, err := planOf(opts.Name, features)
	if err != nil {
		return failed(stderr, "plan", err)
	}
	g.report.stop()
	if *asJSON {
		return writeJSON(stdout, stderr, "plan", out)
	}
	printPlan(stdout, out)
	return exitDone
}

func planOf(name string, features []plan.Feature) (*planFigures, error) {
	out := &planFigures{File: name, Features: []featureFigures{}, Overlaps: []string{}, Notes: []string{}}
	var names []string
	var areas []*plan.Polygon
	for i, f := range features {
		out.Frame = f.Frame
		label := f.Code
		if label == "" {
			label = fmt.Sprintf("feature %d", i+1)
		}
		one := featureFigures{Code: f.Code, Kind: f.Kind, Shape: f.Geometry.GeoJSONType()}
		var err error
		if one.Area, one.Length, err = measured(f.Geometry, f.Frame); err != nil {
			return nil, fmt.Errorf("%s: %s: %w", name, label, err)
		}
		one.Area, one.Length = unit.Round9(one.Area), unit.Round9(one.Length)
		out.Area, out.Length = out.Area+one.Area, out.Length+one.Length
		out.Features = append(out.Features, one)
		for _, n := range f.Notes {
			out.Notes = append(out.Notes, label+": "+n)
		}
		if f.Frame == plan.FrameSite {
			switch p, err := f.Area(label); {
			case err == nil:
				names, areas = append(names, label), append(areas, p)
			case !errors.Is(err, plan.ErrNoArea):
				return nil, fmt.Errorf("%s: %w", name, err)
			}
		}
	}
	for _, o := range plan.Overlaps(names, areas) {
		out.Overlaps = append(out.Overlaps, fmt.Sprintf("%s and %s both cover %s m², at E %.3f N %.3f", o.A, o.B, grouped(o.AreaM2, 3), o.E, o.N))
	}
	out.Area, out.Length = unit.Round9(out.Area), unit.Round9(out.Length)
	return out, nil
}

// measured returns area and length of a shape, on the plane or the ellipsoid.
func measured(g orb.Geometry, frame plan.Frame) (areaM2, lengthM float64, err error) {
	switch g := g.(type) {
	case orb.LineString:
		lengthM, err = lineLength(g, frame)
	case orb.MultiLineString:
		for _, l := range g {
			part, err := lineLength(l, frame)
			if err != nil {
				return 0, 0, err
			}
			lengthM += part
		}
	case orb.Polygon:
		areaM2, err = polygonArea(g, frame)
	case orb.MultiPolygon:
		for _, p := range g {
			part, err := polygonArea(p, frame)
			if err != nil {
				return 0, 0, err
			}
			areaM2 += part
		}
	case orb.Collection:
		for _, part := range g {
			a, l, err := measured(part, frame)
			if err != nil {
				return 0, 0, err
			}
			areaM2, lengthM = areaM2+a, lengthM+l
		}
	}
	return areaM2, lengthM, err
}

func pairsOf(l []orb.Point) [][2]float64 {
	out := make([][2]float64, len(l))
	for i, p := range l {
		out[i] = [2]float64(p)
	}
	return out
}

func lineLength(l orb.LineString, frame plan.Frame) (float64, error) {
	if frame == plan.FrameWGS84 {
		return grid.WGS84Ellipsoid.Length(pairsOf(l))
	}
	sum := 0.0
	for i := 1; i < len(l); i++ {
		sum += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
	}
	return sum, nil
}

func polygonArea(p orb.Polygon, frame plan.Frame) (float64, error) {
	if frame == plan.FrameWGS84 {
		var rings [][][2]float64
		for _, r := range p {
			rings = append(rings, pairsOf(r))
		}
		return grid.WGS84Ellipsoid.Area(rings...)
	}
	area, err := plan.NewPolygon(orb.MultiPolygon{p.Clone()}, "area")
	if err != nil {
		return 0, err
	}
	return area.AreaM2(), nil
}

// featuresShown are listed one by one; --json has all.
const featuresShown = 40

func printPlan(w io.Writer, f *planFigures) {
	how := "grid areas and lengths"
	if f.Frame == plan.FrameWGS84 {
		how = "geodesic areas and lengths"
	}
	_, _ = fmt.Fprintf(w, "%s: %d features, %s, %s\n", f.File, len(f.Features), f.Frame, how)
	t := &figureTable{w: w}
	for i, one := range f.Features {
		if i == featuresShown {
			_, _ = fmt.Fprintf(w, "  and %d more; --json lists all\n", len(f.Features)-i)
			break
		}
		label := one.Code
		if label == "" {
			label = fmt.Sprintf("feature %d", i+1)
		}
		figure := ""
		switch {
		case one.Area > 0:
			figure = grouped(one.Area, 3) + " m²"
		case one.Length > 0:
			figure = grouped(one.Length, 3) + " m"
		}
		t.row(label, figure, one.Shape+" "+one.Kind)
	}
	if f.Area > 0 {
		t.row("all areas", grouped(f.Area, 3)+" m²", "")
	}
	if f.Length > 0 {
		t.row("all lengths", grouped(f.Length, 3)+" m", "")
	}
	for _, x := range append(f.Overlaps, f.Notes...) {
		_, _ = fmt.Fprintf(w, "warning: %s\n", x)
	}
}
