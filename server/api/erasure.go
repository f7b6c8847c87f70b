package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/server/app"
)

type eraseInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$"`
	Body struct {
		What   string `json:"what" enum:"body,body and files"`
		Ground string `json:"ground" minLength:"1" maxLength:"4000" doc:"ground in law"`
		Reason string `json:"reason" minLength:"1" maxLength:"4000" doc:"why in this case"`
	}
}

// Erased says what an erasure did.
type Erased struct {
	ID       string    `json:"id" doc:"of the entry that says it was erased"`
	Seq      int64     `json:"seq"`
	Recorded time.Time `json:"recorded"`
	Erased   int64     `json:"erased" doc:"seq of the entry erased"`
	Packs    []string  `json:"packs" doc:"packs made before, which still hold what was erased"`
}

func (s *Server) erasureOperation(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "erase-entry", Method: http.MethodPost, Path: "/entries/{id}/erasure", Summary: "Erase what an entry said", DefaultStatus: http.StatusCreated,
		Description: "For the administrator. Nothing brings it back. The chain still verifies; judgements that rested on it can no longer be made. Other entries on its line of corrections, packs and backups made before keep what they hold."},
		func(ctx context.Context, in *eraseInput) (*answer[Erased], error) {
			done, err := s.App.Erase(ctx, who(ctx), book.ID(in.ID), app.Erasure{What: in.Body.What, Ground: in.Body.Ground, Reason: in.Body.Reason})
			if err != nil {
				return nil, asProblem(err)
			}
			r := done.Redaction
			return reply(Erased{ID: string(r.ID), Seq: r.Seq, Recorded: r.Recorded, Erased: done.Seq, Packs: list(done.Packs)}, nil)
		})
}
