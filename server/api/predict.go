package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/noise"
	"github.com/swardbook/swardbook/server/app"
)

// Foretelling asks what plant would be heard as where it is to be put.
type Foretelling struct {
	Method    string        `json:"method" enum:"activity,usage"`
	Facade    bool          `json:"facade,omitempty"`
	Receptors []string      `json:"receptors" maxItems:"40"`
	Plant     []PlacedPlant `json:"plant" maxItems:"60"`
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
}

// Foretold is the level at a receptor.
type Foretold struct {
	Receptor string           `json:"receptor"`
	Label    string           `json:"label"`
	DB       float64          `json:"db"`
	Each     []ForetoldPlant  `json:"each"`
	Notes    []string         `json:"notes"`
	Limits   []ForetoldMargin `json:"limits" doc:"in force there now"`
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
	for _, p := range in.Plant {
		asked.Plant = append(asked.Plant, app.PlacedPlant{Place: p.Place, Plant: noise.Plant{Name: p.Name, Level: p.Level, OnTime: p.On / 100, Soft: p.Soft / 100, Screen: p.Screen, Ground: p.Ground}})
	}
	all, err := s.App.Foretell(ctx, who(ctx), asked)
	out := ForetoldAll{Receptors: []Foretold{}, Caution: catalogue.Caution("predicted")}
	for i := range all {
		f := &all[i]
		one := Foretold{Receptor: f.Receptor, Label: f.Label, DB: f.DB, Each: []ForetoldPlant{}, Notes: list(f.Notes), Limits: []ForetoldMargin{}}
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
