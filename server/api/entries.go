package api

import (
	"context"
	"encoding/json"
	"net/http"
	"reflect"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/app"
)

// EntryLine is an entry as a row.
type EntryLine struct {
	ID         string     `json:"id"`
	Seq        int64      `json:"seq"`
	Kind       string     `json:"kind"`
	Title      string     `json:"title"`
	Places     []string   `json:"places"`
	At         time.Time  `json:"at"`
	Until      *time.Time `json:"until,omitempty"`
	Precision  string     `json:"precision"`
	Recorded   time.Time  `json:"recorded"`
	By         string     `json:"by"`
	ByName     string     `json:"by_name"`
	Role       string     `json:"role"`
	Supersedes string     `json:"supersedes,omitempty"`
	Withdrawn  bool       `json:"withdrawn"`
	Corrected  bool       `json:"corrected"`
	ErasedBy   int64      `json:"erased_by,omitempty"`
	Summary    string     `json:"summary"`
}

func lineOf(l app.Line) EntryLine {
	e := l.Entry
	out := EntryLine{
		ID: string(e.ID), Seq: e.Seq, Kind: e.Kind, Title: l.Title, Places: list(e.Places), At: e.At,
		Precision: string(e.Precision), Recorded: e.Recorded, By: e.By, ByName: l.ByName, Role: e.Role,
		Supersedes: string(e.Supersedes), Withdrawn: l.Withdrawn, Corrected: l.Corrected, ErasedBy: e.ErasedBy, Summary: l.Summary,
	}
	if !e.Until.IsZero() {
		out.Until = &e.Until
	}
	return out
}

func list[T any](l []T) []T {
	if l == nil {
		return []T{}
	}
	return l
}

// EntryPage is one page of the book's table.
type EntryPage struct {
	Items []EntryLine `json:"items"`
	Next  string      `json:"next,omitempty" doc:"cursor of the page after; absent at the end"`
}

type entriesInput struct {
	Kind   string `query:"kind" maxLength:"80"`
	Place  string `query:"place" maxLength:"80"`
	By     string `query:"by" maxLength:"80"`
	Q      string `query:"q" maxLength:"200" doc:"words to find"`
	From   string `query:"from" doc:"happened at or after"`
	To     string `query:"to" doc:"happened before"`
	Cursor string `query:"cursor" maxLength:"20"`
	Limit  int    `query:"limit" minimum:"1" maximum:"500" default:"50"`
}

// OpenEntry is one entry whole.
type OpenEntry struct {
	Entry   json.RawMessage   `json:"entry" doc:"envelope and body"`
	Title   string            `json:"title"`
	ByName  string            `json:"by_name"`
	Line    []EntryLine       `json:"line" doc:"its line of corrections, oldest first"`
	Head    string            `json:"head" doc:"id of the entry in force on the line"`
	Files   []FileInfo        `json:"files"`
	Hash    string            `json:"hash"`
	Prev    string            `json:"prev"`
	Resting []judge.Judgement `json:"resting" doc:"judgements that rest on it"`
}

// FileInfo is a kept original.
type FileInfo struct {
	SHA256 string `json:"sha256"`
	Bytes  int64  `json:"bytes"`
	Type   string `json:"type"`
	Erased bool   `json:"erased,omitempty" doc:"an erasure took it"`
}

type putInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"made by the device: 128 random bits in hex"`
	Body struct {
		Kind       string          `json:"kind"`
		Places     []string        `json:"places,omitempty"`
		At         time.Time       `json:"at"`
		Until      *time.Time      `json:"until,omitempty"`
		Precision  string          `json:"at_precision" enum:"ms,minute,day"`
		Offset     string          `json:"offset,omitempty"`
		Made       *time.Time      `json:"made,omitempty"`
		For        string          `json:"for,omitempty"`
		Supersedes string          `json:"supersedes,omitempty"`
		Reason     string          `json:"reason,omitempty"`
		Files      []string        `json:"files,omitempty"`
		Epoch      int64           `json:"epoch,omitempty"`
		Body       json.RawMessage `json:"body,omitempty" doc:"absent with supersedes: a withdrawal"`
	}
}

// Made is the receipt of an entry.
type Made struct {
	ID       string    `json:"id"`
	Seq      int64     `json:"seq"`
	Recorded time.Time `json:"recorded"`
	Hash     string    `json:"hash"`
}

type putAnswer struct {
	Status int
	Body   Made
}

func (s *Server) entryOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "entries", Method: http.MethodGet, Path: "/entries", Summary: "The book as a table, newest received first"}, s.listEntries)
	huma.Register(api, huma.Operation{OperationID: "entry", Method: http.MethodGet, Path: "/entries/{id}", Summary: "One entry with its line of corrections"},
		func(ctx context.Context, in *struct {
			ID string `path:"id"`
		}) (*answer[OpenEntry], error) {
			return reply(s.openEntry(ctx, book.ID(in.ID)))
		})
	huma.Register(api, huma.Operation{OperationID: "put-entry", Method: http.MethodPut, Path: "/entries/{id}", Summary: "Make an entry, a correction or a withdrawal",
		DefaultStatus: http.StatusCreated,
		Description:   "The same id with the same content answers 200 again; with other content 409."}, s.putEntry)
	s.mayOperations(api)
	s.erasureOperation(api)
}

// documentAlready adds the answer to an entry offered again.
func documentAlready(api huma.API) {
	made, amended := reflect.TypeFor[Made](), reflect.TypeFor[Amended]()
	for path, receipt := range map[string]reflect.Type{"/entries/{id}": made, "/may/{id}": made, "/notices/{id}": made, "/imports/{id}": made, "/imports/{id}/withdrawal/{with}": made, "/amendments/{id}": amended} {
		schema := api.OpenAPI().Components.Schemas.Schema(receipt, true, "")
		api.OpenAPI().Paths[path].Put.Responses["200"] = &huma.Response{
			Description: "Already there", Content: map[string]*huma.MediaType{"application/json": {Schema: schema}},
		}
	}
}

func (s *Server) listEntries(ctx context.Context, in *entriesInput) (*answer[EntryPage], error) {
	f := app.Filter{Kind: in.Kind, Place: in.Place, By: in.By, Words: in.Q, Limit: in.Limit}
	var err error
	if f.From, err = optionalTime("from", in.From); err != nil {
		return nil, asProblem(err)
	}
	if f.To, err = optionalTime("to", in.To); err != nil {
		return nil, asProblem(err)
	}
	if in.Cursor != "" {
		if f.Before, err = strconv.ParseInt(in.Cursor, 10, 64); err != nil {
			return nil, asProblem(&app.Error{Code: app.Invalid, Words: "the cursor is not one this server gave"})
		}
	}
	lines, next, err := s.App.List(ctx, who(ctx), f)
	if err != nil {
		return nil, asProblem(err)
	}
	page := EntryPage{Items: []EntryLine{}}
	for _, l := range lines {
		page.Items = append(page.Items, lineOf(l))
	}
	if next > 0 {
		page.Next = strconv.FormatInt(next, 10)
	}
	return &answer[EntryPage]{Body: page}, nil
}

func (s *Server) openEntry(ctx context.Context, id book.ID) (OpenEntry, error) {
	o, err := s.App.Open(ctx, who(ctx), id)
	if err != nil {
		return OpenEntry{}, err
	}
	e := o.Entry
	whole, err := book.ParseObject(e.Envelope.Bytes())
	if err != nil {
		return OpenEntry{}, err
	}
	if e.Body != nil {
		whole["body"] = e.Body
	}
	if e.ErasedBy > 0 {
		whole["erased_by"] = e.ErasedBy
	}
	out := OpenEntry{
		Entry: whole.Bytes(), Title: o.Title, ByName: o.ByName, Line: []EntryLine{}, Head: string(o.Head),
		Files: []FileInfo{}, Hash: e.Hash.String(), Prev: e.Prev.String(), Resting: list(o.Resting),
	}
	for _, l := range o.Corrections {
		out.Line = append(out.Line, lineOf(l))
	}
	for _, h := range e.Files {
		info, err := s.fileInfo(ctx, h)
		switch {
		case err != nil && app.CodeOf(err) == app.NotFound && e.ErasedBy > 0:
			info = FileInfo{SHA256: h.String(), Erased: true}
		case err != nil:
			return OpenEntry{}, err
		}
		out.Files = append(out.Files, info)
	}
	return out, nil
}

func (s *Server) putEntry(ctx context.Context, in *putInput) (*putAnswer, error) {
	d, err := in.draft()
	if err != nil {
		return nil, asProblem(err)
	}
	e, fresh, err := s.App.Put(ctx, who(ctx), d, in.Body.Epoch)
	if err != nil {
		return nil, asProblem(err)
	}
	return received(e, fresh), nil
}

// received is the receipt of an entry: 201 when it is new, 200 when it was there.
func received(e *book.Entry, fresh bool) *putAnswer {
	out := &putAnswer{Status: http.StatusOK, Body: Made{string(e.ID), e.Seq, e.Recorded, e.Hash.String()}}
	if fresh {
		out.Status = http.StatusCreated
	}
	return out
}

func (in *putInput) draft() (book.Draft, error) {
	b := in.Body
	d := book.Draft{
		ID: book.ID(in.ID), Kind: b.Kind, Places: b.Places, At: b.At.UTC().Truncate(time.Millisecond),
		Precision: book.Precision(b.Precision), Offset: b.Offset, For: b.For,
		Supersedes: book.ID(b.Supersedes), Reason: b.Reason,
	}
	if b.Until != nil {
		d.Until = b.Until.UTC().Truncate(time.Millisecond)
	}
	if b.Made != nil {
		d.Made = b.Made.UTC().Truncate(time.Millisecond)
	}
	for _, f := range b.Files {
		h, err := book.ParseHash(f)
		if err != nil {
			return d, &app.Error{Code: app.Invalid, Words: "a file is not named by its SHA-256", Faults: []book.Fault{{Field: "files", Reason: err.Error(), Remedy: "upload the file first and use the hash answered"}}}
		}
		d.Files = append(d.Files, h)
	}
	if len(b.Body) > 0 {
		body, err := book.ParseObject(b.Body)
		if err != nil {
			return d, &app.Error{Code: app.Invalid, Words: "what the entry says cannot be read", Faults: []book.Fault{{Field: "body", Reason: err.Error(), Remedy: "decimals are sent as text"}}}
		}
		d.Body = body
	}
	return d, nil
}

func optionalTime(name, value string) (time.Time, error) {
	if value == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.RFC3339Nano, value)
	if err != nil {
		return t, &app.Error{Code: app.Invalid, Words: name + " is not a time with its offset; write 2026-04-30T00:00:00Z"}
	}
	return t.UTC(), nil
}
