package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

// Handover is what a pack made now would hold, and the packs made.
type Handover struct {
	At          time.Time  `json:"at"`
	Seq         int64      `json:"seq"`
	WillHold    []Holding  `json:"will_hold"`
	Missing     []Gap      `json:"missing"`
	Packs       []PackInfo `json:"packs"`
	Fingerprint string     `json:"fingerprint"`
}

// Holding is one thing a pack holds.
type Holding struct {
	What  string `json:"what"`
	Count int    `json:"count"`
	Bytes int64  `json:"bytes"`
}

// Gap is one thing missing.
type Gap struct {
	What   string `json:"what"`
	Why    string `json:"why"`
	Remedy string `json:"remedy"`
}

// PackInfo is a pack made.
type PackInfo struct {
	Entry       string    `json:"entry"`
	Seq         int64     `json:"seq"`
	At          time.Time `json:"at"`
	Name        string    `json:"name"`
	Bytes       int64     `json:"bytes"`
	SHA256      string    `json:"sha256"`
	Fingerprint string    `json:"fingerprint"`
	MadeBy      string    `json:"made_by"`
	MadeAt      time.Time `json:"made_at"`
}

// Begun names a job begun.
type Begun struct {
	Job string `json:"job"`
}

type makeInput struct {
	Body struct {
		At *time.Time `json:"at,omitempty" doc:"judge to this time; now when absent"`
	}
}

func (s *Server) handoverOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "handover", Method: http.MethodGet, Path: "/handover", Summary: "What a pack will hold, what is missing, packs made"},
		func(ctx context.Context, _ *struct{}) (*answer[Handover], error) { return reply(s.handover(ctx)) })
	huma.Register(api, huma.Operation{OperationID: "make-pack", Method: http.MethodPost, Path: "/handover", Summary: "Make a pack", DefaultStatus: http.StatusAccepted}, s.makePack)
	huma.Register(api, huma.Operation{OperationID: "verify-pack", Method: http.MethodPost, Path: "/packs/{name}/verify", Summary: "Verify a pack made here", DefaultStatus: http.StatusAccepted},
		func(ctx context.Context, in *struct {
			Name string `path:"name" pattern:"^[a-z0-9-]+\\.zip$"`
		}) (*answer[Begun], error) {
			if err := s.packThere(ctx, in.Name); err != nil {
				return nil, asProblem(err)
			}
			return s.begin(ctx, app.VerifyPacks, "Verifying", func(ctx context.Context, tell func(float64, string)) (jobs.Result, error) {
				return s.Packs.Verify(ctx, in.Name, tell)
			})
		})
}

// packThere refuses to verify what is not here, and whoever may not.
func (s *Server) packThere(ctx context.Context, name string) error {
	if err := who(ctx).Need(app.VerifyPacks); err != nil {
		return err
	}
	f, _, err := s.Packs.Open(name)
	if err != nil {
		return noPack(err)
	}
	return f.Close()
}

func noPack(err error) error {
	return &app.Error{Code: app.NotFound, Words: "there is no such pack", Cause: err}
}

// begin queues work for who may ask for it.
func (s *Server) begin(ctx context.Context, right app.Right, kind string, work jobs.Work) (*answer[Begun], error) {
	me := who(ctx)
	if err := me.Need(right); err != nil {
		return nil, asProblem(err)
	}
	id, err := s.Jobs.Start(kind, me.Person, work)
	return reply(Begun{id}, err)
}

func (s *Server) handover(ctx context.Context) (Handover, error) {
	p, err := s.App.Preview(ctx, who(ctx))
	if err != nil {
		return Handover{}, err
	}
	out := Handover{At: p.At, Seq: p.Seq, WillHold: []Holding{}, Missing: []Gap{}, Packs: []PackInfo{}, Fingerprint: s.Packs.Fingerprint()}
	for _, h := range p.Holds {
		out.WillHold = append(out.WillHold, Holding{h.What, h.Count, h.Bytes})
	}
	for _, g := range p.Missing {
		out.Missing = append(out.Missing, Gap{g.What, g.Why, g.Remedy})
	}
	packs, err := s.Packs.List(ctx)
	for _, k := range packs {
		out.Packs = append(out.Packs, PackInfo{Entry: string(k.Entry), Seq: k.Seq, At: k.At, Name: k.Name, Bytes: k.Bytes, SHA256: k.SHA256, Fingerprint: k.Fingerprint, MadeBy: k.MadeBy, MadeAt: k.MadeAt})
	}
	return out, err
}

func (s *Server) makePack(ctx context.Context, in *makeInput) (*answer[Begun], error) {
	at := s.App.Now().UTC().Truncate(time.Millisecond)
	if in.Body.At != nil {
		at = in.Body.At.UTC().Truncate(time.Millisecond)
	}
	me := who(ctx)
	return s.begin(ctx, app.MakePacks, "Making the pack", func(ctx context.Context, tell func(float64, string)) (jobs.Result, error) {
		return s.Packs.Make(ctx, me, at, tell)
	})
}
