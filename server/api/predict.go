package api

import (
	"context"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/noise"
	"github.com/swardbook/swardbook/server/app"
)

// Foretelling asks what plant would be heard as where it is to be put.
type Foretelling struct {
	Method    string        `json:"method" enum:"activity,usage,outdoor"`
	Facade    bool          `json:"facade,omitempty"`
	Receptors []string      `json:"receptors" maxItems:"40"`
	Plant     []PlacedPlant `json:"plant" maxItems:"60"`
	Celsius   *float64      `json:"celsius,omitempty" doc:"of the air, for the outdoor method; with humidity"`
	Humidity  *float64      `json:"humidity,omitempty" doc:"relative, per cent"`
	Ambient   *float64      `json:"ambient,omitempty" doc:"dB(A) at the receptors already"`
	Period    string        `json:"period,omitempty" enum:"day,evening or weekend,night" doc:"of the ambient"`
}

// PlacedPlant is a machine at a place of the plan.
type PlacedPlant struct {
	Name   string  `json:"name" maxLength:"80"`
	Place  string  `json:"place" maxLength:"80"`
	Level  float64 `json:"level" doc:"dB(A): LAeq at 10 m, or the level at 50 ft"`
	On     float64 `json:"on" doc:"per cent of the period"`
	Soft   float64 `json:"soft,omitempty" doc:"per cent of soft ground between"`
	Screen float64 `json:"screen,omitempty" doc:"dB taken off"`
	Ground float64 `json:"ground,omitempty" doc:"ground factor of the usage method"`

	Max       bool      `json:"max,omitempty" doc:"the level is a greatest level, LAmax"`
	Octaves   []float64 `json:"octaves,omitempty" maxItems:"8" doc:"dB at 10 m by octave band from 63 Hz to 8 kHz, for the outdoor method"`
	WayHeight float64   `json:"way_height,omitempty" doc:"mean height of the way over soft ground, m"`
	Wall      *Wall     `json:"wall,omitempty"`
}

// Wall is a screen across the way, for the outdoor method.
type Wall struct {
	Height     float64 `json:"height" doc:"m above the ground, as the others"`
	FromSource float64 `json:"from_source" doc:"m from the plant"`
	Source     float64 `json:"source" doc:"height of the plant's source, m"`
	Receiver   float64 `json:"receiver" doc:"height of whoever hears it, m"`
}

// Foretold is the level at a receptor.
type Foretold struct {
	Receptor string           `json:"receptor"`
	Label    string           `json:"label"`
	DB       float64          `json:"db"`
	Each     []ForetoldPlant  `json:"each"`
	Notes    []string         `json:"notes"`
	Limits   []ForetoldMargin `json:"limits" doc:"in force there now"`
	Beside   *ForetoldBeside  `json:"beside,omitempty" doc:"what it means beside the ambient"`
}

// ForetoldBeside is the level beside an ambient, by the ABC and the 5 dB method of
// BS 5228-1, annex E, from common practice.
type ForetoldBeside struct {
	Total      float64 `json:"total"`
	Rise       float64 `json:"rise"`
	Rounded    float64 `json:"rounded"`
	Letter     string  `json:"letter"`
	Threshold  float64 `json:"threshold"`
	ByCategory bool    `json:"by_category"`
	Least      float64 `json:"least"`
	ByRise     bool    `json:"by_rise"`
}

// ForetoldPlant is one machine as it would be heard.
type ForetoldPlant struct {
	Name     string         `json:"name"`
	Distance float64        `json:"distance" doc:"m"`
	DB       float64        `json:"db"`
	Terms    []ForetoldTerm `json:"terms"`
	Notes    []string       `json:"notes"`
}

// ForetoldTerm is one step of it.
type ForetoldTerm struct {
	Words string  `json:"words"`
	DB    float64 `json:"db"`
}

// ForetoldMargin is how far the level is under a limit.
type ForetoldMargin struct {
	Permit    string  `json:"permit"`
	Condition string  `json:"condition"`
	Clause    string  `json:"clause"`
	Text      string  `json:"text"`
	Margin    float64 `json:"margin"`
}

// ForetoldAll is the answer, with its caution.
type ForetoldAll struct {
	Receptors []Foretold `json:"receptors"`
	Caution   string     `json:"caution"`
}

func (s *Server) predictOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "foretell-noise", Method: http.MethodPost, Path: "/noise/foretell", Summary: "Estimate the noise of plant at receptors; nothing is saved"},
		func(ctx context.Context, in *struct{ Body Foretelling }) (*answer[ForetoldAll], error) {
			return reply(s.foretell(ctx, &in.Body))
		})
}

func (s *Server) foretell(ctx context.Context, in *Foretelling) (ForetoldAll, error) {
	asked := app.Foretelling{Method: noise.Method(in.Method), Facade: in.Facade, Receptors: in.Receptors}
	asked.Ambient, asked.Period = in.Ambient, noise.Period(in.Period)
	if in.Celsius != nil || in.Humidity != nil {
		asked.Air = noise.UsualAir
		if in.Celsius != nil {
			asked.Air.Celsius = *in.Celsius
		}
		if in.Humidity != nil {
			asked.Air.Humidity = *in.Humidity
		}
	}
	for i := range in.Plant {
		p, err := in.Plant[i].placed(i)
		if err != nil {
			return ForetoldAll{}, err
		}
		asked.Plant = append(asked.Plant, p)
	}
	all, err := s.App.Foretell(ctx, who(ctx), asked)
	out := ForetoldAll{Receptors: []Foretold{}, Caution: catalogue.Caution("predicted")}
	for i := range all {
		f := &all[i]
		one := Foretold{Receptor: f.Receptor, Label: f.Label, DB: f.DB, Each: []ForetoldPlant{}, Notes: list(f.Notes), Limits: []ForetoldMargin{}}
		if b := f.Beside; b != nil {
			one.Beside = &ForetoldBeside{b.Total, b.Rise, b.Rounded, b.Letter, b.Threshold, b.ByCategory, b.Least, b.ByRise}
		}
		for k, h := range f.Each {
			plant := ForetoldPlant{Name: h.Name, Distance: f.Distances[k], DB: h.DB, Terms: []ForetoldTerm{}, Notes: list(h.Notes)}
			for _, t := range h.Terms {
				plant.Terms = append(plant.Terms, ForetoldTerm(t))
			}
			one.Each = append(one.Each, plant)
		}
		for _, l := range f.Limits {
			one.Limits = append(one.Limits, ForetoldMargin{l.Permit, l.Condition, l.Clause, l.Text, l.Margin})
		}
		out.Receptors = append(out.Receptors, one)
	}
	return out, err
}

// placed reads one machine.
func (p *PlacedPlant) placed(i int) (app.PlacedPlant, error) {
	out := app.PlacedPlant{Place: p.Place, Plant: noise.Plant{Name: p.Name, Level: p.Level, OnTime: p.On / 100, Soft: p.Soft / 100, Screen: p.Screen, Ground: p.Ground, Max: p.Max, PathHeight: p.WayHeight}}
	if len(p.Octaves) > 0 {
		if len(p.Octaves) != len(noise.Bands{}) {
			return out, &app.Error{Code: app.Invalid, Words: "nothing was foretold: something needs attention", Faults: []book.Fault{{
				Field: fmt.Sprintf("plant.%d.octaves", i), Reason: fmt.Sprintf("%d figures", len(p.Octaves)), Remedy: "give eight, from 63 Hz to 8 kHz"}}}
		}
		out.Octaves = (*noise.Bands)(p.Octaves)
	}
	if w := p.Wall; w != nil {
		out.Wall = &noise.Wall{Height: w.Height, FromSource: w.FromSource, Source: w.Source, Receiver: w.Receiver}
	}
	return out, nil
}
