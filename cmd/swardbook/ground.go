package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
)

// What the commands about ground levels share: reading surveys, breaklines
// and areas, the figures they print, cautions.

const surveyOptionsHelp = `
Surveys are told by their content: a list of points with a header (point,
easting, northing, level) or an ASCII grid. About reading them:

  --order PENZD      columns of a point list without header: P point,
                     E easting, N northing, Z level, D code
  --unit m           m, ft (0.3048 m) or us-ft (1200/3937 m); default: what
                     the header says, else m
  --decimal-comma    numbers have a decimal comma
  --two-levels RULE  two levels at one place: first, last or neither row is
                     kept; default: refused

A file name of - is standard input.
`

// Cautions that go with these figures.
const (
	levelCaution = "Not for setting out and not for digging: find services and drains first."
	moundCaution = "Height and steepness are no check of stability: keep off the edges, do not climb to measure."
)

// surveyFlags are the options about reading surveys.
type surveyFlags struct {
	order, unit, twoLevels string
	decimalComma           bool
}

func (s *surveyFlags) register(f *flag.FlagSet) {
	f.StringVar(&s.order, "order", "", "")
	f.StringVar(&s.unit, "unit", "", "")
	f.StringVar(&s.twoLevels, "two-levels", "", "")
	f.BoolVar(&s.decimalComma, "decimal-comma", false, "")
}

// options turns the words into the readers' options.
func (s *surveyFlags) options() (survey.Options, surface.Options, error) {
	units := map[string]survey.Unit{"": "", "m": survey.Metre, "ft": survey.InternationalFoot, "us-ft": survey.USSurveyFoot}
	rules := map[string]survey.ConflictRule{"": survey.RefuseConflicts, "first": survey.KeepFirstRow, "last": survey.KeepLastRow, "neither": survey.RejectBoth}
	u, ok := units[s.unit]
	if !ok {
		return survey.Options{}, surface.Options{}, fmt.Errorf("--unit %q: m, ft or us-ft", s.unit)
	}
	rule, ok := rules[s.twoLevels]
	if !ok {
		return survey.Options{}, surface.Options{}, fmt.Errorf("--two-levels %q: first, last or neither", s.twoLevels)
	}
	return survey.Options{Order: survey.Order(strings.ToUpper(s.order)), Unit: u, DecimalComma: s.decimalComma}, surface.Options{Conflicts: rule}, nil
}

// ground reads files into surfaces and areas, gathering warnings.
type ground struct {
	stdin    io.Reader
	read     survey.Options
	make     surface.Options
	warnings []string
	report   *progress
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
	opts := g.make
	for _, b := range breaklines {
		if b == "" {
			continue
		}
		data, err := g.bytes(b)
		if err != nil {
			return nil, err
		}
		lines, err := survey.ReadBreaklines(bytes.NewReader(data), filepath.Base(b), s)
		if err != nil {
			return nil, err
		}
		opts.Breaklines = append(opts.Breaklines, lines...)
	}
	g.report.step("triangulating " + name)
	out, found, err := surface.FromSurvey(s, opts)
	if err != nil {
		return nil, err
	}
	for _, w := range append(s.Warnings, found...) {
		g.warn(name, w)
	}
	return out, nil
}

func (g *ground) warn(name string, w survey.Warning) {
	where := name
	if w.Row > 0 {
		where += fmt.Sprintf(" line %d", w.Row)
	}
	if w.Point != "" {
		where += fmt.Sprintf(" (%s)", w.Point)
	}
	g.warnings = append(g.warnings, fmt.Sprintf("%s: %s, %s: %s", where, w.Kind, w.Action, w.Text))
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

// figures is what --json prints.
type figures struct {
	Fill        float64  `json:"fill_m3"`
	Cut         float64  `json:"cut_m3"`
	Net         float64  `json:"net_m3"`
	FillArea    float64  `json:"fill_area_m2"`
	CutArea     float64  `json:"cut_area_m2"`
	PlanArea    float64  `json:"plan_area_m2"`
	MaxAbove    float64  `json:"max_above_m"`
	MaxBelow    float64  `json:"max_below_m"`
	Mean        float64  `json:"mean_m"`
	RMS         float64  `json:"rms_m"`
	Within      *float64 `json:"within_area_m2"`
	WithinShare *float64 `json:"within_share"`
	Doubtful    *float64 `json:"doubtful_area_m2"`
	Warnings    []string `json:"warnings"`
}

func figuresOf(d surface.Difference, warnings []string) figures {
	r := unit.Round9
	out := figures{r(d.FillM3), r(d.CutM3), r(d.NetM3), r(d.FillAreaM2), r(d.CutAreaM2), r(d.PlanAreaM2), r(d.MaxAboveM), r(d.MaxBelowM), r(d.MeanM), r(d.RMSM), nil, nil, nil, append([]string{}, warnings...)}
	if b := d.Band; b != nil {
		in, share, doubt := r(b.WithinAreaM2), r(b.WithinShare), r(b.DoubtfulAreaM2)
		out.Within, out.WithinShare, out.Doubtful = &in, &share, &doubt
	}
	return out
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

// progress says on stderr what is going on once a second has passed.
type progress struct {
	steps chan string
	done  chan struct{}
}

func startProgress(name string, stderr io.Writer) *progress {
	p := &progress{make(chan string, 64), make(chan struct{})}
	go func() {
		defer close(p.done)
		now, shown := "", ""
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case s, open := <-p.steps:
				if !open {
					return
				}
				now = s
			case <-tick.C:
				if now != shown {
					_, _ = fmt.Fprintf(stderr, "swardbook %s: %s …\n", name, now)
					shown = now
				}
			}
		}
	}()
	return p
}

func (p *progress) step(what string) { p.steps <- what }

// stop ends the reporting; a second call does nothing.
func (p *progress) stop() {
	if p.steps != nil {
		close(p.steps)
		<-p.done
		p.steps = nil
	}
}
