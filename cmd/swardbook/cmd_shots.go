package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/vibration"
)

const shotsHelp = `Usage: swardbook shots LOG.csv --distance COL --charge COL --ppv COL [options]

Fits the site's own law of blast vibration to a log of shots, lg PPV against lg
of scaled distance (m/√kg) by least squares, and reads charges from it.

  --distance COL   column of the distance, m
  --charge COL     column of the greatest charge in one delay, kg
  --ppv COL        column of the peak particle velocity, mm/s
  --share P        share of shots that stay under the upper line (default 95 %)
  --limit MM/S     a limit, mm/s, with --at: the largest charge for it
  --at M           a distance, m
  --weight KG      a charge, kg, with --at: the velocity to expect
  --json           as JSON

Shots that were not noticed (blank, or 0) cannot enter the line; they are counted.
At least ten shots are needed, over scaled distances from one to twice as much,
whose velocity falls as they grow, and nothing is said outside them. Charges are
rounded down. Whether anything is fired is the licensed shotfirer's to say.
Before there are ten: "swardbook vibration blast".

Example: swardbook shots blasts.csv --distance d_m --charge w_kg --ppv ppv_mm_s \
           --limit 6 --at 300

Exit codes: 0 done, 1 failed, 2 wrong call.
`

// shotFigures is what a log of shots shows.
type shotFigures struct {
	Shots        int      `json:"shots"`
	NotNoticed   int      `json:"not_noticed"`
	A            float64  `json:"a"`
	B            float64  `json:"b"`
	Spread       float64  `json:"spread"`
	R2           float64  `json:"r2"`
	K50          float64  `json:"k50"`
	K            float64  `json:"k"`
	Share        float64  `json:"share"`
	Over         int      `json:"over"`
	ScaledLeast  float64  `json:"scaled_least"`
	ScaledMost   float64  `json:"scaled_most"`
	Charge       *float64 `json:"largest_charge_kg,omitempty"`
	ChargeScaled *float64 `json:"least_scaled_distance,omitempty"`
	Half         *float64 `json:"ppv_half,omitempty"`
	Upper        *float64 `json:"ppv_upper,omitempty"`
	Next         *float64 `json:"ppv_next_shot,omitempty"`
	Caution      string   `json:"caution"`
}

func runShots(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("shots")
	distance, charge, ppv := f.String("distance", "", ""), f.String("charge", "", ""), f.String("ppv", "", "")
	part, asJSON := f.String("share", "95 %", ""), f.Bool("json", false, "")
	limit, at, weight := f.Float64("limit", 0, ""), f.Float64("at", 0, ""), f.Float64("weight", 0, "")
	words, code, ended := parse(f, args, shotsHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) != 1 || *distance == "" || *charge == "" || *ppv == "" {
		return usageError(stderr, "shots", "it needs one LOG, --distance, --charge and --ppv")
	}
	for name, given := range map[string]*float64{"limit": limit, "at": at, "weight": weight} {
		if *given < 0 || math.IsNaN(*given) || math.IsInf(*given, 0) {
			return usageError(stderr, "shots", "--"+name+" is a figure above 0")
		}
	}
	if (*limit > 0 || *weight > 0) != (*at > 0) {
		return usageError(stderr, "shots", "--at goes with --limit or --weight")
	}
	p, err := share(*part)
	if err != nil || p < 0.5 || p >= 1 {
		return usageError(stderr, "shots", "--share is from 50 % to below 100 %")
	}
	shots, quiet, err := readShots(words[0], *distance, *charge, *ppv)
	if err != nil {
		return failed(stderr, "shots", err)
	}
	fit, err := vibration.FitShots(shots)
	if err != nil {
		return failed(stderr, "shots", fmt.Errorf("%s: %w", words[0], err))
	}
	out := shotFigures{Shots: fit.N, NotNoticed: quiet, A: fit.A, B: fit.B, Spread: fit.Spread, R2: fit.R2, K50: fit.K(0.5), K: fit.K(p), Share: p,
		Over: fit.Over(shots, p), ScaledLeast: fit.Least, ScaledMost: fit.Most, Caution: catalogue.Caution("blast")}
	keep := func(into **float64, v float64, e error) {
		if err == nil {
			err = e
		}
		*into = &v
	}
	if *limit > 0 {
		sd, e := fit.LeastScaled(*limit, p)
		keep(&out.ChargeScaled, sd, e)
		kg, e := fit.LargestCharge(*at, *limit, p)
		keep(&out.Charge, kg, e)
	}
	if *weight > 0 {
		half, e := fit.PPV(*at, *weight, 0.5)
		keep(&out.Half, half, e)
		upper, e := fit.PPV(*at, *weight, p)
		keep(&out.Upper, upper, e)
		next, e := fit.NextPPV(*at, *weight, p)
		keep(&out.Next, next, e)
	}
	if err != nil {
		return failed(stderr, "shots", fmt.Errorf("%s: %w", words[0], err))
	}
	if *asJSON {
		enc := json.NewEncoder(stdout)
		enc.SetIndent("", "  ")
		_ = enc.Encode(out)
		return exitDone
	}
	printShots(stdout, &out, *limit, *at, *weight)
	return exitDone
}

func printShots(w io.Writer, s *shotFigures, limit, at, weight float64) {
	p := func(format string, args ...any) { _, _ = fmt.Fprintf(w, format+"\n", args...) }
	p("%d shots, %d more not noticed; scaled distances from %.1f to %.1f m/√kg", s.Shots, s.NotNoticed, s.ScaledLeast, s.ScaledMost)
	p("lg PPV = %.4f %+.4f·lg SD, spread %.4f, r² %.4f", s.A, s.B, s.Spread, s.R2)
	p("half of the shots:   PPV = %.1f·SD^%.4f", s.K50, s.B)
	p("%.4g %% of the shots: PPV = %.1f·SD^%.4f; %d of these shots lie above it", 100*s.Share, s.K, s.B, s.Over)
	if s.Charge != nil {
		p("for %g mm/s at %g m: scaled distance at least %.3f m/√kg, charge in one delay at most %.2f kg", limit, at, *s.ChargeScaled, *s.Charge)
	}
	if s.Upper != nil {
		p("%g kg at %g m: %.2f mm/s by half, %.2f by %.4g %%, %.2f for the next single shot", weight, at, *s.Half, *s.Upper, 100*s.Share, *s.Next)
	}
	p("")
	p("%s", s.Caution)
}

// readShots reads the columns of a log; rows without a velocity are counted.
func readShots(path string, names ...string) (shots []vibration.Shot, quiet int, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer func() { _ = f.Close() }()
	r := csv.NewReader(f)
	head, err := r.Read()
	if err != nil {
		return nil, 0, fmt.Errorf("%s:1: no row of column names: %w", path, err)
	}
	var at [3]int
	for i, name := range names {
		if at[i] = slices.Index(head, name); at[i] < 0 {
			return nil, 0, fmt.Errorf("%s:1: there is no column %q; it has %s", path, name, strings.Join(head, ", "))
		}
	}
	for {
		row, err := r.Read()
		if err == io.EOF {
			return shots, quiet, nil
		}
		if err != nil {
			return nil, 0, fmt.Errorf("%s: %w", path, err)
		}
		line, _ := r.FieldPos(0)
		var v [3]float64
		for i, k := range at {
			text := strings.TrimSpace(row[k])
			if i == 2 && (text == "" || strings.HasPrefix(text, "<")) {
				continue
			}
			if v[i], err = strconv.ParseFloat(text, 64); err != nil {
				return nil, 0, fmt.Errorf("%s:%d: column %s: %q is no number", path, line, names[i], text)
			}
		}
		if v[2] == 0 {
			quiet++
			continue
		}
		shots = append(shots, vibration.Shot{DistanceM: v[0], ChargeKG: v[1], PPV: v[2]})
	}
}
