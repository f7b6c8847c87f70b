package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/grid"
)

const gridHelp = `Usage: swardbook grid EPSG:CODE LON,LAT ... [--shift-grid FILE] [--json]
       swardbook grid EPSG:CODE --back E,N ... [--shift-grid FILE] [--json]
       swardbook grid EPSG:CODE --area FILE [--level L] [--json]
       swardbook grid --control FILE [--hold-scale] [--json]

Coordinates between WGS 84 and a national grid, an area in its several senses,
or the fit of a site's own grid to its control points.

  LON,LAT            longitude first, degrees; results are metres
  --back             the positions are easting, northing in metres
  --shift-grid FILE  national grid of shifts (NTv2) supplied by you, instead of
                     the seven parameters; its SHA-256 is shown
  --area FILE        GeoJSON polygons in grid metres, or CSV
                     ring,easting,northing: area on the grid, on the ellipsoid
                     and on the ground at --level metres (default 0)
  --control FILE     CSV point,site_e,site_n,grid_e,grid_n: scale, rotation and
                     residuals by least squares, and which point looks wrong
  --hold-scale       with --control: keep the scale at 1
  --json             as JSON, rounded to 1e-9

Levels never pass through: a datum shift would change them by some 50 m.

Example: swardbook grid EPSG:27700 -1.5,52.5

Exit codes: 0 done, 1 failed (also: control that has to be accepted by a named
person first), 2 wrong call.
`

func runGrid(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("grid")
	back, area, level := f.Bool("back", false, ""), f.String("area", "", ""), f.Float64("level", 0, "")
	control, hold, shift := f.String("control", "", ""), f.Bool("hold-scale", false, ""), f.String("shift-grid", "", "")
	asJSON := f.Bool("json", false, "")
	args, positions := negatives(args)
	words, code, ended := parse(f, args, gridHelp, stdout, stderr)
	if ended {
		return code
	}
	if *control != "" {
		if len(words)+len(positions) > 0 || *area != "" || *shift != "" {
			return usageError(stderr, "grid", "--control takes no system and no positions")
		}
		return fitControl(*control, *hold, *asJSON, stdout, stderr)
	}
	if len(words) == 0 {
		return usageError(stderr, "grid", "name a system such as EPSG:27700")
	}
	number, err := strconv.Atoi(strings.TrimPrefix(strings.ToUpper(words[0]), "EPSG:"))
	if err != nil {
		return usageError(stderr, "grid", fmt.Sprintf("%q is no system; write its code, such as EPSG:27700", words[0]))
	}
	system, err := grid.ByEPSG(number)
	if err != nil {
		return failed(stderr, "grid", err)
	}
	if *shift != "" {
		if system, err = withShiftGrid(system, *shift); err != nil {
			return failed(stderr, "grid", err)
		}
	}
	if *area != "" {
		return gridAreas(system, *area, *level, *asJSON, stdout, stderr)
	}
	positions = append(words[1:], positions...)
	if len(positions) == 0 {
		return usageError(stderr, "grid", "give positions as LON,LAT, or --area FILE")
	}
	return convert(system, positions, *back, *asJSON, stdout, stderr)
}

// negatives takes positions that begin with a minus out of the arguments, for
// they look like options.
func negatives(args []string) (rest, positions []string) {
	for _, a := range args {
		if len(a) > 1 && a[0] == '-' && a[1] >= '0' && a[1] <= '9' && strings.Contains(a, ",") {
			positions = append(positions, a)
		} else {
			rest = append(rest, a)
		}
	}
	return rest, positions
}

func withShiftGrid(s *grid.System, path string) (*grid.System, error) {
	r, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }()
	g, err := grid.ReadShiftGrid(r, filepath.Base(path))
	if err != nil {
		return nil, err
	}
	return s.WithShiftGrid(g)
}

// converted is one position both ways.
type converted struct {
	Lon   float64 `json:"lon_deg"`
	Lat   float64 `json:"lat_deg"`
	E     float64 `json:"e_m"`
	N     float64 `json:"n_m"`
	Scale float64 `json:"scale"`
}

type convertedList struct {
	System    string      `json:"system"`
	Way       string      `json:"way"`
	AccuracyM float64     `json:"accuracy_m"`
	Positions []converted `json:"positions"`
}

func convert(s *grid.System, positions []string, back, asJSON bool, stdout, stderr io.Writer) int {
	out := convertedList{System: s.Name, Way: s.Way, AccuracyM: unit.Round9(s.AccuracyM)}
	for _, p := range positions {
		a, b, found := strings.Cut(p, ",")
		x, errX := strconv.ParseFloat(strings.TrimSpace(a), 64)
		y, errY := strconv.ParseFloat(strings.TrimSpace(b), 64)
		if !found || errX != nil || errY != nil {
			return usageError(stderr, "grid", fmt.Sprintf("%q is no position; write two numbers parted by a comma", p))
		}
		c := converted{Lon: x, Lat: y, E: x, N: y}
		var err error
		if back {
			c.Lon, c.Lat, err = s.ToWGS84(x, y)
		} else {
			c.E, c.N, err = s.FromWGS84(x, y)
		}
		if err != nil {
			return failed(stderr, "grid", err)
		}
		if c.Scale = unit.Round9(s.Scale(c.Lon, c.Lat)); math.IsNaN(c.Scale) {
			c.Scale = 0
		}
		c.Lon, c.Lat, c.E, c.N = unit.Round9(c.Lon), unit.Round9(c.Lat), unit.Round9(c.E), unit.Round9(c.N)
		out.Positions = append(out.Positions, c)
	}
	if asJSON {
		return writeJSON(stdout, stderr, "grid", out)
	}
	_, _ = fmt.Fprintf(stdout, "%s: %s\n", out.System, out.Way)
	if s.OwnUnit != "" {
		_, _ = fmt.Fprintf(stdout, "in metres; the system's own unit is the %s\n", s.OwnUnit)
	}
	for _, c := range out.Positions {
		_, _ = fmt.Fprintf(stdout, "  %13.8f %12.8f   E %.4f N %.4f   scale %.8f\n", c.Lon, c.Lat, c.E, c.N, c.Scale)
	}
	_, _ = fmt.Fprintf(stdout, "accuracy of the way: %v m\n", out.AccuracyM)
	return exitDone
}

type areaFigures struct {
	System    string  `json:"system"`
	Grid      float64 `json:"grid_m2"`
	Ellipsoid float64 `json:"ellipsoid_m2"`
	Ground    float64 `json:"ground_m2"`
	LevelM    float64 `json:"level_m"`
	Scale     float64 `json:"scale"`
}

func gridAreas(s *grid.System, path string, level float64, asJSON bool, stdout, stderr io.Writer) int {
	g := &ground{report: startProgress("grid", stderr)}
	defer g.report.stop()
	polygon, err := g.area(path)
	if err != nil {
		return failed(stderr, "grid", err)
	}
	sum := areaFigures{System: s.Name, LevelM: level}
	for _, part := range polygon.Rings() {
		var rings [][][2]float64
		for _, r := range part {
			var ring [][2]float64
			for _, p := range r {
				ring = append(ring, [2]float64(p))
			}
			rings = append(rings, ring)
		}
		a, err := s.Areas(level, rings...)
		if err != nil {
			return failed(stderr, "grid", err)
		}
		sum.Grid, sum.Ellipsoid, sum.Ground, sum.Scale = sum.Grid+a.GridM2, sum.Ellipsoid+a.EllipsoidM2, sum.Ground+a.GroundM2, a.Scale
	}
	sum.Grid, sum.Ellipsoid, sum.Ground, sum.Scale = unit.Round9(sum.Grid), unit.Round9(sum.Ellipsoid), unit.Round9(sum.Ground), unit.Round9(sum.Scale)
	g.report.stop()
	if asJSON {
		return writeJSON(stdout, stderr, "grid", sum)
	}
	_, _ = fmt.Fprintln(stdout, sum.System)
	t := &figureTable{w: stdout}
	t.row("on the grid", grouped(sum.Grid, 3)+" m²", "as drawings and surveys have it")
	t.row("on the ellipsoid", grouped(sum.Ellipsoid, 3)+" m²", fmt.Sprintf("scale of the grid %.8f", sum.Scale))
	t.row("on the ground", grouped(sum.Ground, 3)+" m²", fmt.Sprintf("at level %v m", level))
	return exitDone
}

type fitFigures struct {
	ScalePPM  float64       `json:"scale_ppm"`
	Rotation  float64       `json:"rotation_deg"`
	RMS       float64       `json:"rms_m"`
	A         float64       `json:"a"`
	B         float64       `json:"b"`
	TX        float64       `json:"tx_m"`
	TY        float64       `json:"ty_m"`
	Residuals []fitResidual `json:"residuals"`
	Trouble   string        `json:"trouble,omitempty"`
}

type fitResidual struct {
	Point   string   `json:"point"`
	E       float64  `json:"e_m"`
	N       float64  `json:"n_m"`
	Without *float64 `json:"rms_without_m,omitempty"`
}

func fitControl(path string, hold, asJSON bool, stdout, stderr io.Writer) int {
	pairs, err := readControl(path)
	if err != nil {
		return failed(stderr, "grid", err)
	}
	s, err := grid.FitSimilarity(pairs, hold)
	if err != nil {
		return failed(stderr, "grid", fmt.Errorf("%s: %w", filepath.Base(path), err))
	}
	r := unit.Round9
	out := fitFigures{ScalePPM: r(s.ScalePPM), Rotation: r(s.RotationDeg), RMS: r(s.RMSM), A: r(s.A), B: r(s.B), TX: r(s.TX), TY: r(s.TY)}
	for _, x := range s.Residuals {
		one := fitResidual{Point: x.Name, E: r(x.E), N: r(x.N)}
		if !math.IsNaN(x.RMSIf) {
			v := r(x.RMSIf)
			one.Without = &v
		}
		out.Residuals = append(out.Residuals, one)
	}
	if p, found := s.Suspect(); found {
		out.Trouble = fmt.Sprintf("point %s looks wrong: without it the fit is %.1f mm", p.Name, p.RMSWithout*1000)
	}
	code := exitDone
	if err := s.Acceptable(); err != nil {
		out.Trouble, code = err.Error(), exitFailed
	}
	if asJSON {
		if c := writeJSON(stdout, stderr, "grid", out); c != exitDone {
			return c
		}
		return code
	}
	t := &figureTable{w: stdout}
	t.row("scale", fmt.Sprintf("%+.2f ppm", s.ScalePPM), "a site grid on the ground shows about −400 against a national one")
	t.row("rotation", fmt.Sprintf("%.7f°", s.RotationDeg), "anticlockwise")
	t.row("rms", fmt.Sprintf("%.1f mm", s.RMSM*1000), "")
	for _, x := range out.Residuals {
		remark := ""
		if x.Without != nil {
			remark = fmt.Sprintf("without it %.1f mm rms", *x.Without*1000)
		}
		t.row(x.Point, fmt.Sprintf("%+.1f / %+.1f mm", x.E*1000, x.N*1000), remark)
	}
	if out.Trouble != "" {
		_, _ = fmt.Fprintf(stdout, "warning: %s\n", out.Trouble)
	}
	return code
}

// readControl reads pairs of coordinates; every bad row is named.
func readControl(path string) ([]grid.Pair, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	name := filepath.Base(path)
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var out []grid.Pair
	for i, r := range rows {
		if i == 0 {
			continue // the header
		}
		if len(r) < 5 {
			return nil, fmt.Errorf("%s line %d: five columns are needed: point,site_e,site_n,grid_e,grid_n", name, i+1)
		}
		var v [4]float64
		for k := range v {
			if v[k], err = strconv.ParseFloat(strings.TrimSpace(r[k+1]), 64); err != nil {
				return nil, fmt.Errorf("%s line %d, column %s: %q is not a number in metres", name, i+1, rows[0][k+1], r[k+1])
			}
		}
		out = append(out, grid.Pair{Name: r[0], SiteE: v[0], SiteN: v[1], GridE: v[2], GridN: v[3]})
	}
	return out, nil
}
