package app

import (
	"context"
	"fmt"
	"slices"

	"github.com/paulmach/orb/planar"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/noise"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
)

// Foretelling asks what plant would be heard as where it is to be put.
type Foretelling struct {
	Method    noise.Method
	Facade    bool
	Receptors []string // places of the plan
	Plant     []PlacedPlant
	Air       noise.Air    // zero = the usual one
	Ambient   *float64     // dB at the receptors already; nil = not said
	Period    noise.Period // goes with Ambient
}

// PlacedPlant is a machine at a place of the plan. Its distance is worked out.
type PlacedPlant struct {
	noise.Plant
	Place string
}

// Foretold is the level at a receptor, beside the limits that hold there.
type Foretold struct {
	Receptor, Label string
	noise.Predicted
	Beside    *noise.Significance // with an ambient
	Distances []float64           // m, of each machine
	Limits    []LimitThere
}

// LimitThere is a limit in force on LAeq at a place, and how far the level
// foretold is under it. Its hours and its period are its own.
type LimitThere struct {
	Permit, Clause, Condition, Text string
	Margin                          float64 // dB
}

const laeq = "noise.laeq"

// Foretell estimates the noise of plant at receptors. Distances are in plan,
// from the middle of the plant's place to the nearest point of the receptor's;
// heights are not known to the plan, so that the true distance is never less.
func (s *Service) Foretell(ctx context.Context, who Actor, in Foretelling) ([]Foretold, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	features := snap.Record.Features(snap.At)
	find := func(field, code string) (*plan.Feature, error) {
		if i := slices.IndexFunc(features, func(f *plan.Feature) bool { return f.Code == code }); i >= 0 {
			return features[i], nil
		}
		return nil, &Error{Code: Invalid, Words: "nothing was foretold: something needs attention", Faults: []book.Fault{{Field: field, Reason: fmt.Sprintf("%q is no place of the plan", code), Remedy: "choose a place"}}}
	}
	if len(in.Receptors) == 0 {
		return nil, &Error{Code: Invalid, Words: "nothing was foretold: something needs attention", Faults: []book.Fault{{Field: "receptors", Reason: "no receptor is chosen", Remedy: "choose where it would be heard"}}}
	}
	limits, err := s.limitsOnNoise(snap)
	if err != nil {
		return nil, err
	}
	var out []Foretold
	for _, code := range in.Receptors {
		there, err := find("receptors", code)
		if err != nil {
			return nil, err
		}
		one := Foretold{Receptor: code, Label: there.Label}
		plant := make([]noise.Plant, len(in.Plant))
		for i, p := range in.Plant {
			from, err := find(fmt.Sprintf("plant.%d.place", i), p.Place)
			if err != nil {
				return nil, err
			}
			middle, _ := planar.CentroidArea(from.Geometry)
			plant[i] = p.Plant
			plant[i].Distance = unit.Round9(plan.Distance(there.Geometry, middle))
			one.Distances = append(one.Distances, plant[i].Distance)
		}
		for i := range plant {
			if w := plant[i].Wall; w != nil {
				own := *w
				own.ToReceiver = plant[i].Distance - own.FromSource
				plant[i].Wall = &own
			}
		}
		air := in.Air
		if air == (noise.Air{}) {
			air = noise.UsualAir
		}
		got, err := noise.PredictThrough(air, in.Method, plant, in.Facade)
		if err != nil {
			return nil, &Error{Code: Invalid, Words: "nothing was foretold at " + code + ": " + err.Error()}
		}
		one.Predicted = *got
		if in.Ambient != nil {
			beside, err := noise.Signify(got.DB, *in.Ambient, in.Period)
			if err != nil {
				return nil, &Error{Code: Invalid, Words: "nothing was foretold: something needs attention", Faults: []book.Fault{{Field: "period", Reason: err.Error(), Remedy: "choose the period the ambient is of"}}}
			}
			one.Beside = &beside
		}
		for _, l := range limits[code] {
			l.Margin -= got.DB
			one.Limits = append(one.Limits, l)
		}
		out = append(out, one)
	}
	return out, nil
}

// limitsOnNoise lists the limits in force on LAeq that are one number, by place;
// Margin holds the number until a level is known.
func (s *Service) limitsOnNoise(snap *Snapshot) (map[string][]LimitThere, error) {
	notices, err := snap.notices()
	if err != nil {
		return nil, internal("reading the notices", err)
	}
	out := map[string][]LimitThere{}
	zone := snap.Record.Site().Zone
	for _, v := range permit.InForce(notices, zone) {
		c := v.Condition
		if c.Subject != laeq || c.Kind != permit.Measured || v.From.After(snap.At) || !v.To.IsZero() && !v.To.After(snap.At) {
			continue
		}
		for _, l := range c.Limits {
			if l.Form != permit.Constant || l.Comparator != permit.AtMostLimit && l.Comparator != permit.Below {
				continue
			}
			for _, place := range c.Place.Codes {
				out[place] = append(out[place], LimitThere{Permit: v.Permit, Clause: c.Clause, Condition: c.ID, Text: c.Title + ": " + l.String(), Margin: l.Value.Float()})
			}
		}
	}
	return out, nil
}
