package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/catalogue"
)

// Distribution is how often readings of a channel lay in each class of values.
type Distribution struct {
	Channel  string      `json:"channel"`
	Unit     string      `json:"unit"`
	Width    float64     `json:"width" doc:"of a class"`
	Classes  []Class     `json:"classes"`
	N        int         `json:"n"`
	Below    int         `json:"below" doc:"of these: less than the instrument can tell, counted at that value"`
	Above    int         `json:"above" doc:"of these: more than the instrument can tell, counted at that value"`
	LeftOut  int         `json:"left_out"`
	Coverage *float64    `json:"coverage" doc:"share of the span that readings cover which count; null for instants"`
	Ranks    []RankValue `json:"ranks" doc:"of these readings, by linear rank"`
	Why      string      `json:"why,omitempty" doc:"why there are no ranks though readings count"`
	Caution  string      `json:"caution"`
}

// Class counts readings from a value up to the next.
type Class struct {
	From float64 `json:"from"`
	N    int     `json:"n"`
}

// RankValue is a value that so many per cent of the readings exceed.
type RankValue struct {
	Exceeded float64 `json:"exceeded"`
	Value    float64 `json:"value"`
	Sure     bool    `json:"sure" doc:"what readings below or above their limit really were cannot change it"`
}

// WindRose is how much of the time the wind came from where, and how strong.
type WindRose struct {
	Speed     string      `json:"speed"`
	Direction string      `json:"direction"`
	Bounds    []float64   `json:"bounds" doc:"m/s: a class goes from one to below the next, the last up"`
	Share     [][]float64 `json:"share" doc:"of the time, by sector from north clockwise, then class"`
	Calm      float64     `json:"calm" doc:"share of the time below the first bound"`
	Mean      float64     `json:"mean" doc:"direction by vectors, degrees"`
	Steady    float64     `json:"steady" doc:"from 0 to 1; near 0 there is no mean direction"`
	Together  int         `json:"together" doc:"readings of both channels at the same time"`
	Missing   int         `json:"missing" doc:"readings of one channel without one of the other at the same time"`
	Caution   string      `json:"caution"`
}

type distributionInput struct {
	WhenInput
	Channel string `query:"channel" required:"true"`
	From    string `query:"from" required:"true"`
	To      string `query:"to" required:"true"`
}

type roseInput struct {
	WhenInput
	Speed     string `query:"speed" required:"true" doc:"channel of wind speed"`
	Direction string `query:"direction" required:"true" doc:"channel of wind direction"`
	From      string `query:"from" required:"true"`
	To        string `query:"to" required:"true"`
}

func (s *Server) lookOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "distribution", Method: http.MethodGet, Path: "/distribution", Summary: "How often readings of a channel lay where"},
		func(ctx context.Context, in *distributionInput) (*answer[Distribution], error) {
			return reply(s.distribution(ctx, in))
		})
	huma.Register(api, huma.Operation{OperationID: "rose", Method: http.MethodGet, Path: "/rose", Summary: "Where the wind came from, and how strong"},
		func(ctx context.Context, in *roseInput) (*answer[WindRose], error) {
			return reply(s.rose(ctx, in))
		})
}

func (s *Server) distribution(ctx context.Context, in *distributionInput) (Distribution, error) {
	w, err := in.when()
	if err != nil {
		return Distribution{}, err
	}
	from, err := optionalTime("from", in.From)
	if err != nil {
		return Distribution{}, err
	}
	to, err := optionalTime("to", in.To)
	if err != nil {
		return Distribution{}, err
	}
	d, err := s.App.Distribution(ctx, who(ctx), w, in.Channel, from, to)
	if err != nil {
		return Distribution{}, err
	}
	out := Distribution{Channel: d.Channel.Code, Unit: d.Channel.Unit, Width: d.Width, Classes: []Class{}, N: d.N, Below: d.Below, Above: d.Above, LeftOut: d.LeftOut, Coverage: d.Coverage, Ranks: []RankValue{}, Why: d.Why}
	for _, c := range d.Classes {
		out.Classes = append(out.Classes, Class(c))
	}
	for _, r := range d.Ranks {
		out.Ranks = append(out.Ranks, RankValue(r))
	}
	if q := s.App.Quantities.Named(d.Channel.Quantity); q != nil && q.Caution != "" {
		out.Caution = catalogue.Caution(q.Caution)
	}
	return out, nil
}

func (s *Server) rose(ctx context.Context, in *roseInput) (WindRose, error) {
	w, err := in.when()
	if err != nil {
		return WindRose{}, err
	}
	from, err := optionalTime("from", in.From)
	if err != nil {
		return WindRose{}, err
	}
	to, err := optionalTime("to", in.To)
	if err != nil {
		return WindRose{}, err
	}
	r, err := s.App.Rose(ctx, who(ctx), w, in.Speed, in.Direction, from, to)
	if err != nil {
		return WindRose{}, err
	}
	return WindRose{Speed: r.Speed.Code, Direction: r.Direction.Code, Bounds: r.Bounds, Share: r.Share, Calm: r.Calm, Mean: r.Mean, Steady: r.Steady, Together: r.Together, Missing: r.Missing, Caution: catalogue.Caution("wind")}, nil
}
