package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/compliance/vibration"
)

const vibrationHelp = `Usage: swardbook vibration blast --distance M [--charge KG]
       swardbook vibration machine NAME --distance M [--limit MM/S]
       swardbook vibration curve NAME --ppv MM/S --hz HZ
       swardbook vibration air DB --lowest-hz HZ [--approved]
       swardbook vibration day NUMBER --seconds S [--concrete] [--limit MM/S]
       swardbook vibration share NUMBER [--percent 95]
       swardbook vibration vector MM/S MM/S MM/S

What published laws and limits say where a site has no shots of its own yet:
"swardbook shots" fits those once there are ten.

  blast      scaled distances of a charge in one delay, the range of velocity and
             of air overpressure to expect, and without --charge the largest
             charge by the least scaled distance of two published rules, with the
             velocity the one allows at that distance
  machine    velocity of a construction machine at a distance, and how far it
             reaches above a limit, or above the criteria of damage by kind of
             building; machines: "swardbook vibration machine list"
  curve      a velocity held against a limit that depends on frequency, which
             must be that of the same axis; curves: "… curve list"
  air        a peak level, dB linear, held against the limit for an instrument
             that responds from so many Hz up; --approved where the authority has
             approved the limit for 0.1 Hz
  day        the factor on a day's limit for so many blasts, each so long (BS
             6472-2, from memory)
  share      how many of so many shots may be over for a share that may not
  vector     an upper bound of the vector sum of component peaks

  --json     each with its figures, as JSON

Nothing here permits a blast: that is the licensed shotfirer's and the permit's.

Example: swardbook vibration blast --distance 300

Exit codes: 0 done, or within the limit; 1 failed; 2 wrong call; 3 over the limit;
4 cannot be judged.
`

// curves are the limits by frequency that can be named.
var curves = map[string]*vibration.Curve{
	"din-industrial": &vibration.DIN4150Industrial, "din-dwelling": &vibration.DIN4150Dwelling, "din-sensitive": &vibration.DIN4150Sensitive,
	"bs7385-dwelling": &vibration.BS7385Dwelling, "bs7385-framed": &vibration.BS7385Framed, "rhode-island": &vibration.RhodeIsland,
	"mines-plaster": &vibration.MinesPlaster, "mines-board": &vibration.MinesDrywall,
}

var curveNames = []string{"din-industrial", "din-dwelling", "din-sensitive", "bs7385-dwelling", "bs7385-framed", "rhode-island", "mines-plaster", "mines-board"}

func runVibration(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("vibration")
	var v vibrationAsked
	for name, to := range map[string]*float64{"distance": &v.metres, "charge": &v.kg, "limit": &v.limit, "ppv": &v.ppv, "hz": &v.hz, "lowest-hz": &v.lowest, "seconds": &v.seconds} {
		f.Float64Var(to, name, 0, "")
	}
	f.BoolVar(&v.concrete, "concrete", false, "")
	f.BoolVar(&v.approved, "approved", false, "")
	asJSON := f.Bool("json", false, "")
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
	subject, rest := "", ""
	if len(words) > 0 {
		subject, rest = words[0], strings.Join(words[1:], " ")
	}
	var err error
	cautions := []string{"vibration"}
	switch {
	case subject == "blast" && rest == "":
		cautions, err = []string{"blast"}, v.blast()
	case subject == "machine":
		cautions = append(cautions, "predicted")
		code, err = v.machine(rest)
	case subject == "curve":
		code, err = v.curve(rest)
	case subject == "air":
		cautions = []string{"blast"}
		code, err = v.air(rest)
	case subject == "day" || subject == "share" || subject == "vector":
		cautions, err = []string{"blast"}, v.count(subject, words[1:])
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
	for _, key := range cautions {
		v.Cautions = append(v.Cautions, catalogue.Caution(key))
	}
	if *asJSON {
		enc := json.NewEncoder(stdout)
		enc.SetIndent("", "  ")
		_ = enc.Encode(&v.vibrationAnswer)
		return code
	}
	for _, s := range v.Steps {
		_, _ = fmt.Fprintln(stdout, s.Words)
	}
	_, _ = fmt.Fprintf(stdout, "\n%s\n", strings.Join(v.Cautions, "\n"))
	return code
}

// vibrationAnswer is what was worked out, in the order it follows.
type vibrationAnswer struct {
	Steps    []vibrationStep `json:"steps"`
	Cautions []string        `json:"cautions"`
}

// vibrationStep is one step in words, with the figure it comes to.
type vibrationStep struct {
	Words string   `json:"words"`
	Value *float64 `json:"value,omitempty"`
	Unit  string   `json:"unit,omitempty"`
}

// callError is a call that lacks something.
type callError struct{ words string }

func (e *callError) Error() string { return e.words }

func lacks(words string) error { return &callError{words} }

// vibrationAsked is one call.
type vibrationAsked struct {
	metres, kg, limit, ppv, hz, lowest, seconds float64

	concrete, approved bool
	percent            int
	vibrationAnswer
}

// print adds a step that has no figure of its own.
func (v *vibrationAsked) print(format string, args ...any) {
	v.Steps = append(v.Steps, vibrationStep{Words: fmt.Sprintf(format, args...)})
}

// figure adds a step with the figure it comes to.
func (v *vibrationAsked) figure(value float64, symbol, format string, args ...any) {
	v.Steps = append(v.Steps, vibrationStep{fmt.Sprintf(format, args...), &value, symbol})
}

func (v *vibrationAsked) blast() error {
	if v.metres == 0 {
		return lacks("blast needs --distance")
	}
	if v.kg > 0 {
		return v.expected()
	}
	feet := unit.Round9(v.metres / vibration.MetresPerFoot)
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
		metric := rule.scaled / vibration.SquareRootFactor
		v.figure(metric, "m/kg½", "  distance %g m = %.2f ft; scaled distance at least %g ft/lb½ = %.3f m/kg½", v.metres, feet, rule.scaled, metric)
		kg := vibration.RoundDown(lb * vibration.KilogramsPerPound)
		v.figure(kg, "kg", "  charge in one delay, any 8 ms, at most (%.2f/%g)² = %.2f lb = %.2f kg, rounded down", feet, rule.scaled, vibration.RoundDown(lb), kg)
	}
	speed, err := vibration.InBand(vibration.PPVByDistance, feet)
	if err != nil {
		return err
	}
	mms := speed * vibration.MillimetresPerInch
	v.figure(mms, "mm/s", "where it is measured, 30 CFR 816.67(d) allows %.2f in/s = %.2f mm/s at that distance", speed, mms)
	if vibration.StepOpen(feet) {
		v.print("The rule leaves open what holds over 300 and under 301 ft: the next step is taken, which is the stricter.")
	}
	v.print("Its steps end at 300 and 5000 ft: just beyond 300 ft the charge is less than at it.")
	return nil
}

// expected is the range of velocity and overpressure published laws give a charge.
func (v *vibrationAsked) expected() error {
	square, cube := vibration.ScaledDistance(v.kg, v.metres), vibration.CubeRootDistance(v.kg, v.metres)
	v.figure(square, "m/kg½", "%g kg in one delay at %g m: scaled distance %.3f m/√kg (%.2f ft/lb½)", v.kg, v.metres, square, square*vibration.SquareRootFactor)
	v.figure(cube, "m/kg⅓", "through the air %.3f m/∛kg (%.2f ft/lb⅓)", cube, cube*vibration.CubeRootFactor)
	v.print("ground, California DOT 2013, equation 13:")
	for _, l := range []struct {
		name string
		law  vibration.PowerLaw
	}{{"little confined", vibration.PPVLeast}, {"confined as usual", vibration.PPVUpper}, {"very confined", vibration.PPVVeryConfined}, {"coal, mean*", vibration.CoalMean}, {"coal, upper*", vibration.CoalUpper}} {
		m := l.law.Metric()
		v.figure(unit.Round9(m.At(square)), "mm/s", "  %-18s %.2f·%.3f^-%.2f = %.2f mm/s", l.name, m.K, square, m.N, m.At(square))
	}
	v.print("  * US Bureau of Mines RI 8507, from memory")
	v.print("air, California DOT 2013, equation 14:")
	for _, l := range []struct {
		name string
		law  vibration.PowerLaw
	}{{"confined, least", vibration.AirLeast}, {"confined, greatest", vibration.AirConfined}, {"not confined", vibration.AirUnconfined}} {
		psi := l.law.At(cube * vibration.CubeRootFactor)
		pa := vibration.FromPSI(psi)
		db, err := vibration.PeakLevel(pa)
		if err != nil {
			return err
		}
		v.figure(db, "dB", "  %-18s %g·%.2f^-%.1f = %.5f psi = %.2f Pa = %.1f dB linear peak", l.name, l.law.K, cube*vibration.CubeRootFactor, l.law.N, psi, pa, db)
	}
	return nil
}

func (v *vibrationAsked) machine(name string) (int, error) {
	if name == "list" || name == "" {
		for _, m := range vibration.Machines {
			v.figure(unit.Round9(m.PPV*vibration.MillimetresPerInch), "mm/s", "%-36s %.3f in/s at 25 ft", m.Name, m.PPV)
		}
		return exitDone, nil
	}
	if v.metres == 0 {
		return exitUsage, lacks("machine needs --distance")
	}
	m, err := vibration.FindMachine(name)
	if err != nil {
		return exitUsage, lacks(err.Error() + "; \"swardbook vibration machine list\" names them")
	}
	mms, err := m.At(v.metres)
	if err != nil {
		return exitFailed, err
	}
	at25 := vibration.Level(m.PPV * vibration.MillimetresPerInch)
	away, err := vibration.LevelAway(at25, v.metres)
	if err != nil {
		return exitFailed, err
	}
	feet := v.metres / vibration.MetresPerFoot
	v.print("%s: %.3f in/s at 25 ft, by FTA 2006 table 12-2", m.Name, m.PPV)
	v.figure(mms, "mm/s", "at %g m: %.3f × 25.4 × (25/%.2f)^1.5 = %.3f mm/s", v.metres, m.PPV, feet, mms)
	v.figure(away, "dB", "velocity level %.1f − 30 lg(%.2f/25) = %.1f dB re 10⁻⁶ in/s", at25, feet, away)
	if v.limit == 0 {
		for _, c := range vibration.DamageCriteria {
			limit := c.PPV * vibration.MillimetresPerInch
			reach, err := m.Reaches(limit)
			if err != nil {
				return exitFailed, err
			}
			v.figure(reach, "m", "%.2f in/s = %.2f mm/s, criterion of damage for buildings of category %s, is reached %.2f m away", c.PPV, limit, c.Category, reach)
		}
		return exitDone, nil
	}
	reach, err := m.Reaches(v.limit)
	if err != nil {
		return exitFailed, err
	}
	v.figure(reach, "m", "%g mm/s is reached %.2f m away", v.limit, reach)
	if mms > v.limit {
		return exitNotComplied, nil
	}
	return exitDone, nil
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
	v.figure(h.Limit, "mm/s", "%s: at %g Hz %.2f mm/s (between its points %s)", c.Name, v.hz, h.Limit, c.Run)
	v.figure(h.Margin, "mm/s", "%g mm/s: margin %+.2f mm/s", v.ppv, h.Margin)
	if h.Margin < 0 {
		return exitNotComplied, nil
	}
	return exitDone, nil
}

func (v *vibrationAsked) air(level string) (int, error) {
	db, err := strconv.ParseFloat(level, 64)
	if err != nil || math.IsNaN(db) || math.IsInf(db, 0) {
		return exitUsage, lacks(fmt.Sprintf("%q is no level in dB; write a figure such as 128", level))
	}
	a, err := vibration.HoldAir(db, v.lowest, v.approved, vibration.AirLimitsCFR)
	if err != nil {
		return exitCannotBeJudged, err
	}
	v.figure(vibration.PeakPressure(db), "Pa", "%g dB linear peak is %.2f Pa (%.5f psi)", db, vibration.PeakPressure(db), vibration.PSI(vibration.PeakPressure(db)))
	v.figure(a.Margin, "dB", "30 CFR 816.67(b)(1), an instrument that is flat from %g Hz: %g dB; margin %+.1f dB", v.lowest, a.Limit, a.Margin)
	if v.lowest <= 0.1 && !v.approved {
		v.print("134 dB holds for it only where the authority has approved that: --approved")
	}
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
		if err != nil || !(x >= 0) || x > 1e9 {
			return lacks(fmt.Sprintf("%q is no figure", w))
		}
		figures[i] = x
	}
	switch {
	case subject == "vector" && len(figures) > 0:
		bound := vibration.VectorBound(figures...)
		v.figure(bound, "mm/s", "√Σv² = %.3f mm/s: an upper bound, as the peaks need not fall together; criteria name single axes", bound)
		return nil
	case len(figures) != 1 || figures[0] != math.Trunc(figures[0]):
		return lacks(subject + " needs one whole number of blasts")
	case subject == "share":
		most := vibration.MostOver(int(figures[0]), v.percent)
		v.figure(float64(most), "", "of %g shots %d may be over so that %d %% are not", figures[0], most, v.percent)
		v.print("The condition says over which time they are counted, and whether blasts below the trigger level count: they thin out those over.")
		return nil
	}
	f, err := vibration.ManyBlasts(int(figures[0]), v.seconds, v.concrete)
	if err != nil {
		return err
	}
	v.figure(f, "", "1.7·N^-0.5·T^-d = %.4f of the limit for up to three blasts a day (BS 6472-2:2008, from memory)", f)
	if v.limit > 0 {
		v.figure(unit.Round9(f*v.limit), "mm/s", "%g mm/s becomes %.3f mm/s", v.limit, f*v.limit)
	}
	return nil
}
