package soil

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/ground"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/surface"
)

// measured is a mound as one of its surveys shows it.
type measured struct {
	surface.Mound
	accuracyM float64 // ± of a height over the base
	known     bool    // whether every survey concerned shows its accuracy
	survey    *book.Entry
	base      string // in words
}

// figureOf sets the value of an observation, and its bounds, from a mound.
type figureOf func(o *quantity.Observation, m *measured)

// moundQuantity describes one figure of surveyed mounds.
func moundQuantity(code, title, symbol, help string, figure figureOf) *quantity.Quantity {
	return &quantity.Quantity{
		Code: code, Title: title, Unit: symbol, Form: quantity.Levels, NotBelow: new(float64),
		With: []string{"holds"}, Caution: "mound", Help: help,
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return observeMounds(rec, ask, figure)
		},
	}
}

// observeMounds measures every mound that the register gives a survey for, at
// the time of that survey. A row without a survey measures nothing.
func observeMounds(rec quantity.Record, ask quantity.Ask, figure figureOf) ([]quantity.Observation, error) {
	var out []quantity.Observation
	for _, e := range rec.Entries("stockpile.1") {
		if e.Body == nil || !e.Body.Has("survey") || !observe.At(e, ask) || !observe.Says(e.Body, ask, "holds") {
			continue
		}
		for _, code := range e.Places {
			if ask.Place != "" && code != ask.Place {
				continue
			}
			m, err := measure(rec, e, code)
			if err != nil {
				return nil, fmt.Errorf("mound %s, entry %d: %w", code, e.Seq, err)
			}
			if !observe.During(ask, m.survey.At, m.survey.At) {
				continue
			}
			out = append(out, moundSeen(e, code, m, figure))
		}
	}
	return out, nil
}

func moundSeen(e *book.Entry, code string, m *measured, figure figureOf) quantity.Observation {
	o := quantity.Observation{From: m.survey.At, To: m.survey.At, Precision: m.survey.Precision, Place: code, Name: e.Body.Text("holds"), Entry: e}
	figure(&o, m)
	o.Value = unit.Round9(o.Value)
	o.Low, o.High = unit.Round9(max(0, o.Low)), unit.Round9(o.High)
	o.Note = fmt.Sprintf("survey %s over %s; footprint %.1f m²", ground.Ref(m.survey), m.base, m.FootprintM2)
	if !m.known {
		o.Note += "; not every survey concerned shows its accuracy"
	}
	return o
}

// measure overlays the survey of a mound and its base inside the mound's area
// on the plan.
func measure(rec quantity.Record, e *book.Entry, code string) (*measured, error) {
	top, survey, err := rec.Surface(e.Body.Text("survey"))
	if err != nil {
		return nil, err
	}
	area, err := ground.Area(rec, code, survey.At)
	if err != nil {
		return nil, err
	}
	m := &measured{survey: survey}
	surveys := []*book.Entry{survey}
	var base surface.Base
	switch e.Body.Text("base") {
	case "survey":
		before, under, err := rec.Surface(e.Body.Text("base_survey"))
		if err != nil {
			return nil, err
		}
		surveys = append(surveys, under)
		base, m.base = surface.SurfaceBase(before), "survey "+ground.Ref(under)
	case "level":
		level, err := unit.ParseDecimal(e.Body.Text("base_level"))
		if err != nil {
			return nil, err
		}
		base, m.base = surface.LevelBase(level.Float()), "level "+level.String()+" m"
	default:
		base, m.base = surface.ToeFromSurface(), "its toe"
	}
	m.accuracyM, m.known = ground.Accuracy(surveys...)
	m.Mound, err = surface.Stockpile(top, base, area)
	return m, err
}
