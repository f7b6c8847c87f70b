package api

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/app"
)

// Ledger is every notice with its clauses and the judgements on them.
type Ledger struct {
	At      time.Time  `json:"at"`
	KnownAt *time.Time `json:"known_at"`
	Notices []Notice   `json:"notices"`
}

// Notice is one notice in the ledger.
type Notice struct {
	Reference string    `json:"reference"`
	Type      string    `json:"type"`
	IssuedBy  string    `json:"issued_by"`
	Granted   string    `json:"granted"`
	Varies    string    `json:"varies,omitempty"`
	Revision  string    `json:"revision,omitempty" doc:"of an approved scheme"`
	Effective string    `json:"effective,omitempty" doc:"legal date of a variation"`
	Zone      string    `json:"zone,omitempty" doc:"of its dates; absent: the site's"`
	Entry     string    `json:"entry,omitempty" doc:"id of the entry it stands in"`
	Total     int       `json:"total"`
	Accounted int       `json:"accounted"`
	Checked   int       `json:"checked" doc:"clauses compared with the notice by a second person"`
	Clauses   []Clause  `json:"clauses"`
	Applied   []Applied `json:"applied" doc:"changes applied for: shown, never judged"`
}

// Applied is a change of a notice that was applied for.
type Applied struct {
	Entry     string    `json:"entry"`
	Seq       int64     `json:"seq"`
	At        time.Time `json:"at"`
	By        string    `json:"by"`
	Reference string    `json:"reference"`
	Condition string    `json:"condition" doc:"id; empty: a new one"`
	Sentence  string    `json:"sentence"`
	Wanted    string    `json:"wanted" doc:"in the condition language"`
}

// Comparison is a clause held against the notice by a second person.
type Comparison struct {
	Entry  string    `json:"entry"`
	At     time.Time `json:"at"`
	By     string    `json:"by"`
	Agrees bool      `json:"agrees"`
	Lapsed bool      `json:"lapsed" doc:"the clause was changed since"`
	Own    bool      `json:"own" doc:"by who entered the notice: it does not count"`
	Page   string    `json:"page,omitempty"`
	Note   string    `json:"note,omitempty"`
}

// Clause is one clause with the conditions judged of it.
type Clause struct {
	Number     string      `json:"number"`
	Text       string      `json:"text"`
	Treated    string      `json:"treated"`
	Role       string      `json:"role"`
	CheckedBy  string      `json:"checked_by"`
	Words      string      `json:"words,omitempty" doc:"SHA-256 of the clause and its conditions as entered"`
	Comparison *Comparison `json:"comparison,omitempty"`
	Conditions []Condition `json:"conditions"`
}

// Condition is one condition in the ledger.
type Condition struct {
	ID         string            `json:"id"`
	Title      string            `json:"title"`
	Severity   string            `json:"severity"`
	Sentence   string            `json:"sentence"`
	Judgements []judge.Judgement `json:"judgements"`
}

// OneCondition is a condition with everything known of it.
type OneCondition struct {
	Notice    Notice          `json:"notice"`
	Clause    Clause          `json:"clause"`
	Sentence  string          `json:"sentence"`
	Versions  []Version       `json:"versions"`
	Places    []string        `json:"places"`
	Judgement judge.Judgement `json:"judgement"`
	Caution   string          `json:"caution"`
	Channels  []Channel       `json:"channels"`
	History   []Past          `json:"history"`
	Lines     []LimitLine     `json:"lines" doc:"limits and action levels that are one number, for a chart"`
	Unsealed  *Unsealed       `json:"unsealed,omitempty" doc:"readings that count and are not yet in the book"`
}

// LimitLine is a limit over the time its version is in force, in the unit of the
// channels.
type LimitLine struct {
	Text   string     `json:"text"`
	Action bool       `json:"action" doc:"an action level"`
	From   time.Time  `json:"from"`
	To     *time.Time `json:"to"`
	Value  float64    `json:"value"`
}

// Unsealed are readings that loggers have sent and no entry holds yet.
type Unsealed struct {
	Readings int       `json:"readings"`
	From     time.Time `json:"from"`
}

// Version is a condition's wording in force over a span.
type Version struct {
	Reference string     `json:"reference"`
	From      time.Time  `json:"from"`
	To        *time.Time `json:"to"`
	Sentence  string     `json:"sentence"`
}

// Channel is a series a condition reads.
type Channel struct {
	Code     string `json:"code"`
	Unit     string `json:"unit"`
	Quantity string `json:"quantity"`
	Place    string `json:"place"`
}

// Past is how a verdict stood earlier.
type Past struct {
	Seq      int64         `json:"seq"`
	KnownAt  time.Time     `json:"known_at"`
	Verdict  judge.Verdict `json:"verdict"`
	Sentence string        `json:"sentence"`
}

// WindowPage is one page of a condition's windows.
type WindowPage struct {
	Items []judge.Judgement `json:"items"`
	Next  string            `json:"next,omitempty"`
}

// Readings are a channel's readings reduced for a chart.
type Readings struct {
	Channel  string           `json:"channel"`
	Unit     string           `json:"unit"`
	From     time.Time        `json:"from"`
	To       time.Time        `json:"to"`
	Columns  []Column         `json:"columns"`
	Missing  []Stretch        `json:"missing"`
	Excluded []Stretch        `json:"excluded"`
	Rejected []RejectedColumn `json:"rejected" doc:"values of readings that were taken out"`
	Unlisted int              `json:"unlisted" doc:"stretches that missing and excluded have no room for"`
	N        int              `json:"n"`
	Valid    int              `json:"valid"`
	Coverage *float64         `json:"coverage"`
	Max      *float64         `json:"max"`
	MaxAt    *time.Time       `json:"max_at"`
}

// RejectedColumn are readings of one column that were taken out.
type RejectedColumn struct {
	T      int64   `json:"t" doc:"UTC ms"`
	Min    float64 `json:"min"`
	Max    float64 `json:"max"`
	Reason string  `json:"reason"`
}

// Column is what one column of a chart holds.
type Column struct {
	T     int64   `json:"t" doc:"UTC ms"`
	First float64 `json:"first"`
	Min   float64 `json:"min"`
	Max   float64 `json:"max"`
	Last  float64 `json:"last"`
}

// Stretch is a span without a value that counts.
type Stretch struct {
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	Reason string    `json:"reason"`
}

// WhenInput narrows a question in time.
type WhenInput struct {
	At      string `query:"at" doc:"judge to this time; now when absent"`
	KnownAt string `query:"known_at" doc:"by what was received up to this time"`
}

func (w WhenInput) when() (app.When, error) {
	at, err := optionalTime("at", w.At)
	if err != nil {
		return app.When{}, err
	}
	known, err := optionalTime("known_at", w.KnownAt)
	return app.When{At: at, KnownAt: known}, err
}

// OneInput names one condition at one place.
type OneInput struct {
	WhenInput
	Permit    string `path:"permit"`
	Condition string `path:"condition"`
	Place     string `query:"place"`
}

func (in *OneInput) asked() (app.Asked, error) {
	w, err := in.when()
	if err != nil {
		return app.Asked{}, err
	}
	return app.Asked{Permit: in.Permit, Condition: in.Condition, Place: in.Place, When: w}, nil
}

type windowsInput struct {
	OneInput
	From    string `query:"from"`
	To      string `query:"to"`
	Month   string `query:"month" doc:"when one of the condition's months begins: only windows of that month"`
	Verdict string `query:"verdict"`
	Cursor  string `query:"cursor"`
	Limit   int    `query:"limit" minimum:"1" maximum:"500" default:"50"`
}

type workingInput struct {
	OneInput
	From string `query:"from"`
}

type readingsInput struct {
	WhenInput
	Channel string `query:"channel"`
	From    string `query:"from"`
	To      string `query:"to"`
	Px      int    `query:"px" minimum:"1" maximum:"4000" default:"900"`
}

func (s *Server) conditionOperations(api huma.API) {
	const one = "/conditions/{permit}/{condition}"
	huma.Register(api, huma.Operation{OperationID: "conditions", Method: http.MethodGet, Path: "/conditions", Summary: "Notices, their clauses accounted for, and the judgements on them"},
		func(ctx context.Context, in *WhenInput) (*answer[Ledger], error) { return reply(s.ledger(ctx, in)) })
	huma.Register(api, huma.Operation{OperationID: "condition", Method: http.MethodGet, Path: one, Summary: "One condition at one place"},
		func(ctx context.Context, in *OneInput) (*answer[OneCondition], error) {
			return reply(s.condition(ctx, in))
		})
	huma.Register(api, huma.Operation{OperationID: "windows", Method: http.MethodGet, Path: one + "/windows", Summary: "Its windows, newest first"},
		func(ctx context.Context, in *windowsInput) (*answer[WindowPage], error) {
			return reply(s.windows(ctx, in))
		})
	huma.Register(api, huma.Operation{OperationID: "working", Method: http.MethodGet, Path: one + "/working", Summary: "The working of one window"},
		func(ctx context.Context, in *workingInput) (*answer[judge.Judgement], error) {
			return reply(s.working(ctx, in))
		})
	huma.Register(api, huma.Operation{OperationID: "episodes", Method: http.MethodGet, Path: one + "/episodes", Summary: "Runs of windows not complied, and what else was on record"},
		func(ctx context.Context, in *OneInput) (*answer[[]Episode], error) { return reply(s.episodes(ctx, in)) })
	huma.Register(api, huma.Operation{OperationID: "left-out", Method: http.MethodGet, Path: one + "/left-out", Summary: "The condition with and without what was rejected, and who rejected it"},
		func(ctx context.Context, in *OneInput) (*answer[LeftOut], error) { return reply(s.leftOut(ctx, in)) })
	huma.Register(api, huma.Operation{OperationID: "readings", Method: http.MethodGet, Path: "/readings", Summary: "A channel's readings, reduced so that no peak is lost"},
		func(ctx context.Context, in *readingsInput) (*answer[Readings], error) {
			return reply(s.readings(ctx, in))
		})
}

// LeftOut is a condition at a place with and without what was rejected.
type LeftOut struct {
	Differs  bool            `json:"differs"`
	With     judge.Judgement `json:"with" doc:"as it is judged"`
	Without  judge.Judgement `json:"without" doc:"as if nothing had been rejected"`
	Rejected []Rejected      `json:"rejected"`
	Busy     string          `json:"busy" doc:"whether what was left out falls on days with work"`
}

// Episode is a run of windows not complied.
type Episode struct {
	From      time.Time       `json:"from"`
	To        time.Time       `json:"to"`
	Windows   int             `json:"windows"`
	Worst     judge.Judgement `json:"worst"`
	Meanwhile []Meanwhile     `json:"meanwhile" doc:"what else was on record at the time; no cause"`
}

// Meanwhile is something on record at the time.
type Meanwhile struct {
	Words string `json:"words"`
	Entry string `json:"entry"`
}

func (s *Server) episodes(ctx context.Context, in *OneInput) ([]Episode, error) {
	a, err := in.asked()
	if err != nil {
		return nil, err
	}
	all, err := s.App.Episodes(ctx, who(ctx), a)
	out := []Episode{}
	for i := range all {
		e := &all[i]
		e.Worst.Working = nil
		one := Episode{From: e.From, To: e.To, Windows: e.Windows, Worst: e.Worst, Meanwhile: []Meanwhile{}}
		for _, m := range e.Meanwhile {
			id := ""
			if m.Entry != nil {
				id = string(m.Entry.ID)
			}
			one.Meanwhile = append(one.Meanwhile, Meanwhile{m.Words, id})
		}
		out = append(out, one)
	}
	return out, err
}

// Rejected is one span of readings that do not count.
type Rejected struct {
	Entry   string    `json:"entry"`
	Seq     int64     `json:"seq"`
	Channel string    `json:"channel"`
	Reason  string    `json:"reason"`
	Note    string    `json:"note"`
	By      string    `json:"by"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
}

// byWhom names who made an entry, by role where the book has no name.
func byWhom(snap *app.Snapshot, e *book.Entry) string {
	if name := snap.NameOf(e.By); name != "" {
		return name
	}
	return "the " + e.Role
}

func (s *Server) leftOut(ctx context.Context, in *OneInput) (LeftOut, error) {
	a, err := in.asked()
	if err != nil {
		return LeftOut{}, err
	}
	l, snap, err := s.App.LeftOut(ctx, who(ctx), a)
	if err != nil {
		return LeftOut{}, err
	}
	out := LeftOut{Differs: l.Differs(), With: l.With, Without: l.Without, Rejected: []Rejected{}, Busy: l.Busy.Sentence}
	for _, e := range l.Entries {
		out.Rejected = append(out.Rejected, Rejected{string(e.ID), e.Seq, e.Body.Text("channel"), e.Body.Text("reason"), e.Body.Text("note"), byWhom(snap, e), e.At, e.Until})
	}
	return out, nil
}

func (s *Server) ledger(ctx context.Context, in *WhenInput) (Ledger, error) {
	w, err := in.when()
	if err != nil {
		return Ledger{}, err
	}
	l, err := s.App.Ledger(ctx, who(ctx), w)
	if err != nil {
		return Ledger{}, err
	}
	out := Ledger{At: l.At, KnownAt: l.KnownAt, Notices: []Notice{}}
	for _, n := range l.Notices {
		out.Notices = append(out.Notices, noticeOf(n))
	}
	return out, nil
}

func noticeOf(n app.LedgerNotice) Notice {
	out := Notice{
		Reference: n.Notice.Reference, Type: n.Notice.Type, IssuedBy: n.Notice.IssuedBy, Granted: n.Notice.Granted.String(),
		Varies: n.Notice.Varies, Revision: n.Notice.Revision, Zone: n.Notice.Zone, Total: n.Total, Accounted: n.Accounted, Checked: n.Checked,
		Clauses: []Clause{}, Applied: []Applied{},
	}
	if !n.Notice.Effective.IsZero() {
		out.Effective = n.Notice.Effective.String()
	}
	if n.Entry != nil {
		out.Entry = string(n.Entry.ID)
	}
	for _, a := range n.Applied {
		out.Applied = append(out.Applied, Applied{string(a.Entry.ID), a.Entry.Seq, a.At, a.ByName, a.Reference, a.Condition, a.Sentence, a.Wanted})
	}
	for _, c := range n.Clauses {
		clause := Clause{Number: c.Number, Text: c.Text, Treated: string(c.Treated), Role: c.Role, CheckedBy: c.CheckedBy, Words: c.Words, Conditions: []Condition{}}
		if m := c.Comparison; m != nil {
			clause.Comparison = &Comparison{string(m.Entry.ID), m.Entry.At, m.ByName, m.Agrees, m.Lapsed, m.Own, m.Entry.Body.Text("page"), m.Entry.Body.Text("note")}
		}
		for _, one := range c.Conditions {
			clause.Conditions = append(clause.Conditions, Condition{
				ID: one.Condition.ID, Title: one.Condition.Title, Severity: string(one.Condition.Severity), Sentence: one.Sentence, Judgements: list(one.Judgements),
			})
		}
		out.Clauses = append(out.Clauses, clause)
	}
	return out
}

func (s *Server) condition(ctx context.Context, in *OneInput) (OneCondition, error) {
	a, err := in.asked()
	if err != nil {
		return OneCondition{}, err
	}
	c, err := s.App.Condition(ctx, who(ctx), a)
	if err != nil {
		return OneCondition{}, err
	}
	j := c.Judgement
	j.Windows = nil
	out := OneCondition{
		Notice:   Notice{Reference: c.Notice.Reference, Type: c.Notice.Type, IssuedBy: c.Notice.IssuedBy, Granted: c.Notice.Granted.String(), Clauses: []Clause{}, Applied: []Applied{}},
		Clause:   Clause{Number: c.Clause.Number, Text: c.Clause.Text, Treated: string(c.Clause.Treated), Role: c.Clause.Role, CheckedBy: c.Clause.CheckedBy, Conditions: []Condition{}},
		Sentence: c.Sentence, Versions: []Version{}, Places: list(c.Places), Judgement: j, Channels: []Channel{}, History: []Past{}, Lines: []LimitLine{},
	}
	for _, l := range c.Lines {
		out.Lines = append(out.Lines, LimitLine{l.Text, l.Action, l.From, orNil(l.To), l.Value})
	}
	if q := s.App.Quantities.Named(c.Condition.Subject); q != nil && q.Caution != "" {
		out.Caution = catalogue.Caution(q.Caution)
	}
	for _, v := range c.Versions {
		one := Version{Reference: v.Notice, From: v.From, Sentence: s.App.Sentence(v.Condition)}
		if !v.To.IsZero() {
			one.To = &v.To
		}
		out.Versions = append(out.Versions, one)
	}
	if c.Unsealed != nil {
		out.Unsealed = &Unsealed{c.Unsealed.Readings, c.Unsealed.From}
	}
	for _, ch := range c.Channels {
		out.Channels = append(out.Channels, Channel{ch.Code, ch.Unit, ch.Quantity, ch.Place})
	}
	for _, p := range c.History {
		out.History = append(out.History, Past{p.Seq, p.KnownAt, p.Judgement.Verdict, p.Judgement.Sentence})
	}
	return out, nil
}

func (s *Server) windows(ctx context.Context, in *windowsInput) (WindowPage, error) {
	a, err := in.asked()
	if err != nil {
		return WindowPage{}, err
	}
	f := app.WindowFilter{Verdict: in.Verdict, Limit: in.Limit}
	for _, t := range []struct {
		name, value string
		into        *time.Time
	}{{"from", in.From, &f.From}, {"to", in.To, &f.To}, {"month", in.Month, &f.Month}} {
		if *t.into, err = optionalTime(t.name, t.value); err != nil {
			return WindowPage{}, err
		}
	}
	if f.After, err = windowCursor(in.Cursor); err != nil {
		return WindowPage{}, err
	}
	items, next, err := s.App.Windows(ctx, who(ctx), a, f)
	out := WindowPage{Items: list(items)}
	if next != nil {
		out.Next = fmt.Sprintf("%s~%d", next.From.Format(time.RFC3339Nano), next.Passed)
	}
	return out, err
}

func windowCursor(text string) (*app.WindowCursor, error) {
	if text == "" {
		return nil, nil
	}
	from, passed, _ := strings.Cut(text, "~")
	t, err1 := time.Parse(time.RFC3339Nano, from)
	n, err2 := strconv.Atoi(passed)
	if err1 != nil || err2 != nil {
		return nil, &app.Error{Code: app.Invalid, Words: "the cursor is not one this server gave"}
	}
	return &app.WindowCursor{From: t.UTC(), Passed: n}, nil
}

func (s *Server) working(ctx context.Context, in *workingInput) (judge.Judgement, error) {
	a, err := in.asked()
	if err != nil {
		return judge.Judgement{}, err
	}
	from, err := optionalTime("from", in.From)
	if err != nil {
		return judge.Judgement{}, err
	}
	j, err := s.App.Working(ctx, who(ctx), a, from)
	if err != nil {
		return judge.Judgement{}, err
	}
	return *j, nil
}

func (s *Server) readings(ctx context.Context, in *readingsInput) (Readings, error) {
	w, err := in.when()
	if err != nil {
		return Readings{}, err
	}
	from, err := optionalTime("from", in.From)
	if err != nil {
		return Readings{}, err
	}
	to, err := optionalTime("to", in.To)
	if err != nil {
		return Readings{}, err
	}
	r, err := s.App.Readings(ctx, who(ctx), w, in.Channel, from, to, in.Px)
	if err != nil {
		return Readings{}, err
	}
	out := Readings{Channel: r.Channel.Code, Unit: r.Channel.Unit, From: r.From, To: r.To, Columns: []Column{}, Unlisted: r.Unlisted, N: r.N, Valid: r.Valid, Coverage: r.Coverage, Max: r.Max}
	if r.Max != nil {
		out.MaxAt = &r.MaxAt
	}
	for _, c := range r.Columns {
		out.Columns = append(out.Columns, Column{c.Start.UnixMilli(), c.First, c.Min, c.Max, c.Last})
	}
	out.Rejected = []RejectedColumn{}
	for _, x := range r.Rejected {
		out.Rejected = append(out.Rejected, RejectedColumn{x.Start.UnixMilli(), x.Min, x.Max, x.Reason})
	}
	out.Missing, out.Excluded = stretches(r.Missing), stretches(r.Excluded)
	return out, nil
}

func stretches(l []app.Stretch) []Stretch {
	out := []Stretch{}
	for _, s := range l {
		out = append(out, Stretch{s.From, s.To, s.Reason})
	}
	return out
}
