package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
)

const surveyHelp = `Usage: swardbook survey FILE [options]

Describes a survey file: its format, what it holds, where it lies, the areas of
the surface it makes, and everything that was noticed, row by row. Of a file
with several surfaces or layers each is described.

  --breaklines F   breaklines of the survey: CSV from,to with point names,
                   CSV line,easting,northing,level, or GeoJSON with levels
  --out FILE       also write the surface in metres: .xml (LandXML 1.2), .dxf,
                   .geojson, .csv (its points) or .asc (a grid)
  --contours D     with --out FILE.dxf or .geojson: contours every D metres
                   instead of the triangles
  --all            list every warning; otherwise the first 20
  --json           as JSON, figures rounded to 1e-9
` + surveyOptionsHelp + `
Areas are grid areas: plan (2-D) and along the slope (3-D). Volumes are above
the lowest point.

Example: swardbook survey design.xml --out design.dxf

Exit codes: 0 read, with or without warnings; 1 cannot be read; 2 wrong call.
`

// described is what survey says about one survey of a file.
type described struct {
	Part       string       `json:"part,omitempty"`
	Points     int          `json:"points"`
	Breaklines int          `json:"breaklines"`
	Rings      int          `json:"boundary_rings"`
	Faces      int          `json:"faces"`
	Grid       *gridFigures `json:"grid,omitempty"`
	Unit       survey.Unit  `json:"unit"`
	System     string       `json:"system,omitempty"`
	MinE       float64      `json:"min_e_m"`
	MaxE       float64      `json:"max_e_m"`
	MinN       float64      `json:"min_n_m"`
	MaxN       float64      `json:"max_n_m"`
	MinLevel   float64      `json:"min_level_m"`
	MaxLevel   float64      `json:"max_level_m"`
	MeanLevel  float64      `json:"mean_level_m"` // of the points, or of the corners of lines where there are none
	Degrees    bool         `json:"degrees,omitempty"`
	Surface    *madeFigures `json:"surface,omitempty"`
	NoSurface  string       `json:"no_surface,omitempty"` // why none can be made
	Warnings   []string     `json:"warnings"`
}

type gridFigures struct {
	Cols  int     `json:"cols"`
	Rows  int     `json:"rows"`
	CellE float64 `json:"cell_e_m"`
	CellN float64 `json:"cell_n_m"`
	Valid int     `json:"cells_with_data"`
}

type madeFigures struct {
	Triangles int     `json:"triangles"`
	Area2D    float64 `json:"area_2d_m2"`
	Area3D    float64 `json:"area_3d_m2"`
	Above     float64 `json:"volume_above_lowest_m3"`
	Gap       float64 `json:"largest_gap_m"` // from the nearest point
}

type describedFile struct {
	File    string        `json:"file"`
	Format  survey.Format `json:"format"`
	Surveys []described   `json:"surveys"`
}

func runSurvey(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	f := flags("survey")
	lines, out := f.String("breaklines", "", ""), f.String("out", "", "")
	contours := f.Float64("contours", 0, "")
	all, asJSON := f.Bool("all", false, ""), f.Bool("json", false, "")
	var sf surveyFlags
	sf.register(f)
	words, code, ended := parse(f, args, surveyHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) != 1 {
		return usageError(stderr, "survey", "name one survey FILE")
	}
	report := startProgress("survey", stderr)
	defer report.stop()
	g, err := newGround(&sf, stdin, report)
	if err == nil {
		err = checkWriting(*out, *contours)
	}
	if err != nil {
		return usageError(stderr, "survey", err.Error())
	}
	g.make.AllowFlat = true
	file, made, err := g.describe(words[0], *lines)
	if err != nil {
		return failed(stderr, "survey", err)
	}
	if *out != "" {
		if err := g.write(*out, *contours, file, made); err != nil {
			return failed(stderr, "survey", err)
		}
	}
	report.stop()
	if *asJSON {
		return writeJSON(stdout, stderr, "survey", file)
	}
	printSurvey(stdout, file, *all)
	return exitDone
}

// madeSurvey is a survey as read and the surface made of it, nil without one.
type madeSurvey struct {
	read    *survey.Survey
	surface *surface.Surface
}

// describe reads a file, every part of it when none was chosen.
func (g *ground) describe(path, lines string) (*describedFile, []madeSurvey, error) {
	data, err := g.bytes(path)
	if err != nil {
		return nil, nil, err
	}
	name := filepath.Base(path)
	first, err := survey.Read(bytes.NewReader(data), name, g.read)
	read := []*survey.Survey{first}
	var choice *survey.ChoiceError
	if errors.As(err, &choice) {
		read, err = nil, nil
		for _, part := range choice.Names {
			o := g.read
			if choice.What == "surface" {
				o.Surface = part
			} else {
				o.Layers = []string{part}
			}
			s, partErr := survey.Read(bytes.NewReader(data), name, o)
			if partErr != nil {
				return nil, nil, partErr
			}
			read = append(read, s)
		}
	}
	if err != nil {
		return nil, nil, err
	}
	file := &describedFile{File: name}
	var made []madeSurvey
	for _, s := range read {
		g.warnings = nil
		m := madeSurvey{read: s}
		d := describedOf(s)
		if m.surface, err = g.surfaceOf(s, lines); err != nil {
			d.NoSurface = err.Error()
		} else if err := d.made(m.surface); err != nil {
			return nil, nil, err
		}
		d.Warnings = append([]string{}, g.warnings...)
		file.Format = s.Format
		file.Surveys = append(file.Surveys, d)
		made = append(made, m)
	}
	return file, made, nil
}

// surfaceOf makes the surface of a survey that was read, gathering warnings.
func (g *ground) surfaceOf(s *survey.Survey, breaklines string) (*surface.Surface, error) {
	opts, err := g.withLines(s, breaklines)
	if err != nil {
		return nil, err
	}
	g.report.step("triangulating " + s.Name)
	out, found, err := surface.FromSurvey(s, opts)
	warnings := append(slices.Clone(s.Warnings), found...)
	var conflict *survey.ConflictError
	if errors.As(err, &conflict) {
		warnings = append(warnings, conflict.Found...)
		err = fmt.Errorf("%d places have two levels; choose with --two-levels first, last or neither", len(conflict.Found))
	}
	slices.SortStableFunc(warnings, func(a, b survey.Warning) int { return a.Row - b.Row })
	for _, w := range warnings {
		g.warn(s.Name, w)
	}
	if err != nil {
		return nil, err
	}
	return g.trimmed(s.Name, out)
}

func describedOf(s *survey.Survey) described {
	r := unit.Round9
	d := described{Part: s.Part, Points: len(s.Points), Breaklines: len(s.Breaklines), Rings: len(s.Boundary), Faces: len(s.Faces), Unit: s.Unit, System: s.System, Degrees: s.Degrees}
	if g := s.Grid; g != nil {
		d.Grid = &gridFigures{g.Cols, g.Rows, r(g.DE), r(g.DN), g.Valid()}
	}
	inf := math.Inf(1)
	b := [6]float64{inf, -inf, inf, -inf, inf, -inf}
	take := func(e, n, z float64) {
		b = [6]float64{min(b[0], e), max(b[1], e), min(b[2], n), max(b[3], n), min(b[4], z), max(b[5], z)}
	}
	sum, n := 0.0, len(s.Points)
	for _, p := range s.Points {
		take(p.E, p.N, p.Level)
		sum += p.Level
	}
	for _, l := range s.Breaklines {
		for _, v := range l.Vertices {
			take(v.E, v.N, v.Level)
			if len(s.Points) == 0 {
				sum, n = sum+v.Level, n+1
			}
		}
	}
	d.MinE, d.MaxE, d.MinN, d.MaxN, d.MinLevel, d.MaxLevel = r(b[0]), r(b[1]), r(b[2]), r(b[3]), r(b[4]), r(b[5])
	if n > 0 {
		d.MeanLevel = r(sum / float64(n))
	}
	return d
}

// made adds the figures of the surface.
func (d *described) made(s *surface.Surface) error {
	r := unit.Round9
	low, _ := s.Levels()
	above, err := surface.AboveLevel(s, low, nil)
	if err != nil {
		return err
	}
	d.Surface = &madeFigures{Triangles: len(s.Triangles()), Area2D: r(s.PlanAreaM2()), Area3D: r(s.SlopeAreaM2()), Above: r(above.FillM3)}
	if gap, ok := s.LargestGap(nil); ok {
		d.Surface.Gap = r(gap.DistanceM)
	}
	return nil
}

// checkWriting refuses file names whose format is not written.
func checkWriting(out string, contours float64) error {
	kind := strings.ToLower(filepath.Ext(out))
	switch {
	case out == "" && contours == 0:
		return nil
	case out == "":
		return fmt.Errorf("--contours goes with --out FILE.dxf or FILE.geojson")
	case !(contours >= 0) || math.IsInf(contours, 0):
		return fmt.Errorf("--contours %v: metres above 0", contours)
	case contours > 0 && kind != ".dxf" && kind != ".geojson":
		return fmt.Errorf("contours are written to .dxf or .geojson, not %s", kind)
	case !slices.Contains([]string{".xml", ".dxf", ".geojson", ".csv", ".asc"}, kind):
		return fmt.Errorf("--out %s: .xml, .dxf, .geojson, .csv or .asc", out)
	}
	return nil
}

// write writes the one survey of a file in another format.
func (g *ground) write(path string, contours float64, file *describedFile, made []madeSurvey) error {
	if len(made) != 1 {
		return fmt.Errorf("%s holds %d surveys; choose one to write", file.File, len(made))
	}
	m := made[0]
	if m.surface == nil {
		return fmt.Errorf("no surface to write: %s", file.Surveys[0].NoSurface)
	}
	g.report.step("writing " + path)
	s := &survey.Survey{Name: m.read.Name, Part: m.read.Part, Points: m.surface.Points(), Faces: m.surface.Triangles()}
	if contours > 0 {
		levels, err := m.surface.ContourLevels(contours)
		if err != nil {
			return err
		}
		s.Points, s.Faces = nil, nil
		for _, c := range m.surface.Contours(levels) {
			line := survey.Breakline{Name: fmt.Sprintf("%.3f", c.LevelM)}
			for _, p := range c.Line {
				line.Vertices = append(line.Vertices, survey.Vertex{E: p[0], N: p[1], Level: c.LevelM})
			}
			s.Breaklines = append(s.Breaklines, line)
		}
		if len(s.Breaklines) == 0 {
			return fmt.Errorf("no contour of %v m crosses the surface", contours)
		}
	}
	return create(path, func(w io.Writer) error {
		switch strings.ToLower(filepath.Ext(path)) {
		case ".xml":
			return survey.WriteLandXML(w, s)
		case ".dxf":
			return survey.WriteDXF(w, s)
		case ".geojson":
			return survey.WriteGeoJSON(w, s)
		case ".csv":
			return survey.WriteCSV(w, m.read)
		}
		if m.read.Grid == nil {
			return fmt.Errorf("only a grid is written as an ASCII grid; choose .xml, .dxf, .geojson or .csv")
		}
		return survey.WriteASCIIGrid(w, m.read.Grid)
	})
}

// warningsShown are listed unless all are asked for.
const warningsShown = 20

func printSurvey(w io.Writer, f *describedFile, all bool) {
	_, _ = fmt.Fprintf(w, "%s: %s\n", f.File, f.Format)
	for i := range f.Surveys {
		d := &f.Surveys[i]
		t := &figureTable{w: w}
		if d.Part != "" {
			_, _ = fmt.Fprintf(w, "\n%s\n", d.Part)
		}
		t.row("points", grouped(float64(d.Points), 0), "")
		if d.Breaklines > 0 {
			t.row("breaklines", grouped(float64(d.Breaklines), 0), "")
		}
		if d.Rings > 0 {
			t.row("boundary", grouped(float64(d.Rings), 0), "rings")
		}
		if d.Faces > 0 {
			t.row("faces", grouped(float64(d.Faces), 0), "")
		}
		if g := d.Grid; g != nil {
			t.row("grid", fmt.Sprintf("%d × %d", g.Cols, g.Rows), fmt.Sprintf("cells of %v × %v, %s with data", g.CellE, g.CellN, grouped(float64(g.Valid), 0)))
		}
		t.row("unit in the file", string(d.Unit), d.System)
		if d.Degrees {
			t.row("longitude", fmt.Sprintf("%.6f", d.MinE), fmt.Sprintf("to %.6f", d.MaxE))
			t.row("latitude", fmt.Sprintf("%.6f", d.MinN), fmt.Sprintf("to %.6f", d.MaxN))
		} else {
			t.row("easting", fmt.Sprintf("%.3f m", d.MinE), fmt.Sprintf("to %.3f m", d.MaxE))
			t.row("northing", fmt.Sprintf("%.3f m", d.MinN), fmt.Sprintf("to %.3f m", d.MaxN))
		}
		t.row("level", fmt.Sprintf("%.3f m", d.MinLevel), fmt.Sprintf("to %.3f m, mean of the points %.3f m", d.MaxLevel, d.MeanLevel))
		if s := d.Surface; s != nil {
			t.row("triangles", grouped(float64(s.Triangles), 0), "")
			t.row("area on plan (2-D)", grouped(s.Area2D, 3)+" m²", "")
			t.row("area on slope (3-D)", grouped(s.Area3D, 3)+" m²", "")
			t.row("above lowest point", grouped(s.Above, 3)+" m³", "")
			t.row("largest gap", grouped(s.Gap, 3)+" m", "from the nearest point")
		} else {
			_, _ = fmt.Fprintf(w, "  no surface: %s\n", d.NoSurface)
		}
		for k, x := range d.Warnings {
			if k == warningsShown && !all {
				_, _ = fmt.Fprintf(w, "and %d more warnings; --all lists them\n", len(d.Warnings)-k)
				break
			}
			_, _ = fmt.Fprintf(w, "warning: %s\n", x)
		}
	}
	_, _ = fmt.Fprintf(w, "\n%s\n", levelCaution)
}
