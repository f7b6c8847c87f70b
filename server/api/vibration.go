package api

import (
	"context"
	"strconv"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/compliance/vibration"
	"github.com/swardbook/swardbook/server/app"
)

// Machine is a construction machine by its published velocity.
type Machine struct {
	Name string  `json:"name"`
	At25 float64 `json:"at_25_ft" doc:"mm/s at 25 ft"`
}

// MachineShake is the vibration of a machine at a distance.
type MachineShake struct {
	Machine  string          `json:"machine"`
	At25     float64         `json:"at_25_ft" doc:"mm/s at 25 ft"`
	Distance float64         `json:"distance" doc:"m"`
	PPV      float64         `json:"ppv" doc:"mm/s"`
	Level    float64         `json:"level" doc:"root-mean-square velocity level, dB re 10⁻⁶ in/s"`
	Limit    *float64        `json:"limit,omitempty" doc:"mm/s"`
	Reach    *float64        `json:"reach,omitempty" doc:"m within which the limit is passed"`
	Damage   []MachineDamage `json:"damage" doc:"without a limit: where the criteria of damage are passed"`
	Cautions []string        `json:"cautions"`
}

// MachineDamage is a criterion of damage for a category of buildings.
type MachineDamage struct {
	Category string  `json:"category"`
	PPV      float64 `json:"ppv" doc:"mm/s"`
	Reach    float64 `json:"reach" doc:"m"`
}

type machineInput struct {
	Machine  string  `query:"machine" required:"true"`
	Distance float64 `query:"distance" required:"true" doc:"m"`
	Limit    string  `query:"limit" doc:"mm/s; the criteria of damage when absent"`
}

func mmPerS(inPerS float64) float64 { return unit.Round9(inPerS * vibration.MillimetresPerInch) }

func machines() []Machine {
	out := make([]Machine, len(vibration.Machines))
	for i, m := range vibration.Machines {
		out[i] = Machine{m.Name, mmPerS(m.PPV)}
	}
	return out
}

func (s *Server) machineShake(ctx context.Context, in *machineInput) (MachineShake, error) {
	var limit *float64
	if in.Limit != "" {
		v, err := strconv.ParseFloat(in.Limit, 64)
		if err != nil {
			return MachineShake{}, &app.Error{Code: app.Invalid, Words: "nothing was worked out: something needs attention", Faults: []book.Fault{{Field: "limit", Reason: strconv.Quote(in.Limit) + " is no figure", Remedy: "write a figure such as 5"}}}
		}
		limit = &v
	}
	got, err := s.App.MachineShake(who(ctx), in.Machine, in.Distance, limit)
	if err != nil {
		return MachineShake{}, err
	}
	out := MachineShake{
		Machine: got.Machine.Name, At25: mmPerS(got.Machine.PPV), Distance: in.Distance, PPV: got.MMS, Level: got.Level, Limit: limit, Damage: []MachineDamage{},
		Cautions: []string{catalogue.Caution("vibration"), catalogue.Caution("predicted")},
	}
	if limit != nil {
		out.Reach = &got.Reach
	}
	for _, d := range got.Damage {
		out.Damage = append(out.Damage, MachineDamage{d.Category, mmPerS(d.PPV), d.Reach})
	}
	return out, nil
}
