package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Site is what every screen needs to know of the place.
type Site struct {
	ID      string       `json:"id"`
	Name    string       `json:"name"`
	Zone    string       `json:"zone"`
	Grid    string       `json:"grid"`
	Datum   string       `json:"datum"`
	Epoch   int64        `json:"epoch"`
	Seq     int64        `json:"seq"`
	Now     time.Time    `json:"now"`
	Permits []SiteNotice `json:"permits"`
	Caution string       `json:"caution"`
}

// SiteNotice names a notice on file.
type SiteNotice struct {
	Reference string `json:"reference"`
	Type      string `json:"type"`
	IssuedBy  string `json:"issued_by"`
}

// Kind describes a kind of entry.
type Kind struct {
	Name     string  `json:"name"`
	Register string  `json:"register"`
	Subject  string  `json:"subject"`
	Title    string  `json:"title"`
	Help     string  `json:"help"`
	Place    string  `json:"place"`
	Length   string  `json:"length"`
	Plain    bool    `json:"plain" doc:"entered through a form drawn from this description"`
	Fields   []Field `json:"fields"`
}

// Field describes a field of a kind.
type Field struct {
	Name     string   `json:"name"`
	Title    string   `json:"title"`
	Help     string   `json:"help"`
	Type     string   `json:"type"`
	Unit     string   `json:"unit"`
	Required bool     `json:"required"`
	Personal bool     `json:"personal"`
	Min      string   `json:"min"`
	Max      string   `json:"max"`
	Options  []string `json:"options,omitempty"`
	Fields   []Field  `json:"fields,omitempty"`
}

// Checklist is what an inspection goes through.
type Checklist struct {
	ID    string          `json:"id"`
	Title string          `json:"title"`
	Items []ChecklistItem `json:"items"`
}

// ChecklistItem is one thing to look at.
type ChecklistItem struct {
	ID   string `json:"id"`
	Text string `json:"text"`
}

// Today is what the first screen shows.
type Today struct {
	At          time.Time         `json:"at"`
	Rules       int               `json:"rules"`
	Seq         int64             `json:"seq"`
	Clauses     judge.Clauses     `json:"clauses"`
	Counts      judge.Counts      `json:"counts" doc:"conditions by verdict, to date"`
	NotComplied []judge.Judgement `json:"not_complied"`
	Cannot      []Cause           `json:"cannot_be_judged"`
	Last        []EntryLine       `json:"last_entries"`
}

// Cause groups what cannot be judged for one reason.
type Cause struct {
	Cause      string            `json:"cause"`
	Remedy     string            `json:"remedy"`
	Judgements []judge.Judgement `json:"judgements"`
}

func (s *Server) siteOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "site", Method: http.MethodGet, Path: "/site", Summary: "The site"},
		func(ctx context.Context, _ *struct{}) (*answer[Site], error) { return reply(s.site(ctx)) })
	huma.Register(api, huma.Operation{OperationID: "today", Method: http.MethodGet, Path: "/today", Summary: "What stands, and what cannot be judged and why"},
		func(ctx context.Context, _ *struct{}) (*answer[Today], error) { return reply(s.today(ctx)) })
	huma.Register(api, huma.Operation{OperationID: "kinds", Method: http.MethodGet, Path: "/kinds", Summary: "Every kind of entry"},
		func(context.Context, *struct{}) (*answer[[]Kind], error) { return reply(s.kinds(), nil) })
	huma.Register(api, huma.Operation{OperationID: "checklists", Method: http.MethodGet, Path: "/checklists", Summary: "The checklists of inspections"},
		func(context.Context, *struct{}) (*answer[[]Checklist], error) { return reply(checklists(), nil) })
}

func (s *Server) site(ctx context.Context) (Site, error) {
	site, err := s.App.Site(ctx, who(ctx))
	if err != nil {
		return Site{}, err
	}
	out := Site{
		ID: site.ID, Name: site.Name, Zone: site.Zone.String(), Grid: site.Grid, Datum: site.Datum, Epoch: site.Epoch,
		Seq: site.Seq, Now: s.App.Now().UTC(), Permits: []SiteNotice{}, Caution: catalogue.Caution("verdict"),
	}
	for _, n := range site.Notices {
		out.Permits = append(out.Permits, SiteNotice(n))
	}
	return out, nil
}

func (s *Server) today(ctx context.Context) (Today, error) {
	d, err := s.App.Today(ctx, who(ctx))
	if err != nil {
		return Today{}, err
	}
	r := d.Snapshot.Report
	out := Today{
		At: d.Snapshot.At, Rules: r.Rules, Seq: d.Snapshot.Info.Seq, Clauses: r.Clauses, Counts: d.Counts,
		NotComplied: list(d.NotComplied), Cannot: []Cause{}, Last: []EntryLine{},
	}
	for _, c := range d.Cannot {
		out.Cannot = append(out.Cannot, Cause{c.Cause, c.Remedy, c.Judgements})
	}
	for _, l := range d.Last {
		out.Last = append(out.Last, lineOf(l))
	}
	return out, nil
}

func (s *Server) kinds() []Kind {
	out := []Kind{}
	for _, k := range s.App.Kinds.All() {
		out = append(out, Kind{
			Name: k.Name, Register: k.Register, Subject: k.Subject, Title: k.Title, Help: k.Help,
			Place: string(k.Place), Length: string(k.Length), Plain: k.Plain, Fields: fieldsOf(k.Fields),
		})
	}
	return out
}

func fieldsOf(fields []book.Field) []Field {
	out := []Field{}
	for _, f := range fields {
		one := Field{Name: f.Name, Title: f.Title, Help: f.Help, Type: string(f.Type), Unit: f.Unit, Required: f.Required, Personal: f.Personal, Min: f.Min, Max: f.Max, Options: f.Options}
		if len(f.Fields) > 0 {
			one.Fields = fieldsOf(f.Fields)
		}
		out = append(out, one)
	}
	return out
}

func checklists() []Checklist {
	out := []Checklist{}
	for _, c := range catalogue.Checklists() {
		one := Checklist{ID: c.ID, Title: c.Title, Items: []ChecklistItem{}}
		for _, i := range c.Items {
			one.Items = append(one.Items, ChecklistItem{i.ID, i.Text})
		}
		out = append(out, one)
	}
	return out
}
