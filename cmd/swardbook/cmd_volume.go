package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/geo/survey"
	"github.com/swardbook/swardbook/server/api"
)

const volumeHelp = `Usage: swardbook volume --from A --to B [options]
       swardbook volume --from A --base level:101|toe|FILE [options]

Cut and fill between two ground surveys, triangles against triangles: A is the
earlier, B the later; fill where the ground rose, cut where it fell. With
--base and one survey: what stands above the base (fill) and below it (cut).

  --from A           earlier survey
  --to B             later survey
  --within P         only inside this area: GeoJSON polygons in site grid
                     metres, or CSV ring,easting,northing (ring 0 outer,
                     others holes)
  --base BASE        level:L for a plane at level L in metres; toe for the
                     ground spanned from the outline of --within, with the
                     outline's own levels or those of the survey along it;
                     or a FILE with the ground as it was
  --breaklines F     breaklines of the surveys: CSV from,to with point names,
                     CSV line,easting,northing,level, or GeoJSON with levels
  --breaklines-from F, --breaklines-to F   of one survey only
  --tolerance T      also the area with a difference of at most T metres
  --accuracy A       accuracy of a level difference in metres, default 0: the
                     area that this puts in doubt
  --json             figures as JSON, rounded to 1e-9
` + extrasHelp + surveyOptionsHelp + `
max above is the largest rise of the ground, max below the largest fall; both
are 0 or more. Areas and volumes are grid areas and volumes.

Example: swardbook volume --from before.csv --to after.csv --within area.geojson

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runVolume(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	f := flags("volume")
	from, to, base, within := f.String("from", "", ""), f.String("to", "", ""), f.String("base", "", ""), f.String("within", "", "")
	lines, linesFrom, linesTo := f.String("breaklines", "", ""), f.String("breaklines-from", "", ""), f.String("breaklines-to", "", "")
	tolerance, accuracy, asJSON := f.Float64("tolerance", 0, ""), f.Float64("accuracy", 0, ""), f.Bool("json", false, "")
	var sf surveyFlags
	sf.register(f)
	var x extraFlags
	x.register(f)
	words, code, ended := parse(f, args, volumeHelp, stdout, stderr)
	if ended {
		return code
	}
	one := (*from == "") != (*to == "")
	switch {
	case len(words) > 0:
		return usageError(stderr, "volume", fmt.Sprintf("it takes no word %q; name the surveys with --from and --to", words[0]))
	case *base == "" && (*from == "" || *to == ""):
		return usageError(stderr, "volume", "name two surveys with --from and --to, or one of them and a --base")
	case *base != "" && !one:
		return usageError(stderr, "volume", "with --base name one survey, --from or --to")
	case *base == "toe" && *within == "":
		return usageError(stderr, "volume", "--base toe needs --within: its outline is the toe")
	}
	report := startProgress("volume", stderr)
	defer report.stop()
	g, err := newGround(&sf, stdin, report)
	if err == nil {
		err = checkTolerance(*tolerance, *accuracy)
	}
	if err == nil {
		err = x.check(f)
	}
	if err != nil {
		return usageError(stderr, "volume", err.Error())
	}
	opts := surface.CompareOptions{ToleranceM: *tolerance, AccuracyM: *accuracy}
	area, err := g.area(*within)
	if err != nil {
		return failed(stderr, "volume", err)
	}
	var mound *surface.Mound
	var d surface.Difference
	var both pair
	x.zoneOptions, x.tolerance = opts, *tolerance
	if *base == "" {
		x.compared = filepath.Base(*to) + " less " + filepath.Base(*from)
		d, both, err = g.between(*from, *to, []string{*lines, *linesFrom}, []string{*lines, *linesTo}, area, opts)
	} else {
		x.compared = filepath.Base(*from+*to) + " over " + *base
		mound, both, err = g.over(*from+*to, *base, []string{*lines, *linesFrom, *linesTo}, area, opts)
		if mound != nil {
			d = mound.Difference
		}
	}
	if err != nil {
		return failed(stderr, "volume", inDegrees(err, area))
	}
	g.coverage(d)
	out := figures{Figures: api.FiguresOf(d, g.warnings)}
	if err := g.extras(&x, both, d, &out); err != nil {
		return failed(stderr, "volume", err)
	}
	report.stop()
	if *asJSON {
		return writeJSON(stdout, stderr, "volume", out)
	}
	printVolume(stdout, d, mound, &out)
	return exitDone
}

func checkTolerance(t, a float64) error {
	if !(t >= 0) || !(a >= 0) || math.IsInf(t+a, 0) {
		return fmt.Errorf("--tolerance and --accuracy are metres, 0 or more")
	}
	if a > 0 && t == 0 {
		return fmt.Errorf("--accuracy says what a tolerance leaves in doubt; give --tolerance too")
	}
	return nil
}

// between compares two surveys.
func (g *ground) between(from, to string, linesFrom, linesTo []string, area *plan.Polygon, opts surface.CompareOptions) (surface.Difference, pair, error) {
	before, err := g.surface(from, linesFrom...)
	if err != nil {
		return surface.Difference{}, pair{}, err
	}
	after, err := g.surface(to, linesTo...)
	if err != nil {
		return surface.Difference{}, pair{}, err
	}
	g.report.step("comparing")
	d, err := surface.Compare(before, after, area, opts)
	return d, pair{before: before, after: after, area: area}, err
}

// over compares one survey with a base.
func (g *ground) over(path, base string, lines []string, area *plan.Polygon, opts surface.CompareOptions) (*surface.Mound, pair, error) {
	s, err := g.surface(path, lines...)
	if err != nil {
		return nil, pair{}, err
	}
	var b surface.Base
	switch text, isLevel := strings.CutPrefix(base, "level:"); {
	case isLevel:
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, pair{}, fmt.Errorf("--base %s: %q is not a level in metres", base, text)
		}
		b = surface.LevelBase(v)
	case base == "toe":
		b = toeOf(area)
	default:
		under, err := g.surface(base)
		if err != nil {
			return nil, pair{}, err
		}
		b = surface.SurfaceBase(under)
	}
	g.report.step("comparing")
	m, err := surface.StockpileBand(s, b, area, opts)
	if err != nil {
		return nil, pair{}, err
	}
	return &m, pair{after: s, base: b, area: area}, nil
}

// toeOf takes the toe's levels from the outline when every corner of its one
// ring has one, else from the survey.
func toeOf(area *plan.Polygon) surface.Base {
	levels, rings := area.Levels(), area.Rings()
	if len(rings) != 1 || len(rings[0]) != 1 || len(levels) != len(rings[0][0]) {
		return surface.ToeFromSurface()
	}
	var toe []survey.Vertex
	for i, p := range rings[0][0] {
		if math.IsNaN(levels[i]) {
			return surface.ToeFromSurface()
		}
		toe = append(toe, survey.Vertex{E: p[0], N: p[1], Level: levels[i]})
	}
	return surface.ToeBase(toe)
}
