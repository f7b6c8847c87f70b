package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
)

// What the commands about ground levels share: reading surveys, breaklines
// and areas, the figures they print, cautions.

const surveyOptionsHelp = `
Surveys are told by their content: a list of points, LandXML, DXF (text), an
ASCII grid, GeoTIFF, LAS or GeoJSON with levels. About reading them:

  --order PENZD      columns of a point list without header: P point,
                     E easting, N northing, Z level, D code
  --unit m           m, mm, cm, in, ft (0.3048 m) or us-ft (1200/3937 m);
                     default: what the file says, else m
  --decimal-comma    numbers have a decimal comma
  --two-levels RULE  two levels at one place: first, last or neither row is
                     kept; default: refused
  --surface NAME     one of several surfaces of a LandXML file
  --layer A,B        layers of a DXF drawing; * for all; has to be chosen when
                     several hold faces
  --boundary-layer L closed lines on this layer bound the survey
  --class 2,8        classes of a LAS point cloud; default 2, ground
  --thin D           one LAS point in each square of D metres
  --cell D           the file is a table of levels, rows from north to south, with
                     cells of D; --corner E,N places its lower left corner
  --trim D           take triangles away at the rim while their outer edge is
                     longer than D metres; auto: 3 × what 95 % of edges keep below

A file name of - is standard input.
`

// Cautions that go with these figures.
const (
	levelCaution = "Not for setting out and not for digging: find services and drains first."
	moundCaution = "Height and steepness are no check of stability: keep off the edges, do not climb to measure."
)

// surveyFlags are the options about reading surveys.
type surveyFlags struct {
	order, unit, twoLevels, surface, layers, boundaryLayer, classes, trim, corner string
	thin, cell                                                                    float64
	decimalComma                                                                  bool
}

func (s *surveyFlags) register(f *flag.FlagSet) {
	f.StringVar(&s.order, "order", "", "")
	f.StringVar(&s.unit, "unit", "", "")
	f.StringVar(&s.twoLevels, "two-levels", "", "")
	f.StringVar(&s.surface, "surface", "", "")
	f.StringVar(&s.layers, "layer", "", "")
	f.StringVar(&s.boundaryLayer, "boundary-layer", "", "")
	f.StringVar(&s.classes, "class", "", "")
	f.StringVar(&s.trim, "trim", "", "")
	f.Float64Var(&s.thin, "thin", 0, "")
	f.Float64Var(&s.cell, "cell", 0, "")
	f.StringVar(&s.corner, "corner", "", "")
	f.BoolVar(&s.decimalComma, "decimal-comma", false, "")
}

// units are the words of --unit.
var units = map[string]survey.Unit{"": "", "m": survey.Metre, "mm": survey.Millimetre, "cm": survey.Centimetre, "in": survey.Inch, "ft": survey.InternationalFoot, "us-ft": survey.USSurveyFoot}

// options turns the words into the readers' options.
func (s *surveyFlags) options() (survey.Options, surface.Options, error) {
	rules := map[string]survey.ConflictRule{"": survey.RefuseConflicts, "first": survey.KeepFirstRow, "last": survey.KeepLastRow, "neither": survey.RejectBoth}
	u, ok := units[s.unit]
	if !ok {
		return survey.Options{}, surface.Options{}, fmt.Errorf("--unit %q: m, mm, cm, in, ft or us-ft", s.unit)
	}
	rule, ok := rules[s.twoLevels]
	if !ok {
		return survey.Options{}, surface.Options{}, fmt.Errorf("--two-levels %q: first, last or neither", s.twoLevels)
	}
	read := survey.Options{Order: survey.Order(strings.ToUpper(s.order)), Unit: u, DecimalComma: s.decimalComma, Surface: s.surface, BoundaryLayer: s.boundaryLayer, ThinM: s.thin}
	if !(s.thin >= 0) {
		return read, surface.Options{}, fmt.Errorf("--thin %v: metres, 0 or more", s.thin)
	}
	if read.CellM = s.cell; s.corner != "" {
		e, n, found := strings.Cut(s.corner, ",")
		var errE, errN error
		read.CornerE, errE = strconv.ParseFloat(strings.TrimSpace(e), 64)
		read.CornerN, errN = strconv.ParseFloat(strings.TrimSpace(n), 64)
		if !found || errE != nil || errN != nil || s.cell == 0 {
			return read, surface.Options{}, fmt.Errorf("--corner %q: easting,northing, and --cell with it", s.corner)
		}
	}
	for _, l := range strings.Split(s.layers, ",") {
		if l = strings.TrimSpace(l); l != "" {
			read.Layers = append(read.Layers, l)
		}
	}
	for _, c := range strings.Split(s.classes, ",") {
		if c = strings.TrimSpace(c); c == "" {
			continue
		}
		n, err := strconv.Atoi(c)
		if err != nil || n < 0 || n > 255 {
			return read, surface.Options{}, fmt.Errorf("--class %q: whole numbers from 0 to 255, such as 2,8", s.classes)
		}
		read.Classes = append(read.Classes, n)
	}
	return read, surface.Options{Conflicts: rule}, nil
}

// trimming reads --trim: whether to trim and the limit, 0 for the default.
func (s *surveyFlags) trimming() (limitM float64, asked bool, err error) {
	switch s.trim {
	case "":
		return 0, false, nil
	case "auto":
		return 0, true, nil
	}
	v, err := strconv.ParseFloat(s.trim, 64)
	if err != nil || !(v > 0) || math.IsInf(v, 0) {
		return 0, false, fmt.Errorf("--trim %q: metres above 0, or auto", s.trim)
	}
	return v, true, nil
}

// ground reads files into surfaces and areas, gathering warnings.
type ground struct {
	stdin    io.Reader
	read     survey.Options
	make     surface.Options
	warnings []string
	report   *progress
	trimM    float64
	trim     bool
}

// newGround turns the options about surveys into a reader of files.
func newGround(sf *surveyFlags, stdin io.Reader, report *progress) (*ground, error) {
	read, build, err := sf.options()
	if err != nil {
		return nil, err
	}
	g := &ground{stdin: stdin, read: read, make: build, report: report}
	g.trimM, g.trim, err = sf.trimming()
	return g, err
}

func (g *ground) bytes(path string) ([]byte, error) {
	g.report.step("reading " + path)
	if path == "-" {
		return io.ReadAll(g.stdin)
	}
	return os.ReadFile(path)
}

// surface reads one survey with its breaklines.
func (g *ground) surface(path string, breaklines ...string) (*surface.Surface, error) {
	data, err := g.bytes(path)
	if err != nil {
		return nil, err
	}
	name := filepath.Base(path)
	s, err := survey.Read(bytes.NewReader(data), name, g.read)
	if err != nil {
		return nil, err
	}
	opts, err := g.withLines(s, breaklines...)
	if err != nil {
		return nil, err
	}
	g.report.step("triangulating " + name)
	out, found, err := surface.FromSurvey(s, opts)
	if err != nil {
		return nil, err
	}
	for _, w := range append(s.Warnings, found...) {
		g.warn(name, w)
	}
	return g.trimmed(name, out)
}

// withLines reads files of breaklines of a survey; "" is none.
func (g *ground) withLines(s *survey.Survey, paths ...string) (surface.Options, error) {
	opts := g.make
	for _, path := range paths {
		if path == "" {
			continue
		}
		data, err := g.bytes(path)
		if err != nil {
			return opts, err
		}
		lines, err := survey.ReadBreaklines(bytes.NewReader(data), filepath.Base(path), s)
		if err != nil {
			return opts, err
		}
		opts.Breaklines = append(opts.Breaklines, lines...)
	}
	return opts, nil
}

// trimmed takes the long triangles at the rim away when asked to.
func (g *ground) trimmed(name string, s *surface.Surface) (*surface.Surface, error) {
	if !g.trim {
		return s, nil
	}
	t, err := s.TrimRim(g.trimM)
	if err != nil {
		return nil, fmt.Errorf("%s: trimming: %w", name, err)
	}
	if t.Triangles > 0 {
		g.warnings = append(g.warnings, fmt.Sprintf("%s: %d triangles with an outer edge over %.3f m taken away at the rim, %.3f m²", name, t.Triangles, t.LimitM, t.RemovedM2))
	}
	return t.Surface, nil
}

func (g *ground) warn(name string, w survey.Warning) {
	where := name
	if w.Row > 0 {
		where += fmt.Sprintf(" line %d", w.Row)
	}
	if w.Point != "" {
		where += fmt.Sprintf(" (%s)", w.Point)
	}
	finding := fmt.Sprintf("%s, %s: %s", w.Kind, w.Action, w.Text)
	if w.Kind == survey.KindNote && w.Action == survey.Noted {
		finding = w.Text
	}
	g.warnings = append(g.warnings, where+": "+finding)
}

// area reads an area in site grid metres; nil when path is empty.
func (g *ground) area(path string) (*plan.Polygon, error) {
	if path == "" {
		return nil, nil
	}
	data, err := g.bytes(path)
	if err != nil {
		return nil, err
	}
	name := filepath.Base(path)
	if text := bytes.TrimLeft(bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")), " \t\r\n"); bytes.HasPrefix(text, []byte("{")) {
		return plan.ParsePolygon(data, plan.Options{Name: name, Frame: plan.FrameSite})
	}
	rings, err := survey.ReadBoundary(bytes.NewReader(data), name)
	if err != nil {
		return nil, err
	}
	var part orb.Polygon
	for _, ring := range rings {
		var r orb.Ring
		for _, v := range ring {
			r = append(r, orb.Point{v.E, v.N})
		}
		part = append(part, r)
	}
	return plan.NewPolygon(orb.MultiPolygon{part}, name)
}

// coverage warns where the surveys do not cover what was asked for.
func (g *ground) coverage(d surface.Difference) {
	for _, c := range []struct {
		area float64
		text string
	}{
		{d.UncoveredM2, "of the area asked for are not covered by both sides"},
		{d.OnlyBeforeM2, "are covered by the earlier survey only; nothing is counted there"},
		{d.OnlyAfterM2, "are covered by the later survey only; nothing is counted there"},
	} {
		if c.area > 0 {
			g.warnings = append(g.warnings, fmt.Sprintf("%.3f m² %s", c.area, c.text))
		}
	}
}

func writeJSON(stdout, stderr io.Writer, name string, v any) int {
	e := json.NewEncoder(stdout)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	if err := e.Encode(v); err != nil {
		return failed(stderr, name, err)
	}
	return exitDone
}
