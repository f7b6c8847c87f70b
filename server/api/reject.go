package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/server/app"
)

// RejectRule takes readings of a channel out wherever another read more.
type RejectRule struct {
	Channel string    `json:"channel" maxLength:"80"`
	By      string    `json:"by" maxLength:"80" doc:"the other channel, such as the wind's"`
	Above   string    `json:"above" maxLength:"20" doc:"a decimal in that channel's unit"`
	Reason  string    `json:"reason" maxLength:"40"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
}

// RejectTrial is what a rule would take out, and what that would change.
type RejectTrial struct {
	Spans    []TimeSpan     `json:"spans"`
	Readings int            `json:"readings" doc:"that count now and would not"`
	All      int            `json:"all" doc:"that count now, in the time asked for"`
	Effects  []RejectEffect `json:"effects"`
	Added    int            `json:"added" doc:"entries made"`
}

// TimeSpan is a half-open span.
type TimeSpan struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// RejectEffect is a condition as it is judged and as it would be.
type RejectEffect struct {
	Before judge.Judgement `json:"before"`
	After  judge.Judgement `json:"after"`
}

type rejectInput struct{ Body RejectRule }

type keepRejectInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"made by the device: 128 random bits in hex"`
	Body RejectRule
}

type undoRejectInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"of the rule"`
	Body struct {
		Reason string `json:"reason" minLength:"1" maxLength:"400"`
	}
}

// TakenBack is how many entries were withdrawn.
type TakenBack struct {
	Entries int `json:"entries"`
}

func (s *Server) rejectOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "channels", Method: http.MethodGet, Path: "/channels", Summary: "The channels on file"},
		func(ctx context.Context, _ *struct{}) (*answer[[]Channel], error) {
			all, err := s.App.Channels(ctx, who(ctx))
			out := []Channel{}
			for _, c := range all {
				out = append(out, Channel{c.Code, c.Unit, c.Quantity, c.Place})
			}
			return reply(out, err)
		})
	huma.Register(api, huma.Operation{OperationID: "try-reject", Method: http.MethodPost, Path: "/rejections/try", Summary: "What a rule would take out and change; nothing is saved"},
		func(ctx context.Context, in *rejectInput) (*answer[RejectTrial], error) {
			rule, err := in.Body.asked()
			if err != nil {
				return nil, asProblem(err)
			}
			t, err := s.App.TryReject(ctx, who(ctx), rule)
			return reply(rejectTrial(t, 0), err)
		})
	huma.Register(api, huma.Operation{OperationID: "put-reject", Method: http.MethodPut, Path: "/rejections/{id}", Summary: "Take readings out by a rule: an entry for each span, all or none", Description: "The same id again adds nothing."},
		func(ctx context.Context, in *keepRejectInput) (*answer[RejectTrial], error) {
			rule, err := in.Body.asked()
			if err != nil {
				return nil, asProblem(err)
			}
			n, t, err := s.App.RejectByRule(ctx, who(ctx), book.ID(in.ID), rule)
			return reply(rejectTrial(t, n), err)
		})
	huma.Register(api, huma.Operation{OperationID: "undo-reject", Method: http.MethodPut, Path: "/rejections/{id}/withdrawal", Summary: "Take back what a rule took out, visibly", Description: "The same again adds nothing."},
		func(ctx context.Context, in *undoRejectInput) (*answer[TakenBack], error) {
			n, err := s.App.UndoReject(ctx, who(ctx), book.ID(in.ID), in.Body.Reason)
			return reply(TakenBack{n}, err)
		})
}

func (r *RejectRule) asked() (app.RejectRule, error) {
	above, err := unit.ParseDecimal(r.Above)
	if err != nil {
		return app.RejectRule{}, &app.Error{Code: app.Invalid, Words: "the rule cannot be used: something needs attention", Faults: []book.Fault{{Field: "above", Reason: r.Above + " is no decimal", Remedy: "write it such as 5 or 5.0"}}}
	}
	return app.RejectRule{Channel: r.Channel, By: r.By, Above: above, Reason: r.Reason, From: r.From.UTC(), To: r.To.UTC()}, nil
}

func rejectTrial(t *app.RejectTrial, added int) RejectTrial {
	out := RejectTrial{Spans: []TimeSpan{}, Effects: []RejectEffect{}, Added: added}
	if t == nil {
		return out
	}
	out.Readings, out.All = t.Readings, t.All
	for _, s := range t.Spans {
		out.Spans = append(out.Spans, TimeSpan{s.From, s.To})
	}
	for _, e := range t.Effects {
		out.Effects = append(out.Effects, RejectEffect(e))
	}
	return out
}
