package main

import (
	"bytes"
	"flag"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/picture"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
)

// What volume and levels can say besides their figures: a picture, zones, the
// uncertainty of the volume, ponds, a section.

const extrasHelp = `
More about the same two surfaces:

  --png FILE         picture of the differences with legend, scale bar, north
  --zones FILE       the figures for each polygon of a GeoJSON file in site
                     grid metres, named by its code or label
  --sigma S          standard deviation of one point's difference of level,
                     metres: prints the uncertainty of net, coverage factor 2
  --bias B           with --sigma: error common to all points, metres
  --range R          with --sigma: distance within which errors go together
  --ponds D          closed hollows at least D metres deep, and how the ground
                     falls on the whole, before and after
  --section FILE     levels along a GeoJSON line or CSV line,easting,northing,
                     level (the level is not used)
`

type extraFlags struct {
	png, zones, section      string
	sigma, bias, rng, ponds  float64
	compared                 string // what the picture is of
	tolerance                float64
	zoneOptions              surface.CompareOptions
	wantSigma, wantPondsFlag bool
}

func (x *extraFlags) register(f *flag.FlagSet) {
	f.StringVar(&x.png, "png", "", "")
	f.StringVar(&x.zones, "zones", "", "")
	f.StringVar(&x.section, "section", "", "")
	f.Float64Var(&x.sigma, "sigma", 0, "")
	f.Float64Var(&x.bias, "bias", 0, "")
	f.Float64Var(&x.rng, "range", 0, "")
	f.Float64Var(&x.ponds, "ponds", 0, "")
}

// check refuses options that make no sense, given which were set.
func (x *extraFlags) check(f *flag.FlagSet) error {
	f.Visit(func(a *flag.Flag) {
		switch a.Name {
		case "sigma", "bias", "range":
			x.wantSigma = true
		case "ponds":
			x.wantPondsFlag = true
		}
	})
	for _, v := range [4]float64{x.sigma, x.bias, x.rng, x.ponds} {
		if !(v >= 0) || math.IsInf(v, 0) {
			return fmt.Errorf("--sigma, --bias, --range and --ponds are metres, 0 or more")
		}
	}
	if x.wantSigma && x.sigma == 0 && x.bias == 0 {
		return fmt.Errorf("--range goes with --sigma")
	}
	return nil
}

// pair is what was compared: two surfaces, or one and a base.
type pair struct {
	before, after *surface.Surface // before nil: a base
	base          surface.Base
	area          *plan.Polygon
}

// extras works out what was asked for and adds it to the figures.
func (g *ground) extras(x *extraFlags, p pair, d surface.Difference, out *figures) error {
	if x.wantSigma {
		n := p.after.PointsInside(p.area)
		if p.before != nil {
			n = min(n, p.before.PointsInside(p.area))
		}
		u, err := surface.UncertaintyOf(d.PlanAreaM2, surface.LevelError{PointM: x.sigma, BiasM: x.bias, RangeM: x.rng, Points: max(n, 1)})
		if err != nil {
			return err
		}
		r := unit.Round9
		out.Uncertainty = &uncertaintyFigures{r(u.RandomM3), r(u.BiasM3), r(u.SigmaM3), r(u.ExpandedM3), r(u.EffectivePoints), r(surface.DetectionLimitM(x.sigma))}
	}
	if x.zones != "" {
		zones, err := g.zonesOf(x, p)
		if err != nil {
			return err
		}
		out.Zones = zones
	}
	if x.wantPondsFlag {
		g.report.step("looking for hollows")
		out.Ponds = &pondFigures{Before: []pondFigure{}, After: pondsOf(p.after, x.ponds, p.area)}
		var err error
		if out.Ponds.FallAfter, err = fallOf(p.after, p.area); err != nil {
			return err
		}
		if p.before != nil {
			out.Ponds.Before = pondsOf(p.before, x.ponds, p.area)
			if out.Ponds.FallBefore, err = fallOf(p.before, p.area); err != nil {
				return err
			}
		}
	}
	if x.section != "" {
		section, err := g.sectionOf(x.section, p)
		if err != nil {
			return err
		}
		out.Section = section
	}
	if x.png != "" {
		return g.draw(x, p)
	}
	return nil
}

func pondsOf(s *surface.Surface, depth float64, area *plan.Polygon) []pondFigure {
	r := unit.Round9
	out := []pondFigure{}
	for _, p := range s.Ponds(depth, area) {
		out = append(out, pondFigure{r(p.SpillLevelM), r(p.DepthM), r(p.AreaM2), r(p.VolumeM3), r(p.E), r(p.N)})
	}
	return out
}

func fallOf(s *surface.Surface, area *plan.Polygon) (*fallFigures, error) {
	f, err := s.Falls(area)
	if err != nil {
		return nil, err
	}
	r := unit.Round9
	return &fallFigures{r(f.MeanRatio), r(f.DirectionDeg), r(f.SteepestRise)}, nil
}

// zonesOf compares inside each polygon of a file.
func (g *ground) zonesOf(x *extraFlags, p pair) ([]zoneFigures, error) {
	data, err := g.bytes(x.zones)
	if err != nil {
		return nil, err
	}
	name := filepath.Base(x.zones)
	features, err := plan.ReadFeatures(bytes.NewReader(data), plan.Options{Name: name, Frame: plan.FrameSite})
	if err != nil {
		return nil, err
	}
	var out []zoneFigures
	for i, f := range features {
		label := f.Code
		if label == "" {
			label = f.Label
		}
		if label == "" {
			label = fmt.Sprintf("zone %d", i+1)
		}
		zone, err := f.Area(name + ", " + label)
		if err != nil {
			return nil, err
		}
		g.report.step("comparing in " + label)
		var d surface.Difference
		if p.before != nil {
			d, err = surface.Compare(p.before, p.after, zone, x.zoneOptions)
		} else {
			var m surface.Mound
			m, err = surface.StockpileBand(p.after, p.base, zone, x.zoneOptions)
			d = m.Difference
		}
		r := unit.Round9
		z := zoneFigures{Zone: label, Fill: r(d.FillM3), Cut: r(d.CutM3), Net: r(d.NetM3), PlanArea: r(d.PlanAreaM2)}
		if err != nil {
			z.Trouble = err.Error()
		} else if d.UncoveredM2 > 0 {
			z.Trouble = fmt.Sprintf("%.3f m² are not covered by both sides", d.UncoveredM2)
		}
		if d.Band != nil {
			share := r(d.Band.WithinShare)
			z.Share = &share
		}
		out = append(out, z)
	}
	return out, nil
}

// sectionOf takes the levels along the first line of a file.
func (g *ground) sectionOf(path string, p pair) ([]sectionFigures, error) {
	data, err := g.bytes(path)
	if err != nil {
		return nil, err
	}
	line, err := readLine(data, filepath.Base(path))
	if err != nil {
		return nil, err
	}
	surfaces := []*surface.Surface{p.after}
	if p.before != nil {
		surfaces = []*surface.Surface{p.before, p.after}
	}
	var out []sectionFigures
	level := func(v float64) *float64 {
		if math.IsNaN(v) {
			return nil
		}
		v = unit.Round9(v)
		return &v
	}
	for _, at := range surface.Profile(line, surfaces...) {
		f := sectionFigures{Chainage: unit.Round9(at.ChainageM), E: unit.Round9(at.E), N: unit.Round9(at.N), After: level(at.LevelsM[len(at.LevelsM)-1])}
		if p.before != nil {
			f.Before = level(at.LevelsM[0])
		}
		out = append(out, f)
	}
	return out, nil
}

// readLine reads the first line of a GeoJSON or CSV file.
func readLine(data []byte, name string) ([]orb.Point, error) {
	if text := bytes.TrimLeft(data, "\xEF\xBB\xBF \t\r\n"); bytes.HasPrefix(text, []byte("{")) {
		features, err := plan.ReadFeatures(bytes.NewReader(data), plan.Options{Name: name, Frame: plan.FrameSite})
		if err != nil {
			return nil, err
		}
		for _, f := range features {
			if l, ok := f.Geometry.(orb.LineString); ok {
				return l, nil
			}
		}
		return nil, fmt.Errorf("%s: it holds no LineString", name)
	}
	lines, err := survey.ReadBreaklines(bytes.NewReader(data), name, &survey.Survey{})
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, fmt.Errorf("%s: it holds no line", name)
	}
	var out []orb.Point
	for _, v := range lines[0].Vertices {
		out = append(out, orb.Point{v.E, v.N})
	}
	return out, nil
}

// pictureCells is the number of cells along the longer side of a picture.
const pictureCells = 1000

// draw writes the picture of the differences.
func (g *ground) draw(x *extraFlags, p pair) error {
	g.report.step("drawing " + x.png)
	frame, err := pictureFrame(p)
	if err != nil {
		return err
	}
	var grid *survey.Grid
	if p.before != nil {
		grid = surface.DifferenceRaster(p.before, p.after, p.area, frame)
	} else if grid, err = surface.HeightRaster(p.after, p.base, p.area, frame); err != nil {
		return err
	}
	o := picture.Options{Title: x.compared, ToleranceM: x.tolerance, Notes: append(strings.Split(levelCaution, "\n"), "Cells show the difference at their centre; volumes are computed from the triangles.")}
	if p.area != nil {
		for _, part := range p.area.Rings() {
			for _, r := range part {
				o.Lines = append(o.Lines, r)
			}
		}
	}
	img, err := picture.Difference(grid, o)
	if err != nil {
		return err
	}
	return create(x.png, func(w io.Writer) error { return png.Encode(w, img) })
}

// pictureFrame covers the common ground, or the area asked for.
func pictureFrame(p pair) (surface.Frame, error) {
	minE, minN, maxE, maxN := p.after.Extent()
	if p.before != nil {
		e0, n0, e1, n1 := p.before.Extent()
		minE, minN, maxE, maxN = max(minE, e0), max(minN, n0), min(maxE, e1), min(maxN, n1)
	}
	if p.area != nil {
		b := p.area.Rings().Bound()
		minE, minN, maxE, maxN = max(minE, b.Min[0]), max(minN, b.Min[1]), min(maxE, b.Max[0]), min(maxN, b.Max[1])
	}
	side := max(maxE-minE, maxN-minN)
	if !(minE < maxE && minN < maxN) {
		return surface.Frame{}, surface.ErrNoOverlap
	}
	cell := side / pictureCells
	return surface.Frame{Cols: int(math.Ceil((maxE - minE) / cell)), Rows: int(math.Ceil((maxN - minN) / cell)), E0: minE + cell/2, N0: minN + cell/2, DE: cell, DN: cell}, nil
}

// create writes a new file and never over an old one.
func create(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if os.IsExist(err) {
		return fmt.Errorf("%s is there already; remove it or choose another name", path)
	}
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		_ = f.Close()
		_ = os.Remove(path)
		return fmt.Errorf("%s: %w", path, err)
	}
	return f.Close()
}

// printExtras writes for people what extras worked out.
func printExtras(w io.Writer, f *figures) {
	t := &figureTable{w: w}
	if u := f.Uncertainty; u != nil {
		remark := fmt.Sprintf("k = 2; by chance %s, common %s", grouped(u.Random, 1), grouped(u.Bias, 1))
		if math.Abs(f.Net) < u.Expanded {
			remark += "; net cannot be told from 0"
		}
		t.row("uncertainty of net", "±"+grouped(u.Expanded, 1)+" m³", remark)
		t.row("told from none", grouped(u.Detection, 3)+" m", "least difference of level at one place, 95 %")
	}
	for _, z := range f.Zones {
		remark := fmt.Sprintf("fill %s, cut %s, %s m²", grouped(z.Fill, 1), grouped(z.Cut, 1), grouped(z.PlanArea, 1))
		if z.Share != nil {
			remark += ", " + percent(*z.Share) + " within"
		}
		if z.Trouble != "" {
			remark += "; " + z.Trouble
		}
		t.row(z.Zone, signed(z.Net, 1)+" m³", remark)
	}
	if f.Ponds != nil {
		printPonds(t, "hollows before", f.Ponds.Before, f.Ponds.FallBefore)
		printPonds(t, "hollows after", f.Ponds.After, f.Ponds.FallAfter)
	}
	for i, s := range f.Section {
		if i == 0 {
			_, _ = fmt.Fprintf(w, "\n  %12s %14s %14s %12s %12s %12s\n", "chainage m", "E", "N", "before m", "after m", "difference m")
		}
		diff := "–"
		if s.Before != nil && s.After != nil {
			diff = signed(*s.After-*s.Before, 3)
		}
		_, _ = fmt.Fprintf(w, "  %12s %14s %14s %12s %12s %12s\n", grouped(s.Chainage, 3), fmt.Sprintf("%.3f", s.E), fmt.Sprintf("%.3f", s.N), levelText(s.Before), levelText(s.After), diff)
	}
}

func levelText(v *float64) string {
	if v == nil {
		return "–"
	}
	return grouped(*v, 3)
}

func printPonds(t *figureTable, label string, ponds []pondFigure, fall *fallFigures) {
	sum := 0.0
	for _, p := range ponds {
		sum += p.Volume
	}
	t.row(label, fmt.Sprint(len(ponds)), grouped(sum, 1)+" m³ in all")
	if fall != nil {
		t.row("  falls on the whole", steepness(fall.Mean), fmt.Sprintf("towards %.0f° from grid north, steepest %s", fall.Direction, steepness(fall.Steepest)))
	}
	for i, p := range ponds {
		if i == 5 {
			t.row("", "", fmt.Sprintf("and %d more; --json lists all", len(ponds)-5))
			return
		}
		t.row(fmt.Sprintf("  E %.1f N %.1f", p.E, p.N), grouped(p.Depth, 3)+" m deep", fmt.Sprintf("runs over at %s m, %s m², %s m³", grouped(p.Spill, 3), grouped(p.Area, 1), grouped(p.Volume, 1)))
	}
}
