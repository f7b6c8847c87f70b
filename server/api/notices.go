package api

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/server/app"
)

// ConditionDraft is a condition as it is being written: as text or as a form
// holds it.
type ConditionDraft struct {
	Permit   string          `json:"permit" maxLength:"200" doc:"reference of the notice first granted"`
	Replaces string          `json:"replaces,omitempty" maxLength:"80" doc:"id of the condition it changes; absent: a new one"`
	Text     string          `json:"text,omitempty" maxLength:"100000" doc:"YAML or JSON; absent: form holds it"`
	Form     json.RawMessage `json:"form,omitempty" doc:"the keys of the condition language"`
}

// ConditionFault is one thing wrong with a condition or a notice as written.
type ConditionFault struct {
	Field  string `json:"field" doc:"path, schedule[0].days; empty: the whole"`
	Line   int    `json:"line,omitempty" doc:"in the text"`
	Column int    `json:"column,omitempty"`
	Reason string `json:"reason"`
	Remedy string `json:"remedy"`
}

// ConditionRead is what the program understood of a condition as written.
type ConditionRead struct {
	Permit   string           `json:"permit"`
	Sentence string           `json:"sentence" doc:"empty while it cannot be read"`
	Text     string           `json:"text" doc:"as YAML"`
	Form     json.RawMessage  `json:"form,omitempty" doc:"in the keys that people write"`
	Faults   []ConditionFault `json:"faults"`
	Doubts   []string         `json:"doubts" doc:"what will keep it from being judged as things stand"`
}

// ConditionTried is a condition judged on the record without being saved.
type ConditionTried struct {
	ConditionRead
	At         time.Time         `json:"at"`
	Judgements []judge.Judgement `json:"judgements" doc:"each with its last windows"`
	Changed    []ChangedVerdict  `json:"changed"`
	Changes    int               `json:"changes" doc:"how many, also of those not listed"`
}

// ChangedVerdict is a window whose verdict becomes another.
type ChangedVerdict struct {
	Condition string       `json:"condition"`
	Place     string       `json:"place"`
	Window    judge.Window `json:"window"`
	Before    string       `json:"before" doc:"empty: there was no such window"`
	After     string       `json:"after" doc:"empty: there is no such window"`
	Sentence  string       `json:"sentence"`
}

// AmendmentBody says which change a condition as written is.
type AmendmentBody struct {
	ConditionDraft
	Change     string   `json:"change" enum:"condition added,the permit changed,we had it wrong"`
	Reference  string   `json:"reference,omitempty" maxLength:"200" doc:"of the variation"`
	IssuedBy   string   `json:"issued_by,omitempty" maxLength:"200"`
	Granted    string   `json:"granted,omitempty" doc:"date of the variation"`
	Effective  string   `json:"effective,omitempty" doc:"its legal date"`
	ClauseText string   `json:"clause_text,omitempty" maxLength:"20000" doc:"the clause as it reads now"`
	Reason     string   `json:"reason,omitempty" maxLength:"2000" doc:"of a correction"`
	Files      []string `json:"files,omitempty" doc:"SHA-256 of the notice as issued"`
	Settles    string   `json:"settles,omitempty" doc:"id of the application that it grants"`
	Epoch      int64    `json:"epoch,omitempty"`
}

// Amended is the receipt of a saved condition, with the verdicts it changed.
type Amended struct {
	Made
	Changed []ChangedVerdict `json:"changed"`
	Changes int              `json:"changes"`
}

// NoticeDraft is a whole notice as it is being written.
type NoticeDraft struct {
	Text     string          `json:"text,omitempty" maxLength:"900000" doc:"YAML or JSON; absent: form holds it"`
	Form     json.RawMessage `json:"form,omitempty" doc:"the keys of the condition language"`
	Replaces string          `json:"replaces,omitempty" maxLength:"200" doc:"reference of the notice it corrects; absent: a new one"`
	Reason   string          `json:"reason,omitempty" maxLength:"2000"`
	Files    []string        `json:"files,omitempty"`
	Epoch    int64           `json:"epoch,omitempty"`
}

// NoticeRead is a notice as text, and what is wrong with it.
type NoticeRead struct {
	Reference string           `json:"reference"`
	Text      string           `json:"text"`
	Entry     string           `json:"entry,omitempty" doc:"id of the entry it stands in"`
	Files     []FileInfo       `json:"files"`
	Faults    []ConditionFault `json:"faults"`
}

// Vocabulary is what a condition may name on this site.
type Vocabulary struct {
	Quantities []QuantityWord `json:"quantities"`
	Acts       []string       `json:"acts"`
	Places     []PlaceWord    `json:"places"`
}

// QuantityWord is a quantity that a condition may name.
type QuantityWord struct {
	Code  string   `json:"code"`
	Title string   `json:"title"`
	Unit  string   `json:"unit"`
	Form  string   `json:"form" enum:"series,samples,events,acts,papers,levels"`
	With  []string `json:"with" doc:"further words it knows"`
	Help  string   `json:"help"`
}

// PlaceWord is a feature of the plan in force.
type PlaceWord struct {
	Code  string `json:"code"`
	Kind  string `json:"kind"`
	Label string `json:"label"`
}

type amendInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"made by the device: 128 random bits in hex"`
	Body AmendmentBody
}

type noticeInput struct {
	ID   string `path:"id" pattern:"^[0-9a-f]{32}$" doc:"made by the device: 128 random bits in hex"`
	Body NoticeDraft
}

func (s *Server) noticeOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "condition-schema", Method: http.MethodGet, Path: "/conditions/schema", Summary: "The condition language as JSON Schema"},
		func(context.Context, *struct{}) (*answer[json.RawMessage], error) {
			return reply(json.RawMessage(permit.Schema()), nil)
		})
	huma.Register(api, huma.Operation{OperationID: "vocabulary", Method: http.MethodGet, Path: "/conditions/vocabulary", Summary: "Quantities, acts and places that a condition may name here"},
		func(ctx context.Context, _ *struct{}) (*answer[Vocabulary], error) { return reply(s.vocabulary(ctx)) })
	huma.Register(api, huma.Operation{OperationID: "written-condition", Method: http.MethodGet, Path: "/conditions/{permit}/{condition}/written", Summary: "A condition in force as text and as a form holds it"},
		func(ctx context.Context, in *struct {
			Permit    string `path:"permit"`
			Condition string `path:"condition"`
		}) (*answer[ConditionRead], error) {
			e, err := s.App.Written(ctx, who(ctx), in.Permit, in.Condition)
			return reply(readOf(in.Permit, e, err))
		})
	huma.Register(api, huma.Operation{OperationID: "check-condition", Method: http.MethodPost, Path: "/conditions/check", Summary: "What is understood of a condition as written, and what is wrong with it; nothing is saved"},
		func(ctx context.Context, in *struct{ Body ConditionDraft }) (*answer[ConditionRead], error) {
			e, err := in.Body.edit()
			if err != nil {
				return nil, asProblem(err)
			}
			read, err := s.App.CheckCondition(ctx, who(ctx), e)
			return reply(readOf(e.Permit, read, err))
		})
	huma.Register(api, huma.Operation{OperationID: "try-condition", Method: http.MethodPost, Path: "/conditions/try", Summary: "Judge a condition as written on the site's record; nothing is saved"},
		func(ctx context.Context, in *struct{ Body AmendmentBody }) (*answer[ConditionTried], error) {
			return reply(s.try(ctx, &in.Body))
		})
	huma.Register(api, huma.Operation{OperationID: "put-amendment", Method: http.MethodPut, Path: "/amendments/{id}", Summary: "Save a condition: added, as a variation, or as a correction",
		DefaultStatus: http.StatusCreated, Description: "The same id again answers 200 and keeps what stands."}, s.putAmendment)
	huma.Register(api, huma.Operation{OperationID: "notice", Method: http.MethodGet, Path: "/notices/{permit}", Summary: "A notice in force as text"},
		func(ctx context.Context, in *struct {
			Permit string `path:"permit"`
		}) (*answer[NoticeRead], error) {
			return reply(s.notice(ctx, in.Permit))
		})
	huma.Register(api, huma.Operation{OperationID: "check-notice", Method: http.MethodPost, Path: "/notices/check", Summary: "What is wrong with a notice as written; nothing is saved"},
		func(ctx context.Context, in *struct{ Body NoticeDraft }) (*answer[NoticeRead], error) {
			return reply(s.checkNotice(ctx, &in.Body))
		})
	huma.Register(api, huma.Operation{OperationID: "put-notice", Method: http.MethodPut, Path: "/notices/{id}", Summary: "Save a whole notice, new or corrected",
		DefaultStatus: http.StatusCreated, Description: "The same id again answers 200 and keeps what stands."}, s.putNotice)
}

func (d *ConditionDraft) edit() (app.Edit, error) {
	e := app.Edit{Permit: d.Permit, Replaces: d.Replaces, Text: d.Text}
	if d.Text == "" {
		form, err := formOf(d.Form)
		if err != nil {
			return e, err
		}
		e.Form = form
	}
	return e, nil
}

func formOf(raw json.RawMessage) (book.Object, error) {
	if len(raw) == 0 {
		return book.Object{}, nil
	}
	form, err := book.ParseObject(raw)
	if err != nil {
		return nil, &app.Error{Code: app.Invalid, Words: "the form cannot be read", Faults: []book.Fault{{Field: "form", Reason: err.Error(), Remedy: "numbers are sent as text"}}}
	}
	return form, nil
}

func readOf(reference string, e *app.Edited, err error) (ConditionRead, error) {
	if err != nil {
		return ConditionRead{}, err
	}
	out := ConditionRead{Permit: reference, Sentence: e.Sentence, Text: e.Text, Faults: faultsOf(e.Faults), Doubts: list(e.Doubts)}
	if e.Form != nil {
		out.Form = e.Form.Bytes()
	}
	return out, nil
}

func faultsOf(all []app.EditFault) []ConditionFault {
	out := make([]ConditionFault, len(all))
	for i, f := range all {
		out[i] = ConditionFault(f)
	}
	return out
}

func changedOf(all []app.Changed) []ChangedVerdict {
	out := make([]ChangedVerdict, len(all))
	for i, c := range all {
		out[i] = ChangedVerdict(c)
	}
	return out
}

func (b *AmendmentBody) amendment() (app.Amendment, error) {
	e, err := b.edit()
	if err != nil {
		return app.Amendment{}, err
	}
	a := app.Amendment{Edit: e, Kind: app.AmendmentKind(b.Change), Reference: b.Reference, IssuedBy: b.IssuedBy, ClauseText: b.ClauseText, Reason: b.Reason, Settles: book.ID(b.Settles)}
	for _, d := range []struct {
		field, text string
		to          *calendar.Date
	}{{"granted", b.Granted, &a.Granted}, {"effective", b.Effective, &a.Effective}} {
		if d.text == "" {
			continue
		}
		if *d.to, err = calendar.ParseDate(d.text); err != nil {
			return a, &app.Error{Code: app.Invalid, Words: "a date cannot be read", Faults: []book.Fault{{Field: d.field, Reason: err.Error(), Remedy: "write it such as 2026-06-17"}}}
		}
	}
	a.Files, err = hashes(b.Files)
	return a, err
}

func hashes(names []string) ([]book.Hash, error) {
	var out []book.Hash
	for _, f := range names {
		h, err := book.ParseHash(f)
		if err != nil {
			return nil, &app.Error{Code: app.Invalid, Words: "a file is not named by its SHA-256", Faults: []book.Fault{{Field: "files", Reason: err.Error(), Remedy: "upload the file first and use the hash answered"}}}
		}
		out = append(out, h)
	}
	return out, nil
}

func (s *Server) try(ctx context.Context, b *AmendmentBody) (ConditionTried, error) {
	a, err := b.amendment()
	if err != nil {
		return ConditionTried{}, err
	}
	t, err := s.App.Try(ctx, who(ctx), a)
	if err != nil {
		return ConditionTried{}, err
	}
	read, err := readOf(b.Permit, t.Edited, nil)
	return ConditionTried{ConditionRead: read, At: t.At, Judgements: list(t.Judgements), Changed: changedOf(t.Changed), Changes: t.Changes}, err
}

type amendAnswer struct {
	Status int
	Body   Amended
}

func (s *Server) putAmendment(ctx context.Context, in *amendInput) (*amendAnswer, error) {
	a, err := in.Body.amendment()
	if err != nil {
		return nil, asProblem(err)
	}
	e, t, fresh, err := s.App.Amend(ctx, who(ctx), book.ID(in.ID), a, in.Body.Epoch)
	if err != nil {
		return nil, asProblem(err)
	}
	r := received(e, fresh)
	out := &amendAnswer{Status: r.Status, Body: Amended{Made: r.Body, Changed: []ChangedVerdict{}}}
	if t != nil {
		out.Body.Changed, out.Body.Changes = changedOf(t.Changed), t.Changes
	}
	return out, nil
}

func (d *NoticeDraft) text() (app.NoticeText, error) {
	t := app.NoticeText{Text: d.Text, Replaces: d.Replaces, Reason: d.Reason}
	var err error
	if d.Text == "" {
		if t.Form, err = formOf(d.Form); err != nil {
			return t, err
		}
	}
	t.Files, err = hashes(d.Files)
	return t, err
}

func (s *Server) checkNotice(ctx context.Context, d *NoticeDraft) (NoticeRead, error) {
	t, err := d.text()
	if err != nil {
		return NoticeRead{}, err
	}
	n, faults, err := s.App.CheckNotice(ctx, who(ctx), t)
	if err != nil {
		return NoticeRead{}, err
	}
	return noticeRead(n, faults)
}

func noticeRead(n *permit.Notice, faults []app.EditFault) (NoticeRead, error) {
	out := NoticeRead{Files: []FileInfo{}, Faults: faultsOf(faults)}
	if n == nil {
		return out, nil
	}
	var text bytes.Buffer
	if err := permit.Write(&text, n); err != nil {
		return out, err
	}
	out.Reference, out.Text = n.Reference, text.String()
	return out, nil
}

func (s *Server) notice(ctx context.Context, reference string) (NoticeRead, error) {
	n, e, err := s.App.NoticeOf(ctx, who(ctx), reference)
	if err != nil {
		return NoticeRead{}, err
	}
	out, err := noticeRead(n, nil)
	if err != nil {
		return out, err
	}
	out.Entry = string(e.ID)
	for _, h := range e.Files {
		info, err := s.fileInfo(ctx, h)
		if err != nil {
			return out, err
		}
		out.Files = append(out.Files, info)
	}
	return out, nil
}

func (s *Server) putNotice(ctx context.Context, in *noticeInput) (*putAnswer, error) {
	t, err := in.Body.text()
	if err != nil {
		return nil, asProblem(err)
	}
	e, fresh, err := s.App.SaveNotice(ctx, who(ctx), book.ID(in.ID), t, in.Body.Epoch)
	if err != nil {
		return nil, asProblem(err)
	}
	return received(e, fresh), nil
}

func (s *Server) vocabulary(ctx context.Context) (Vocabulary, error) {
	out := Vocabulary{Quantities: []QuantityWord{}, Acts: act.Names(), Places: []PlaceWord{}}
	places, err := s.App.Places(ctx, who(ctx))
	if err != nil {
		return out, err
	}
	for _, f := range places {
		out.Places = append(out.Places, PlaceWord{f.Code, string(f.Kind), f.Label})
	}
	for _, q := range s.App.Quantities.All() {
		out.Quantities = append(out.Quantities, QuantityWord{q.Code, q.Title, q.Unit, string(q.Form), list(q.With), q.Help})
	}
	return out, nil
}
