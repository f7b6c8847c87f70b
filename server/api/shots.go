package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/catalogue"
)

// ShotLog is the log of blasts with the site's own line through it.
type ShotLog struct {
	Shots    []Shot    `json:"shots"`
	Line     *ShotLine `json:"line,omitempty"`
	Why      string    `json:"why" doc:"why there is no line; empty with one"`
	Unseen   int       `json:"unseen" doc:"blasts below the trigger level: counted, and not in the line"`
	NoRecord int       `json:"no_record" doc:"blasts without a reading at their building"`
	Unsure   int       `json:"unsure" doc:"blasts whose reading is beyond the instrument's range, or may be another blast's"`
	Caution  string    `json:"caution"`
}

// Shot is one blast and what was measured of it.
type Shot struct {
	Entry    string    `json:"entry"`
	Number   string    `json:"number"`
	At       time.Time `json:"at"`
	Building string    `json:"building"`
	Distance float64   `json:"distance" doc:"m"`
	Charge   float64   `json:"charge" doc:"kg in one delay"`
	Scaled   float64   `json:"scaled" doc:"m/√kg"`
	PPV      *float64  `json:"ppv" doc:"mm/s"`
	Channel  string    `json:"channel"`
	State    string    `json:"state" enum:"measured,below the trigger level,no reading on file,beyond the instrument's range,too near another blast"`
}

// ShotLine is lg PPV = a + b·lg SD.
type ShotLine struct {
	N      int     `json:"n"`
	A      float64 `json:"a"`
	B      float64 `json:"b"`
	Spread float64 `json:"spread" doc:"of lg PPV"`
	R2     float64 `json:"r2"`
	KHalf  float64 `json:"k_half" doc:"PPV = K·SD^b that half of the shots stay under"`
	KUpper float64 `json:"k_upper" doc:"that 95 % stay under"`
	Over   int     `json:"over" doc:"shots above the upper line"`
	Least  float64 `json:"least" doc:"scaled distances measured, m/√kg"`
	Most   float64 `json:"most"`
}

// ShotCharge is the largest charge for a limit at a distance.
type ShotCharge struct {
	Distance float64 `json:"distance"`
	Limit    float64 `json:"limit"`
	Scaled   float64 `json:"scaled" doc:"least scaled distance, m/√kg"`
	KG       float64 `json:"kg" doc:"rounded down"`
	KUpper   float64 `json:"k_upper"`
	B        float64 `json:"b"`
	Caution  string  `json:"caution"`
}

type shotChargeInput struct {
	Distance float64 `query:"distance" required:"true" doc:"m"`
	Limit    float64 `query:"limit" required:"true" doc:"mm/s"`
}

func (s *Server) shotOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "list-shots", Method: http.MethodGet, Path: "/shots", Summary: "The log of blasts and the site's own line of vibration"},
		func(ctx context.Context, _ *struct{}) (*answer[ShotLog], error) {
			return reply(s.shots(ctx))
		})
	huma.Register(api, huma.Operation{OperationID: "shot-charge", Method: http.MethodGet, Path: "/shots/charge", Summary: "The largest charge for a limit by the site's own line; it permits nothing"},
		func(ctx context.Context, in *shotChargeInput) (*answer[ShotCharge], error) {
			c, err := s.App.ShotCharge(ctx, who(ctx), in.Distance, in.Limit)
			if err != nil {
				return nil, asProblem(err)
			}
			return reply(ShotCharge{in.Distance, in.Limit, c.Scaled, c.KG, c.KUpper, c.B, catalogue.Caution("blast")}, nil)
		})
	huma.Register(api, huma.Operation{OperationID: "list-machines", Method: http.MethodGet, Path: "/vibration/machines", Summary: "Construction machines with their published velocity at 25 ft"},
		func(ctx context.Context, _ *struct{}) (*answer[[]Machine], error) { return reply(machines(), nil) })
	huma.Register(api, huma.Operation{OperationID: "machine-vibration", Method: http.MethodGet, Path: "/vibration/machine", Summary: "Estimate the vibration of a machine at a distance, and how far it passes a limit"},
		func(ctx context.Context, in *machineInput) (*answer[MachineShake], error) {
			return reply(s.machineShake(ctx, in))
		})
}

func (s *Server) shots(ctx context.Context) (ShotLog, error) {
	log, err := s.App.Shots(ctx, who(ctx))
	if err != nil {
		return ShotLog{}, err
	}
	out := ShotLog{Shots: []Shot{}, Why: log.Why, Unseen: log.Unseen, NoRecord: log.NoRecord, Unsure: log.Unsure, Caution: catalogue.Caution("blast")}
	for i := range log.Shots {
		l := &log.Shots[i]
		one := Shot{Entry: string(l.Entry.ID), Number: l.Entry.Body.Text("number"), At: l.Entry.At, Building: l.Building, Distance: l.DistanceM, Charge: l.ChargeKG, Scaled: l.Scaled, Channel: l.Channel, State: string(l.State)}
		if l.PPV > 0 {
			one.PPV = &l.PPV
		}
		out.Shots = append(out.Shots, one)
	}
	if f := log.Fit; f != nil {
		out.Line = &ShotLine{f.N, f.A, f.B, f.Spread, f.R2, log.KHalf, log.KUpper, log.Over, f.Least, f.Most}
	}
	return out, nil
}
