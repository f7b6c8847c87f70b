package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/noise"
)

const predictHelp = `Usage: swardbook predict PLANT.yaml [--json]

Estimates the noise of plant at receptors before it is put there, every term
shown, and the margin to a limit where one is given.

A plant list is YAML:

  method: activity          # or usage, or outdoor; see below
  facade: true              # 3 dB for a microphone 1 m before a façade
  limit: 65                 # dB(A), of the period the on-times are shares of
  receptors:
    - {name: Lowe Farm, e: 1200, n: 800, level: 312, ambient: 52}
  period: day               # with ambient: day, evening or weekend, night
  plant:
    - {name: excavator, at_10_m: 77, on: 80 %, e: 1320, n: 800, level: 310, soft: 30 %, screen: 10}
    - {name: haul road, power: 109, per_hour: 12, speed: 20, distance: {Lowe Farm: 60}, view: 120}

activity  the LAeq at 10 m (at_10_m), the share of soft ground, a screen in dB
          and the on-time, as BS 5228-1:2009 annex F reckons them; a haul road by
          the sound power of one machine, passes an hour, speed in km/h
usage     the level at 50 ft (at_50_ft), the usage factor (on) and a ground factor
          (ground), as the transit and highway manuals of the United States do

outdoor   levels by octave band at 10 m, 63 Hz to 8 kHz (octaves_10_m, eight
          figures, not weighted), the air (air: {celsius: 10, humidity: 70}), the
          mean height of the way over soft ground (way_height, m) and a wall
          across it (wall: {height: 3, from_source: 10, source: 1.5, receiver: 1.5},
          m), after ISO 9613-2; ground and wall by equations from memory

A level at 50 ft goes with activity too: 3.660 dB more at 10 m. "max: true" says
that a level is a greatest one (LAmax); greatest levels and means do not mix. An
ambient at a receptor gives the total, its rise, and what the ABC and the 5 dB
method of BS 5228-1 make of it, from common practice.

Distances are along the straight line from positions and levels in metres, or
given by receptor.

  --json    as JSON

An estimate, not a measurement: measure to confirm. Exit codes: 0 done, 1 failed,
2 wrong call, 3 a limit is passed at a receptor.
`

// plantList is a plant list as written.
type plantList struct {
	Method    string          `yaml:"method"`
	Facade    bool            `yaml:"facade"`
	Limit     *float64        `yaml:"limit"`
	Air       *plantAir       `yaml:"air"`
	Period    string          `yaml:"period"`
	Receptors []plantReceptor `yaml:"receptors"`
	Plant     []plantItem     `yaml:"plant"`
}

type plantReceptor struct {
	Name    string   `yaml:"name"`
	E       *float64 `yaml:"e"`
	N       *float64 `yaml:"n"`
	Level   float64  `yaml:"level"`
	Ambient *float64 `yaml:"ambient"`
}

type plantAir struct {
	Celsius  *float64 `yaml:"celsius"`
	Humidity *float64 `yaml:"humidity"`
	KPa      *float64 `yaml:"kpa"`
}

type plantWall struct {
	Height     float64 `yaml:"height"`
	FromSource float64 `yaml:"from_source"`
	Source     float64 `yaml:"source"`
	Receiver   float64 `yaml:"receiver"`
}

type plantItem struct {
	Name     string             `yaml:"name"`
	At10     *float64           `yaml:"at_10_m"`
	At50ft   *float64           `yaml:"at_50_ft"`
	On       string             `yaml:"on"`
	Soft     string             `yaml:"soft"`
	Screen   float64            `yaml:"screen"`
	Ground   float64            `yaml:"ground"`
	E        *float64           `yaml:"e"`
	N        *float64           `yaml:"n"`
	Level    float64            `yaml:"level"`
	Distance map[string]float64 `yaml:"distance"`
	Power    *float64           `yaml:"power"`
	PerHour  float64            `yaml:"per_hour"`
	Speed    float64            `yaml:"speed"`
	View     float64            `yaml:"view"`
	Max      bool               `yaml:"max"`
	Octaves  []float64          `yaml:"octaves_10_m"`
	Way      float64            `yaml:"way_height"`
	Wall     *plantWall         `yaml:"wall"`
}

// predictedAt is what a receptor would hear.
type predictedAt struct {
	Receptor string              `json:"receptor"`
	DB       float64             `json:"db"`
	Limit    *float64            `json:"limit"`
	Margin   *float64            `json:"margin"`
	Beside   *noise.Significance `json:"beside_ambient,omitempty"`
	Each     []predictedPlant    `json:"each"`
	Notes    []string            `json:"notes"`
}

type predictedPlant struct {
	Name  string          `json:"name"`
	DB    float64         `json:"db"`
	Terms []predictedTerm `json:"terms"`
	Notes []string        `json:"notes"`
}

type predictedTerm struct {
	Words string  `json:"words"`
	DB    float64 `json:"db"`
}

func runPredict(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("predict")
	asJSON := f.Bool("json", false, "")
	words, code, ended := parse(f, args, predictHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) != 1 {
		return usageError(stderr, "predict", "name one plant list")
	}
	list, err := readPlant(words[0])
	if err != nil {
		return failed(stderr, "predict", err)
	}
	var all []predictedAt
	over := false
	for _, r := range list.Receptors {
		one, err := list.at(r)
		if err != nil {
			return failed(stderr, "predict", fmt.Errorf("%s: at %s: %w", words[0], r.Name, err))
		}
		over = over || one.Margin != nil && *one.Margin < 0
		all = append(all, one)
	}
	if *asJSON {
		out := json.NewEncoder(stdout)
		out.SetIndent("", "  ")
		_ = out.Encode(map[string]any{"method": list.Method, "receptors": all, "caution": catalogue.Caution("predicted")})
	} else {
		printPredicted(stdout, list, all)
	}
	if over {
		return exitNotComplied
	}
	return exitDone
}

func readPlant(path string) (*plantList, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	d := yaml.NewDecoder(strings.NewReader(string(data)))
	d.KnownFields(true)
	list := &plantList{}
	if err := d.Decode(list); err != nil {
		return nil, misread(path, err)
	}
	switch {
	case len(list.Receptors) == 0:
		return nil, fmt.Errorf("%s: no receptor is named; list at least one", path)
	case len(list.Plant) == 0:
		return nil, fmt.Errorf("%s: no plant is named; list at least one machine", path)
	case !slices.Contains(noise.Methods, noise.Method(list.Method)):
		return nil, fmt.Errorf("%s: method: %q is none; write activity, usage or outdoor", path, list.Method)
	}
	return list, nil
}

var (
	noNumber  = regexp.MustCompile("^line ([0-9]+): cannot unmarshal !![a-z]+ `(.*)` into float64$")
	noFieldOf = regexp.MustCompile(`^line ([0-9]+): field (.*) not found in type `)
)

// misread puts into words what the YAML library says of a value it cannot take.
func misread(path string, err error) error {
	var e *yaml.TypeError
	if !errors.As(err, &e) || len(e.Errors) == 0 {
		return fmt.Errorf("%s: %w", path, err)
	}
	if m := noNumber.FindStringSubmatch(e.Errors[0]); m != nil {
		return fmt.Errorf("%s:%s: %q is no number; write a figure such as 77 or 0.5", path, m[1], m[2])
	}
	if m := noFieldOf.FindStringSubmatch(e.Errors[0]); m != nil {
		return fmt.Errorf("%s:%s: there is no field %q; swardbook help predict shows them", path, m[1], m[2])
	}
	return fmt.Errorf("%s: %w", path, err)
}

// at predicts what a receptor would hear.
func (l *plantList) at(r plantReceptor) (predictedAt, error) {
	out := predictedAt{Receptor: r.Name, Limit: l.Limit, Notes: []string{}}
	var plant []noise.Plant
	for i := range l.Plant {
		p, err := l.Plant[i].heardFrom(noise.Method(l.Method), r)
		if err != nil {
			return out, fmt.Errorf("%s: %w", l.Plant[i].Name, err)
		}
		plant = append(plant, p)
	}
	got, err := noise.PredictThrough(l.air(), noise.Method(l.Method), plant, l.Facade)
	if err != nil {
		return out, err
	}
	if r.Ambient != nil {
		period := noise.Period(l.Period)
		if l.Period == "" {
			period = noise.Day
		}
		beside, err := noise.Signify(got.DB, *r.Ambient, period)
		if err != nil {
			return out, fmt.Errorf("period: %w", err)
		}
		out.Beside = &beside
	}
	out.DB, out.Notes = got.DB, append(out.Notes, got.Notes...)
	for _, h := range got.Each {
		one := predictedPlant{Name: h.Name, DB: h.DB, Notes: append([]string{}, h.Notes...)}
		for _, t := range h.Terms {
			one.Terms = append(one.Terms, predictedTerm(t))
		}
		out.Each = append(out.Each, one)
	}
	if l.Limit != nil {
		margin := *l.Limit - out.DB
		out.Margin = &margin
	}
	return out, nil
}

// air is the list's air, the usual one where nothing is said.
func (l *plantList) air() noise.Air {
	a := noise.UsualAir
	if l.Air == nil {
		return a
	}
	for _, x := range []struct {
		from *float64
		to   *float64
	}{{l.Air.Celsius, &a.Celsius}, {l.Air.Humidity, &a.Humidity}, {l.Air.KPa, &a.KPa}} {
		if x.from != nil {
			*x.to = *x.from
		}
	}
	return a
}

func (p *plantItem) heardFrom(m noise.Method, r plantReceptor) (noise.Plant, error) {
	out := noise.Plant{Name: p.Name, Screen: p.Screen, Ground: p.Ground, OnTime: 1, Max: p.Max, PathHeight: p.Way}
	var err error
	if p.On != "" {
		if out.OnTime, err = share(p.On); err != nil {
			return out, fmt.Errorf("on: %w", err)
		}
	}
	if p.Soft != "" {
		if out.Soft, err = share(p.Soft); err != nil {
			return out, fmt.Errorf("soft: %w", err)
		}
	}
	d, given := p.Distance[r.Name]
	switch {
	case given:
		out.Distance = d
	case p.E != nil && p.N != nil && r.E != nil && r.N != nil:
		out.Distance = math.Sqrt((*p.E-*r.E)*(*p.E-*r.E) + (*p.N-*r.N)*(*p.N-*r.N) + (p.Level-r.Level)*(p.Level-r.Level))
	default:
		return out, errors.New("neither its distance nor both positions are given; write distance: {receptor: m}, or e and n of both")
	}
	if p.Wall != nil {
		out.Wall = &noise.Wall{Source: p.Wall.Source, Receiver: p.Wall.Receiver, Height: p.Wall.Height, FromSource: p.Wall.FromSource, ToReceiver: out.Distance - p.Wall.FromSource}
	}
	switch {
	case p.Power != nil:
		out.Road = &noise.Road{Power: *p.Power, PerHour: p.PerHour, SpeedKMH: p.Speed, ViewAngle: p.View}
	case m == noise.Outdoor && len(p.Octaves) > 0:
		if len(p.Octaves) != len(noise.Bands{}) {
			return out, fmt.Errorf("octaves_10_m: %d figures; write eight, from 63 Hz to 8 kHz", len(p.Octaves))
		}
		out.Octaves = (*noise.Bands)(p.Octaves)
	case m == noise.Activity && p.At10 != nil:
		out.Level = *p.At10
	case m == noise.Activity && p.At50ft != nil:
		out.Level = noise.At10(*p.At50ft)
	case m == noise.Usage && p.At50ft != nil:
		out.Level = *p.At50ft
	default:
		return out, errors.New("its level is not given for this method; write at_10_m for activity, at_50_ft for usage, octaves_10_m for outdoor, or power for a haul road")
	}
	return out, nil
}

// share reads "80 %" or "0.8".
func share(text string) (float64, error) {
	number, percent := strings.CutSuffix(strings.TrimSpace(text), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil {
		return 0, fmt.Errorf("%q is no share; write it such as 80 %% or 0.8", text)
	}
	if percent {
		v /= 100
	}
	return v, nil
}

func above(is bool) string {
	if is {
		return "significant"
	}
	return "not significant"
}

func printPredicted(w io.Writer, l *plantList, all []predictedAt) {
	p := func(format string, args ...any) { _, _ = fmt.Fprintf(w, format+"\n", args...) }
	for _, r := range all {
		p("%s: %.1f dB(A)", r.Receptor, r.DB)
		if r.Margin != nil {
			words := "under"
			if *r.Margin < 0 {
				words = "over"
			}
			p("  limit %g dB(A): %.1f dB %s it", *r.Limit, math.Abs(*r.Margin), words)
		}
		if b := r.Beside; b != nil {
			p("  beside an ambient of %g dB: %.1f dB in all, %.1f dB more", b.Ambient, b.Total, b.Rise)
			p("  ABC method, %s: ambient rounded to %g dB, category %s, threshold %g dB: %s", b.Period, b.Rounded, b.Letter, b.Threshold, above(b.ByCategory))
			p("  5 dB method: rise of %.1f dB, site at least %g dB: %s", b.Rise, b.Least, above(b.ByRise))
			p("  both of BS 5228-1 annex E from common practice, for dwellings; the permit's words rule")
		}
		for _, h := range r.Each {
			p("  %s: %.1f dB(A)", h.Name, h.DB)
			for _, t := range h.Terms {
				p("    %8.3f  %s", t.DB, t.Words)
			}
			for _, n := range h.Notes {
				p("    %s", n)
			}
		}
		for _, n := range r.Notes {
			p("  %s", n)
		}
		p("")
	}
	p("%s", catalogue.Caution("predicted"))
}
