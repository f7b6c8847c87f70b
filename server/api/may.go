package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
)

// MayI is what is on file against an act, and what was not looked at.
type MayI struct {
	judge.Answer
	Outcome string `json:"outcome" enum:"nothing stands,nothing until a time,stands against it,no answer"`
	Seq     int64  `json:"seq" doc:"of the book's head that it was answered from"`
	Caution string `json:"caution"`
}

// Hold is a stop on an act.
type Hold struct {
	Entry    string     `json:"entry"`
	Seq      int64      `json:"seq"`
	Act      string     `json:"act"`
	Places   []string   `json:"places" doc:"none: the whole site"`
	Reason   string     `json:"reason"`
	LiftedBy string     `json:"lifted_by" doc:"the role that may lift it"`
	At       time.Time  `json:"at"`
	Until    *time.Time `json:"until,omitempty"`
	By       string     `json:"by"`
	Begun    bool       `json:"begun"`
	Over     bool       `json:"over" doc:"lifted or run out; listed because it was worked in"`
	Verdict  string     `json:"verdict" doc:"whether it was kept; empty before it begins"`
	Sentence string     `json:"sentence"`
	Work     []string   `json:"work" doc:"entries of acts inside it"`
}

type mayInput struct {
	Act    string    `query:"act" required:"true" maxLength:"40"`
	Place  string    `query:"place" maxLength:"80" doc:"feature code; empty: the whole site"`
	From   time.Time `query:"from" required:"true"`
	To     time.Time `query:"to" required:"true"`
	Amount string    `query:"amount" maxLength:"40" doc:"how much of what is counted: 6, or 40 m³"`
}

type actInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"made by the device: 128 random bits in hex"`
	Body struct {
		Act      string    `json:"act" maxLength:"40"`
		Place    string    `json:"place,omitempty" maxLength:"80"`
		From     time.Time `json:"from"`
		To       time.Time `json:"to"`
		Amount   string    `json:"amount,omitempty" maxLength:"40"`
		Decision string    `json:"decision" maxLength:"2000" doc:"what the person in charge decides"`
	}
}

func (s *Server) mayOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "acts", Method: http.MethodGet, Path: "/acts", Summary: "The acts that conditions, holds and questions name"},
		func(context.Context, *struct{}) (*answer[[]string], error) { return reply(act.Names(), nil) })
	huma.Register(api, huma.Operation{OperationID: "holds", Method: http.MethodGet, Path: "/holds", Summary: "The stops on acts that stand, or begin within seven days"},
		func(ctx context.Context, _ *struct{}) (*answer[[]Hold], error) { return reply(s.holds(ctx)) })
	huma.Register(api, huma.Operation{OperationID: "may", Method: http.MethodGet, Path: "/may", Summary: "What is on file against an act; it gives no permission"},
		func(ctx context.Context, in *mayInput) (*answer[MayI], error) {
			return reply(s.may(ctx, judge.Question{Act: in.Act, Place: in.Place, From: in.From.UTC(), To: in.To.UTC(), Amount: in.Amount}))
		})
	huma.Register(api, huma.Operation{OperationID: "put-asked", Method: http.MethodPut, Path: "/may/{id}", Summary: "Ask again, and keep question, answer and decision as an entry",
		DefaultStatus: http.StatusCreated, Description: "The same id again answers 200 and keeps what stands."}, s.putAsked)
}

func (s *Server) holds(ctx context.Context) ([]Hold, error) {
	l, err := s.App.Holds(ctx, who(ctx))
	out := []Hold{}
	for _, h := range l {
		e := h.Entry
		one := Hold{Entry: string(e.ID), Seq: e.Seq, Act: e.Body.Text("act"), Places: list(e.Places), Reason: e.Body.Text("reason"), LiftedBy: e.Body.Text("released_by"), At: e.At, By: h.ByName, Begun: h.Begun, Over: h.Over, Work: []string{}}
		if h.Kept != nil {
			one.Verdict, one.Sentence = h.Kept.Verdict.String(), h.Kept.Sentence
			for _, w := range h.Kept.Work {
				one.Work = append(one.Work, string(w.ID))
			}
		}
		if !e.Until.IsZero() {
			one.Until = &e.Until
		}
		out = append(out, one)
	}
	return out, err
}

func (s *Server) may(ctx context.Context, q judge.Question) (MayI, error) {
	a, err := s.App.MayI(ctx, who(ctx), q)
	if err != nil {
		return MayI{}, err
	}
	return MayI{Answer: *a.Answer, Outcome: a.Stands(), Seq: a.Seq, Caution: catalogue.Caution("verdict")}, nil
}

func (s *Server) putAsked(ctx context.Context, in *actInput) (*putAnswer, error) {
	b := in.Body
	q := judge.Question{Act: b.Act, Place: b.Place, From: b.From.UTC().Truncate(time.Minute), To: b.To.UTC().Truncate(time.Minute), Amount: b.Amount}
	e, fresh, err := s.App.Act(ctx, who(ctx), book.ID(in.ID), q, b.Decision)
	if err != nil {
		return nil, asProblem(err)
	}
	return received(e, fresh), nil
}
