package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/noise"
)

const soundHelp = `Usage: swardbook sound sum DB DB...
       swardbook sound less TOTAL BACKGROUND
       swardbook sound part DB --lasts TIME --over TIME
       swardbook sound events LAE NUMBER [LAE NUMBER...] --over TIME
       swardbook sound exposure DB --lasts TIME
       swardbook sound den DAY EVENING NIGHT [--hours 12,4,8]
       swardbook sound rating AMBIENT RESIDUAL BACKGROUND [ADDED...]
       swardbook sound limit BACKGROUND [--margin 10] [--most 55] [--floor DB]
       swardbook sound slope HORIZONTAL HEIGHT
       swardbook sound barrier TO-TOP FROM-TOP STRAIGHT G-WITHOUT G-WITH
       swardbook sound impulse ONSET-RATE DIFFERENCE
       swardbook sound uncertainty DB DB...
       swardbook sound eligible DAY DAY...

Arithmetic of levels in dB(A), each step shown. Levels with other weightings or
responses are other quantities and do not belong in one sum.

  sum        sources that sound together
  less       the site alone: a total with the background taken out, where the
             background is at least 3 dB lower
  part       a level that lasts for part of a time
  events     so many events of an exposure level (LAE, SEL) within a time
  exposure   the exposure level of a level that lasts a time
  den        day, evening and night together, with 5 and 10 dB added; - for a
             part that was not measured, which leaves no result
  rating     by the outline of BS 4142: the source alone, what is added for its
             character, and the excess over the background
  limit      a limit that follows the background
  slope      straight distance over a horizontal distance and a height, m
  barrier    attenuation and insertion loss by the transit manual of the United
             States (FTA, 2006), lengths in ft
  impulse    prominence of an impulse and what it adds, dB/s and dB
  uncertainty  combined standard uncertainty, and expanded by 2
  eligible   whether so many numbered days over a threshold commonly make a
             dwelling eligible for insulation: ten of 15 days, or over 40 in six
             months

Times are such as 20s, 15m, 3h30m. Example: swardbook sound less 58 54

Exit codes: 0 done, 1 the levels do not determine an answer, 2 wrong call.
`

func runSound(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("sound")
	var s soundAsked
	f.DurationVar(&s.lasts, "lasts", 0, "")
	f.DurationVar(&s.over, "over", 0, "")
	f.StringVar(&s.hours, "hours", "12,4,8", "")
	f.Float64Var(&s.margin, "margin", 10, "")
	f.Float64Var(&s.most, "most", 55, "")
	f.Float64Var(&s.floor, "floor", 0, "")
	words, code, ended := parse(f, args, soundHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) == 0 {
		return usageError(stderr, "sound", "say what is to be worked out: sum, less, part, events, exposure, den, rating or limit")
	}
	s.print = func(format string, args ...any) { _, _ = fmt.Fprintf(stdout, format+"\n", args...) }
	err := s.answer(words[0], words[1:])
	var call *callError
	switch {
	case errors.As(err, &call):
		return usageError(stderr, "sound", call.words)
	case err != nil:
		return failed(stderr, "sound", err)
	}
	s.print("\n%s", catalogue.Caution("receptors"))
	return exitDone
}

// soundAsked is one call.
type soundAsked struct {
	lasts, over         time.Duration
	hours               string
	margin, most, floor float64
	print               func(format string, args ...any)
}

// needs is how many levels each word takes; -1 is any number from one.
var soundNeeds = map[string]int{"sum": -1, "less": 2, "part": 1, "events": -1, "exposure": 1, "den": 3, "rating": -1, "limit": 1, "slope": 2, "barrier": 5, "impulse": 2, "uncertainty": -1, "eligible": -1}

func (s *soundAsked) answer(what string, words []string) error {
	need, known := soundNeeds[what]
	if !known {
		return lacks(fmt.Sprintf("%q is not known: sum, less, part, events, exposure, den, rating, limit, slope, barrier, impulse, uncertainty or eligible", what))
	}
	if len(words) == 0 || need > 0 && len(words) != need {
		return lacks(fmt.Sprintf("%s does not go with %d levels", what, len(words)))
	}
	if what == "den" {
		return s.den(words)
	}
	levels := make([]float64, len(words))
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return lacks(fmt.Sprintf("%q is no level; write a figure such as 62.4", w))
		}
		levels[i] = v
	}
	switch what {
	case "sum":
		v, err := noise.Sum(levels...)
		s.print("10 lg Σ 10^(L/10) of %s = %.3f dB", strings.Join(words, ", "), v)
		return err
	case "less":
		return s.less(levels[0], levels[1])
	case "part":
		v, err := noise.PartOfPeriod(levels[0], s.lasts, s.over)
		if err != nil {
			return err
		}
		s.print("%g + 10 lg(%s / %s) = %.3f dB over %s, from this source alone", levels[0], s.lasts, s.over, v, s.over)
	case "exposure":
		v, err := noise.ExposureLevel(levels[0], s.lasts)
		if err != nil {
			return err
		}
		s.print("%g + 10 lg(%s / 1 s) = %.3f dB exposure level", levels[0], s.lasts, v)
	case "events":
		return s.events(words, levels)
	case "rating":
		return s.rating(levels)
	case "slope":
		s.print("√(%g² + %g²) = %.3f m", levels[0], levels[1], noise.SlopeDistance(levels[0], levels[1]))
	case "barrier":
		a, il, err := noise.FTABarrier(levels[0], levels[1], levels[2], levels[3], levels[4])
		if err != nil {
			return err
		}
		s.print("the way over is %.3f ft longer: attenuation %.3f dB, insertion loss %.3f dB", levels[0]+levels[1]-levels[2], a, il)
	case "impulse":
		p, k, err := noise.ImpulseProminence(levels[0], levels[1])
		if err != nil {
			return err
		}
		s.print("3 lg(%g) + 2 lg(%g) = %.3f; adds %.3f dB", levels[0], levels[1], p, k)
	case "uncertainty":
		u, wide := noise.CombinedUncertainty(levels...)
		s.print("standard %.4f dB, expanded by 2 %.4f dB", u, wide)
	case "eligible":
		return s.eligible(levels)
	case "limit":
		v := noise.LimitFromBackground(levels[0], s.margin, s.most, s.floor)
		s.print("the lesser of %g + %g and %g, not below %g: %.1f dB (common practice of mineral sites in England; the permit's words rule)", levels[0], s.margin, s.most, s.floor, v)
	}
	return nil
}

func (s *soundAsked) less(total, background float64) error {
	v, how := noise.Without(total, background)
	if how == noise.NotDeterminable {
		return fmt.Errorf("the total is only %.1f dB above the background: the level of the site alone cannot be determined (at least 3 dB are needed, common practice)", total-background)
	}
	s.print("10 lg(10^(%g/10) - 10^(%g/10)) = %.3f dB: %s", total, background, v, how)
	return nil
}

func (s *soundAsked) events(words []string, levels []float64) error {
	if len(levels)%2 != 0 {
		return lacks("events come in twos: an exposure level and how many")
	}
	var list []noise.Events
	var parts []string
	for i := 0; i < len(levels); i += 2 {
		list = append(list, noise.Events{Exposure: levels[i], Number: levels[i+1]})
		parts = append(parts, words[i+1]+" of "+words[i])
	}
	v, err := noise.OverPeriod(s.over, list...)
	if err != nil {
		return err
	}
	s.print("10 lg Σ N·10^(LAE/10) - 10 lg(%s / 1 s), %s = %.3f dB over %s, from these alone", s.over, strings.Join(parts, " and "), v, s.over)
	return nil
}

func (s *soundAsked) rating(levels []float64) error {
	if len(levels) < 3 {
		return lacks("rating needs AMBIENT RESIDUAL BACKGROUND")
	}
	r, err := noise.Rate(levels[0], levels[1], levels[2], levels[3:]...)
	if err != nil {
		return err
	}
	s.print("the source alone %.3f dB (%s); with what is added for its character %.3f dB; over the background of %g dB: %+.3f dB", r.Specific, r.Correction, r.Rating, levels[2], r.Excess)
	s.print("by the outline of BS 4142, from common practice; it is not meant for construction sites")
	return nil
}

func (s *soundAsked) den(words []string) error {
	var hours [3]float64
	parts := strings.Split(s.hours, ",")
	if len(parts) != 3 {
		return lacks(fmt.Sprintf("--hours %q: three figures, such as 12,4,8", s.hours))
	}
	var known [3]noise.Known
	for i := range parts {
		h, err := strconv.ParseFloat(strings.TrimSpace(parts[i]), 64)
		if err != nil {
			return lacks(fmt.Sprintf("--hours %q: three figures, such as 12,4,8", s.hours))
		}
		hours[i] = h
		if words[i] == "-" {
			continue
		}
		v, err := strconv.ParseFloat(words[i], 64)
		if err != nil {
			return lacks(fmt.Sprintf("%q is no level; write a figure such as 62.4, or - where there is none", words[i]))
		}
		known[i] = noise.Level(v)
	}
	p := noise.Parts{Day: hours[0], Evening: hours[1], Night: hours[2]}
	v, err := p.DENLevel(known[0], known[1], known[2])
	if err != nil {
		return err
	}
	flat, err := p.Equivalent(known[0], known[1], known[2])
	if err != nil {
		return err
	}
	s.print("day %s over %g h, evening %s + 5 over %g h, night %s + 10 over %g h: %.3f dB; without what is added %.3f dB", words[0], hours[0], words[1], hours[1], words[2], hours[2], v, flat)
	return nil
}

// eligible reads days by their numbers.
func (s *soundAsked) eligible(days []float64) error {
	list := make([]int, len(days))
	for i, d := range days {
		if d != math.Trunc(d) {
			return lacks(fmt.Sprintf("%g is no number of a day", d))
		}
		list[i] = int(d)
	}
	words := "not so many"
	if noise.Eligible(list) {
		words = "so many"
	}
	s.print("%d days: %s that insulation or rehousing is commonly offered (BS 5228-1 E.4, from memory; the permit's words rule)", len(list), words)
	return nil
}
