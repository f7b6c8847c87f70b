package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/vibration"
)

const vibrationHelp = `Usage: swardbook vibration blast --distance M [--charge KG]
       swardbook vibration machine NAME --distance M [--limit MM/S]
       swardbook vibration curve NAME --ppv MM/S --hz HZ
       swardbook vibration air DB --lowest-hz HZ
       swardbook vibration day NUMBER --seconds S [--concrete]
       swardbook vibration share NUMBER [--percent 95]
       swardbook vibration vector MM/S MM/S MM/S

What published laws and limits say where a site has no shots of its own yet:
"swardbook shots" fits those once there are ten.

  blast      scaled distances of a charge in one delay, the range of velocity and
             of air overpressure to expect, and without --charge the largest
             charge by the least scaled distance of two published rules
  machine    velocity of a construction machine at a distance, and how far it
             reaches above a limit; machines: "swardbook vibration machine list"
  curve      a velocity held against a limit that depends on frequency, which
             must be that of the same axis; curves: "… curve list"
  air        a peak level, dB linear, held against the limit for an instrument
             that responds from so many Hz up
  day        the factor on a day's limit for so many blasts, each so long (BS
             6472-2, from memory)
  share      how many of so many shots may be over for a share that may not
  vector     an upper bound of the vector sum of component peaks

Example: swardbook vibration blast --distance 300

Exit codes: 0 done, or within the limit; 1 failed; 2 wrong call; 3 over the limit;
4 cannot be judged.
`

// curves are the limits by frequency that can be named.
var curves = map[string]*vibration.Curve{
	"din-industrial": &vibration.DIN4150Industrial, "din-dwelling": &vibration.DIN4150Dwelling, "din-sensitive": &vibration.DIN4150Sensitive,
	"bs7385-dwelling": &vibration.BS7385Dwelling, "rhode-island": &vibration.RhodeIsland,
}

var curveNames = []string{"din-industrial", "din-dwelling", "din-sensitive", "bs7385-dwelling", "rhode-island"}

func runVibration(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("vibration")
	var v vibrationAsked
	for name, to := range map[string]*float64{"distance": &v.metres, "charge": &v.kg, "limit": &v.limit, "ppv": &v.ppv, "hz": &v.hz, "lowest-hz": &v.lowest, "seconds": &v.seconds} {
		f.Float64Var(to, name, 0, "")
	}
	f.BoolVar(&v.concrete, "concrete", false, "")
	f.IntVar(&v.percent, "percent", 95, "")
	words, code, ended := parse(f, args, vibrationHelp, stdout, stderr)
	if ended {
		return code
	}
	for name, given := range map[string]float64{"distance": v.metres, "charge": v.kg, "limit": v.limit, "ppv": v.ppv, "hz": v.hz, "lowest-hz": v.lowest, "seconds": v.seconds} {
		if given < 0 || math.IsNaN(given) || math.IsInf(given, 0) {
			return usageError(stderr, "vibration", "--"+name+" is a figure above 0")
		}
	}
	v.print = func(format string, args ...any) { _, _ = fmt.Fprintf(stdout, format+"\n", args...) }
	subject, rest := "", ""
	if len(words) > 0 {
		subject, rest = words[0], strings.Join(words[1:], " ")
	}
	var err error
	caution := "vibration"
	switch {
	case subject == "blast" && rest == "":
		caution, err = "blast", v.blast()
	case subject == "machine":
		code, err = v.machine(rest)
	case subject == "curve":
		code, err = v.curve(rest)
	case subject == "air":
		caution = "blast"
		code, err = v.air(rest)
	case subject == "day" || subject == "share" || subject == "vector":
		caution, err = "blast", v.count(subject, words[1:])
	default:
		return usageError(stderr, "vibration", "say blast, machine, curve, air, day, share or vector")
	}
	var usage *callError
	switch {
	case errors.As(err, &usage):
		return usageError(stderr, "vibration", usage.words)
	case err != nil:
		_ = failed(stderr, "vibration", err)
		if code == exitCannotBeJudged {
			return code
		}
		return exitFailed
	}
	v.print("\n%s", catalogue.Caution(caution))
	return code
}

// callError is a call that lacks something.
type callError struct{ words string }

func (e *callError) Error() string { return e.words }

func lacks(words string) error { return &callError{words} }

// vibrationAsked is one call.
type vibrationAsked struct {
	metres, kg, limit, ppv, hz, lowest, seconds float64

	concrete bool
	percent  int
	print    func(format string, args ...any)
}

// floor2 rounds a charge down to two decimals.
func floor2(v float64) float64 { return math.Floor(v*100) / 100 }

func (v *vibrationAsked) blast() error {
	if v.metres == 0 {
		return lacks("blast needs --distance")
	}
	feet := v.metres / vibration.MetresPerFoot
	if v.kg == 0 {
		scaled, err := vibration.InBand(vibration.ScaledByDistance, feet)
		if err != nil {
			return err
		}
		for _, rule := range []struct {
			name   string
			scaled float64
		}{{"30 CFR 816.67(d), where nothing is measured", scaled}, {"Rhode Island General Laws § 23-28.28-9", 70}} {
			lb, err := vibration.LargestCharge(feet, rule.scaled)
			if err != nil {
				return err
			}
			v.print("%s", rule.name)
			v.print("  distance %g m = %.2f ft; scaled distance at least %g ft/lb½ = %.3f m/kg½", v.metres, feet, rule.scaled, rule.scaled/vibration.SquareRootFactor)
			v.print("  charge in one delay, any 8 ms, at most (%.2f/%g)² = %.2f lb = %.2f kg, rounded down", feet, rule.scaled, floor2(lb), floor2(lb*vibration.KilogramsPerPound))
		}
		v.print("Below 300 ft and beyond 5000 ft other steps of the rule hold; the charge is less just beyond 300 ft than at it.")
		return nil
	}
	square, cube := vibration.ScaledDistance(v.kg, v.metres), vibration.CubeRootDistance(v.kg, v.metres)
	v.print("%g kg in one delay at %g m: scaled distance %.3f m/√kg (%.2f ft/lb½), %.3f m/∛kg (%.2f ft/lb⅓)", v.kg, v.metres, square, square*vibration.SquareRootFactor, cube, cube*vibration.CubeRootFactor)
	v.print("ground, California DOT 2013, equation 13:")
	for _, l := range []struct {
		name string
		law  vibration.PowerLaw
	}{{"little confined", vibration.PPVLeast}, {"confined as usual", vibration.PPVUpper}, {"very confined", vibration.PPVVeryConfined}, {"coal, mean*", vibration.CoalMean}, {"coal, upper*", vibration.CoalUpper}} {
		m := l.law.Metric()
		v.print("  %-18s %.2f·%.3f^-%.2f = %.2f mm/s", l.name, m.K, square, m.N, m.At(square))
	}
	v.print("  * US Bureau of Mines RI 8507, from memory")
	v.print("air, California DOT 2013, equation 14:")
	for _, l := range []struct {
		name string
		law  vibration.PowerLaw
	}{{"confined, least", vibration.AirLeast}, {"confined, greatest", vibration.AirConfined}, {"not confined", vibration.AirUnconfined}} {
		pa := vibration.FromPSI(l.law.At(cube * vibration.CubeRootFactor))
		db, err := vibration.PeakLevel(pa)
		if err != nil {
			return err
		}
		v.print("  %-18s %.2f Pa = %.1f dB linear peak", l.name, pa, db)
	}
	return nil
}

func (v *vibrationAsked) machine(name string) (int, error) {
	if name == "list" || name == "" {
		for _, m := range vibration.Machines {
			v.print("%-36s %.3f in/s at 25 ft", m.Name, m.PPV)
		}
		return exitDone, nil
	}
	if v.metres == 0 {
		return exitUsage, lacks("machine needs --distance")
	}
	for _, m := range vibration.Machines {
		if m.Name != name {
			continue
		}
		mms, err := m.At(v.metres)
		if err != nil {
			return exitFailed, err
		}
		v.print("%s: %.3f in/s at 25 ft, by FTA 2006 table 12-2", m.Name, m.PPV)
		v.print("at %g m: %.3f × 25.4 × (25/%.2f)^1.5 = %.3f mm/s", v.metres, m.PPV, v.metres/vibration.MetresPerFoot, mms)
		v.print("velocity level %.1f dB re 10⁻⁶ in/s", vibration.Level(mms))
		if v.limit == 0 {
			return exitDone, nil
		}
		reach, err := m.Reaches(v.limit)
		if err != nil {
			return exitFailed, err
		}
		v.print("%g mm/s is reached %.2f m away", v.limit, reach)
		if mms > v.limit {
			return exitNotComplied, nil
		}
		return exitDone, nil
	}
	return exitUsage, lacks(fmt.Sprintf("there is no machine %q; \"swardbook vibration machine list\" names them", name))
}

func (v *vibrationAsked) curve(name string) (int, error) {
	if name == "list" || name == "" {
		for _, n := range curveNames {
			v.print("%-16s %s", n, curves[n].Name)
		}
		return exitDone, nil
	}
	c := curves[name]
	if c == nil {
		return exitUsage, lacks(fmt.Sprintf("there is no curve %q; \"swardbook vibration curve list\" names them", name))
	}
	if v.ppv == 0 {
		return exitUsage, lacks("curve needs --ppv and the --hz that goes with it")
	}
	h, err := c.Hold(v.ppv, v.hz)
	if err != nil {
		return exitCannotBeJudged, err
	}
	v.print("%s: at %g Hz %.2f mm/s (between its points %s)", c.Name, v.hz, h.Limit, c.Run)
	v.print("%g mm/s: margin %+.2f mm/s", v.ppv, h.Margin)
	if h.Margin < 0 {
		return exitNotComplied, nil
	}
	return exitDone, nil
}

func (v *vibrationAsked) air(level string) (int, error) {
	var db float64
	if _, err := fmt.Sscanf(level, "%g", &db); err != nil {
		return exitUsage, lacks(fmt.Sprintf("%q is no level in dB; write a figure such as 128", level))
	}
	a, err := vibration.HoldAir(db, v.lowest, vibration.AirLimitsCFR)
	if err != nil {
		return exitCannotBeJudged, err
	}
	v.print("%g dB linear peak is %.2f Pa (%.5f psi)", db, vibration.PeakPressure(db), vibration.PSI(vibration.PeakPressure(db)))
	v.print("30 CFR 816.67(b)(1), an instrument that is flat from %g Hz: %g dB; margin %+.1f dB", v.lowest, a.Limit, a.Margin)
	if a.Margin < 0 {
		return exitNotComplied, nil
	}
	return exitDone, nil
}

// count answers what goes by numbers of blasts, and by components.
func (v *vibrationAsked) count(subject string, words []string) error {
	figures := make([]float64, len(words))
	for i, w := range words {
		x, err := strconv.ParseFloat(w, 64)
		if err != nil || !(x >= 0) || math.IsInf(x, 0) {
			return lacks(fmt.Sprintf("%q is no figure", w))
		}
		figures[i] = x
	}
	switch {
	case subject == "vector" && len(figures) > 0:
		v.print("√Σv² = %.3f mm/s: an upper bound, as the peaks need not fall together; criteria name single axes", vibration.VectorBound(figures...))
		return nil
	case len(figures) != 1 || figures[0] != math.Trunc(figures[0]):
		return lacks(subject + " needs one whole number of blasts")
	case subject == "share":
		v.print("of %g shots %d may be over so that %d %% are not", figures[0], vibration.MostOver(int(figures[0]), v.percent), v.percent)
		return nil
	}
	f, err := vibration.ManyBlasts(int(figures[0]), v.seconds, v.concrete)
	if err != nil {
		return err
	}
	v.print("1.7·N^-0.5·T^-d = %.4f of the limit for up to three blasts a day (BS 6472-2:2008, from memory)", f)
	return nil
}
