package main

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/geo/surface"
	"github.com/swardbook/swardbook/server/api"
)

const levelsHelp = `Usage: swardbook levels --before A --after B --tolerance T [options]

How far the ground after the works keeps to the ground before: the share of the
area whose level differs by at most the tolerance, from worst to best when the
surveys' accuracy is taken into account.

  --before A         survey of the ground as it was, or as it should be
  --after B          survey of the ground as it is
  --within P         only inside this area: GeoJSON polygons in site grid
                     metres, or CSV ring,easting,northing (ring 0 outer,
                     others holes); default: where both surveys reach
  --tolerance T      allowed difference of level, ± metres
  --accuracy A       accuracy of a level difference, ± metres, default 0
  --breaklines-before F, --breaklines-after F
                     breaklines of a survey: CSV from,to with point names,
                     CSV line,easting,northing,level, or GeoJSON with levels
  --json             figures as JSON, rounded to 1e-9
` + extrasHelp + surveyOptionsHelp + `
max above is how far the ground stands too high, max below how far too low; both
are 0 or more. "Doubtful" is the area whose difference lies within the accuracy
of the tolerance. Areas are grid areas.

Example: swardbook levels --before pre.csv --after post.csv --within field.geojson --tolerance 0.15 --accuracy 0.02

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runLevels(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	f := flags("levels")
	before, after, within := f.String("before", "", ""), f.String("after", "", ""), f.String("within", "", "")
	linesBefore, linesAfter := f.String("breaklines-before", "", ""), f.String("breaklines-after", "", "")
	tolerance, accuracy, asJSON := f.Float64("tolerance", 0, ""), f.Float64("accuracy", 0, ""), f.Bool("json", false, "")
	var sf surveyFlags
	sf.register(f)
	var x extraFlags
	x.register(f)
	words, code, ended := parse(f, args, levelsHelp, stdout, stderr)
	if ended {
		return code
	}
	switch {
	case len(words) > 0:
		return usageError(stderr, "levels", fmt.Sprintf("it takes no word %q; name the surveys with --before and --after", words[0]))
	case *before == "" || *after == "":
		return usageError(stderr, "levels", "name two surveys with --before and --after")
	case !(*tolerance > 0):
		return usageError(stderr, "levels", "state the tolerance in metres, such as --tolerance 0.15")
	}
	report := startProgress("levels", stderr)
	defer report.stop()
	g, err := newGround(&sf, stdin, report)
	if err == nil {
		err = checkTolerance(*tolerance, *accuracy)
	}
	if err == nil {
		err = x.check(f)
	}
	if err != nil {
		return usageError(stderr, "levels", err.Error())
	}
	area, err := g.area(*within)
	if err != nil {
		return failed(stderr, "levels", err)
	}
	opts := surface.CompareOptions{ToleranceM: *tolerance, AccuracyM: *accuracy}
	x.zoneOptions, x.tolerance, x.compared = opts, *tolerance, filepath.Base(*after)+" less "+filepath.Base(*before)
	d, both, err := g.between(*before, *after, []string{*linesBefore}, []string{*linesAfter}, area, opts)
	if err != nil {
		return failed(stderr, "levels", inDegrees(err, area))
	}
	g.coverage(d)
	out := figures{Figures: api.FiguresOf(d, g.warnings)}
	if err := g.extras(&x, both, d, &out); err != nil {
		return failed(stderr, "levels", err)
	}
	report.stop()
	if *asJSON {
		return writeJSON(stdout, stderr, "levels", out)
	}
	printLevels(stdout, d, &out)
	return exitDone
}

// printVolume writes the figures for people: volumes and areas to a tenth,
// levels to a millimetre, as no survey carries more.
func printVolume(w io.Writer, d surface.Difference, mound *surface.Mound, out *figures) {
	fill, cut := "fill", "cut"
	if mound != nil {
		fill, cut = "above the base", "below the base"
	}
	t := &figureTable{w: w}
	t.row(fill, grouped(d.FillM3, 1)+" m³", "over "+grouped(d.FillAreaM2, 1)+" m²")
	t.row(cut, grouped(d.CutM3, 1)+" m³", "over "+grouped(d.CutAreaM2, 1)+" m²")
	t.row("net", signed(d.NetM3, 1)+" m³", "above less below")
	t.row("area compared", grouped(d.PlanAreaM2, 1)+" m²", "")
	if mound != nil {
		t.row("height over the base", grouped(mound.HeightM, 3)+" m", "")
		t.row("steepest face", steepness(mound.SteepestFaceRatio), "")
	}
	differenceRows(t, d)
	bandRows(t, d)
	caution := levelCaution
	if mound != nil {
		caution = moundCaution + "\n" + levelCaution
	}
	printExtras(w, out)
	closing(w, out.Warnings, caution)
}

// printLevels writes how much of the ground keeps within the tolerance.
func printLevels(w io.Writer, d surface.Difference, out *figures) {
	t := &figureTable{w: w}
	t.row("area compared", grouped(d.PlanAreaM2, 1)+" m²", "")
	bandRows(t, d)
	differenceRows(t, d)
	t.row("too high", grouped(d.FillM3, 1)+" m³", "over "+grouped(d.FillAreaM2, 1)+" m²")
	t.row("too low", grouped(d.CutM3, 1)+" m³", "over "+grouped(d.CutAreaM2, 1)+" m²")
	printExtras(w, out)
	closing(w, out.Warnings, levelCaution)
}

func differenceRows(t *figureTable, d surface.Difference) {
	t.row("max above", grouped(d.MaxAboveM, 3)+" m", "")
	t.row("max below", grouped(d.MaxBelowM, 3)+" m", "")
	t.row("mean difference", signed(d.MeanM, 3)+" m", "")
	t.row("rms difference", grouped(d.RMSM, 3)+" m", "")
}

func bandRows(t *figureTable, d surface.Difference) {
	b := d.Band
	if b == nil {
		return
	}
	t.row(fmt.Sprintf("within ±%s m", plain(b.ToleranceM)), grouped(b.WithinAreaM2, 1)+" m²", percent(b.WithinShare)+" of the area")
	if b.AccuracyM > 0 {
		t.row("doubtful", grouped(b.DoubtfulAreaM2, 1)+" m²", fmt.Sprintf("at ±%s m accuracy: from %s to %s within", plain(b.AccuracyM), percent(b.WorstShare), percent(b.BestShare)))
	}
}

func closing(w io.Writer, warnings []string, caution string) {
	var b strings.Builder
	for _, x := range warnings {
		b.WriteString("warning: " + x + "\n")
	}
	b.WriteString("\n" + caution + "\n")
	_, _ = io.WriteString(w, b.String())
}

// figureTable writes rows of a label, a figure flush right and a remark.
type figureTable struct{ w io.Writer }

func (t *figureTable) row(label, figure, remark string) {
	pad := func(s string, width int) string { return strings.Repeat(" ", max(width-len([]rune(s)), 0)) }
	line := "  " + label + pad(label, 22) + pad(figure, 18) + figure
	if remark != "" {
		line += "   " + remark
	}
	_, _ = fmt.Fprintln(t.w, line)
}

// grouped writes a number with thousands parted by commas.
func grouped(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, rest, _ := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	if v < 0 && strings.Trim(s, "0.") != "" {
		return "−" + whole
	}
	return whole
}

// signed is grouped with a plus before what is above 0.
func signed(v float64, decimals int) string {
	s := grouped(v, decimals)
	if v > 0 && strings.Trim(s, "0.,") != "" {
		return "+" + s
	}
	return s
}

func percent(share float64) string { return strconv.FormatFloat(100*share, 'f', 2, 64) + " %" }

// steepness writes rise over run as a slope of 1 in so much and in degrees.
func steepness(ratio float64) string {
	if ratio <= 0 {
		return "level"
	}
	return fmt.Sprintf("1 in %s (%.1f°)", strconv.FormatFloat(1/ratio, 'f', 2, 64), math.Atan(ratio)*180/math.Pi)
}
