package api

import (
	"context"
	"mime"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/server/app"
)

// Logger is a device that sends its readings itself, and how it stands.
type Logger struct {
	ID      string      `json:"id"`
	Name    string      `json:"name"`
	Columns []string    `json:"columns" doc:"of each row it sends; none where it only leaves files"`
	Mapping FileMapping `json:"mapping"`
	Made    time.Time   `json:"made"`
	MadeBy  string      `json:"made_by"`
	Ended   *time.Time  `json:"ended"`
	Spooled int         `json:"spooled" doc:"rows received that are not yet in the book"`
	Last    *time.Time  `json:"last" doc:"begin of the last reading that is not yet in the book"`
	Heard   *time.Time  `json:"heard" doc:"when it last sent something, since the server was started"`
	Sealed  *time.Time  `json:"sealed" doc:"when its rows last became part of the book, since the server was started"`
	Refused *time.Time  `json:"refused"`
	Why     string      `json:"why" doc:"why it was refused"`
	Stuck   string      `json:"stuck" doc:"why its rows cannot become part of the book"`
	SealsAt time.Time   `json:"seals_at" doc:"when what it sends now becomes part of the book"`
}

type loggersAnswer struct {
	Loggers []Logger `json:"loggers"`
}

// NewLogger is a logger that was set up. Its token is told this once.
type NewLogger struct {
	ID      string   `json:"id"`
	Name    string   `json:"name"`
	Token   string   `json:"token"`
	Columns []string `json:"columns"`
}

// PushAnswer says what became of what a logger sent.
type PushAnswer struct {
	Kept    int `json:"kept" doc:"rows taken; they are on the disk"`
	Already int `json:"already" doc:"rows that were there with the same figures"`
}

type makeLoggerInput struct {
	Body struct {
		Name    string      `json:"name" maxLength:"40"`
		Mapping FileMapping `json:"mapping"`
	}
}

type endLoggerInput struct {
	ID string `path:"id" pattern:"^[0-9a-f]{32}$"`
}

type pushInput struct {
	Authorization string `header:"Authorization" doc:"Bearer, and the logger's token"`
	ContentType   string `header:"Content-Type" doc:"text/csv, or application/x-ndjson for JSON lines"`
	RawBody       []byte `contentType:"text/csv"`
}

func (s *Server) loggerOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "list-loggers", Method: http.MethodGet, Path: "/loggers", Summary: "Loggers that send their readings themselves"},
		func(ctx context.Context, _ *struct{}) (*answer[loggersAnswer], error) {
			return reply(s.listLoggers(ctx))
		})
	huma.Register(api, huma.Operation{OperationID: "list-logger-patterns", Method: http.MethodGet, Path: "/loggers/patterns", Summary: "How files were read, for a logger that is to be set up"},
		func(ctx context.Context, _ *struct{}) (*answer[[]PastMapping], error) {
			return reply(s.patterns(ctx))
		})
	huma.Register(api, huma.Operation{OperationID: "make-logger", Method: http.MethodPost, Path: "/loggers", Summary: "Set a logger up; its token is told once", DefaultStatus: http.StatusCreated},
		func(ctx context.Context, in *makeLoggerInput) (*answer[NewLogger], error) {
			return reply(s.makeLogger(ctx, in))
		})
	huma.Register(api, huma.Operation{OperationID: "end-logger", Method: http.MethodDelete, Path: "/loggers/{id}", Summary: "Make a logger's token count no longer", DefaultStatus: http.StatusNoContent},
		func(ctx context.Context, in *endLoggerInput) (*struct{}, error) {
			if err := s.Loggers.EndLogger(ctx, who(ctx), in.ID); err != nil {
				return nil, asProblem(err)
			}
			return nil, nil
		})
	huma.Register(api, huma.Operation{OperationID: "push-readings", Method: http.MethodPost, Path: "/push", Summary: "Send readings as a logger", MaxBodyBytes: mostJSON,
		Description: "CSV with commas, decimal points and the names of the columns in line 1, or JSON lines with a member a column. All of it is taken, or nothing. The same rows again add nothing, so whoever gets no answer sends again."},
		func(ctx context.Context, in *pushInput) (*answer[PushAnswer], error) {
			return reply(s.push(ctx, in))
		})
}

func (s *Server) listLoggers(ctx context.Context) (loggersAnswer, error) {
	states, err := s.Loggers.States(ctx, who(ctx))
	if err != nil {
		return loggersAnswer{}, err
	}
	snap, err := s.App.Current(ctx)
	if err != nil {
		return loggersAnswer{}, err
	}
	out := loggersAnswer{Loggers: []Logger{}}
	for i := range states {
		l := &states[i]
		one := Logger{ID: l.ID, Name: l.Name, Columns: list(l.Columns()), Mapping: fileMapping(&l.Mapping, l.Of), Made: l.Made, MadeBy: snap.NameOf(l.Person),
			Ended: orNil(l.Ended), Spooled: l.Spooled, Last: orNil(l.Last), Heard: orNil(l.Heard), Sealed: orNil(l.LastSeal), Refused: orNil(l.Refused), Why: l.Why, Stuck: l.Stuck,
			SealsAt: s.App.Now().UTC().Truncate(time.Hour).Add(time.Hour)}
		if one.MadeBy == "" {
			one.MadeBy = l.Person
		}
		out.Loggers = append(out.Loggers, one)
	}
	return out, nil
}

func (s *Server) patterns(ctx context.Context) ([]PastMapping, error) {
	past, err := s.Loggers.Patterns(ctx, who(ctx))
	out := []PastMapping{}
	for _, p := range past {
		out = append(out, PastMapping{string(p.Entry.ID), p.Entry.Seq, p.Entry.Body.Text("name"), fileMapping(&p.Mapping, p.Of)})
	}
	return out, err
}

func orNil(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

func (s *Server) makeLogger(ctx context.Context, in *makeLoggerInput) (NewLogger, error) {
	m, of := in.Body.Mapping.read()
	l, token, err := s.Loggers.MakeLogger(ctx, who(ctx), strings.TrimSpace(in.Body.Name), m, of)
	if err != nil {
		return NewLogger{}, err
	}
	return NewLogger{ID: l.ID, Name: l.Name, Token: token, Columns: list(l.Columns())}, nil
}

func (s *Server) push(ctx context.Context, in *pushInput) (PushAnswer, error) {
	token, given := strings.CutPrefix(in.Authorization, "Bearer ")
	if !given {
		return PushAnswer{}, &app.Error{Code: app.SignedOut, Words: "the header Authorization does not hold Bearer and a logger's token"}
	}
	kind, _, err := mime.ParseMediaType(in.ContentType)
	lines := kind == "application/x-ndjson" || kind == "application/jsonl"
	if err != nil || !lines && kind != "text/csv" {
		return PushAnswer{}, &app.Error{Code: app.Invalid, Words: "the header Content-Type does not say what is sent: text/csv, or application/x-ndjson for JSON lines"}
	}
	done, err := s.Loggers.Push(ctx, strings.TrimSpace(token), lines, in.RawBody)
	return PushAnswer(done), err
}
