package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/server/app"
)

// DutyList is what is to be done, overdue first.
type DutyList struct {
	At      time.Time  `json:"at"`
	Post    string     `json:"post" doc:"that they fall to; empty: every post"`
	Posts   []string   `json:"posts"`
	Duties  []Duty     `json:"duties"`
	Start   *Start     `json:"start,omitempty" doc:"what is needed before works begin, while they have not"`
	Feed    *time.Time `json:"feed,omitempty" doc:"when the calendar link of the caller's role was made"`
	Caution string     `json:"caution"`
}

// Duty is one thing to be done.
type Duty struct {
	ID        string            `json:"id"`
	What      string            `json:"what"`
	Why       string            `json:"why"`
	Title     string            `json:"title"`
	Permit    string            `json:"permit"`
	Clause    string            `json:"clause"`
	Condition string            `json:"condition"`
	Entry     string            `json:"entry" doc:"that it comes from; empty: of a condition"`
	Place     string            `json:"place"`
	Post      string            `json:"post"`
	Before    string            `json:"before" doc:"the post it passed from"`
	Vacant    bool              `json:"vacant" doc:"nobody is on record as holding the post"`
	By        *time.Time        `json:"by,omitempty" doc:"the instant its time is over"`
	State     string            `json:"state" enum:"overdue,due today,due within seven days,ahead,no date set,done"`
	Days      int               `json:"days" doc:"whole days overdue"`
	Carried   string            `json:"carried" doc:"how far it was carried up"`
	More      int               `json:"more" doc:"how many are still wanted"`
	Kinds     []string          `json:"kinds" doc:"of entry that would do it"`
	Fill      map[string]string `json:"fill" doc:"what such an entry says"`
	Corrects  bool              `json:"corrects" doc:"it is done by a correction of the entry that it comes from"`
	Done      []string          `json:"done" doc:"entries that did it"`
}

// Start is what is needed before works begin.
type Start struct {
	Needed   []Needed `json:"needed"`
	Unlisted []string `json:"unlisted" doc:"records of the land as it was that are not listed"`
}

// Needed is one thing needed before works begin.
type Needed struct {
	Entry      string `json:"entry"`
	Name       string `json:"name"`
	Sort       string `json:"sort"`
	From       string `json:"from"`
	By         string `json:"by"`
	Lead       int64  `json:"lead" doc:"days"`
	Asked      string `json:"asked"`
	Got        string `json:"got"`
	AgreedWith string `json:"agreed_with"`
	Agreed     string `json:"agreed"`
	NotNeeded  string `json:"not_needed"`
	Baseline   bool   `json:"baseline"`
	Settled    bool   `json:"settled"`
}

// CalendarLink is a secret link, shown once.
type CalendarLink struct {
	Path string `json:"path" doc:"of the calendar on this server; whoever has it can read the list"`
}

type dutiesInput struct {
	Post string `query:"post" maxLength:"120" doc:"only what falls to this post; empty: every post"`
}

type feedInput struct {
	Role string `path:"role"`
}

func (s *Server) dutyOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "duties", Method: http.MethodGet, Path: "/duties", Summary: "What is to be done, overdue first"},
		func(ctx context.Context, in *dutiesInput) (*answer[DutyList], error) {
			return reply(s.duties(ctx, in.Post))
		})
	huma.Register(api, huma.Operation{OperationID: "make-calendar", Method: http.MethodPost, Path: "/calendars/{role}", Summary: "Make the secret link to a role's calendar, ending the one before"},
		func(ctx context.Context, in *feedInput) (*answer[CalendarLink], error) {
			token, err := s.People.MakeFeed(ctx, who(ctx), app.Role(in.Role))
			return reply(CalendarLink{Path: "/calendar/" + token + ".ics"}, err)
		})
	huma.Register(api, huma.Operation{OperationID: "end-calendar", Method: http.MethodDelete, Path: "/calendars/{role}", Summary: "End the secret link to a role's calendar", DefaultStatus: http.StatusNoContent},
		func(ctx context.Context, in *feedInput) (*struct{}, error) {
			if err := s.People.DropFeed(ctx, who(ctx), app.Role(in.Role)); err != nil {
				return nil, asProblem(err)
			}
			return nil, nil
		})
}

func (s *Server) duties(ctx context.Context, post string) (DutyList, error) {
	me := who(ctx)
	d, err := s.App.Duties(ctx, me, post)
	if err != nil {
		return DutyList{}, err
	}
	out := DutyList{At: d.At, Post: d.Post, Posts: list(d.Posts), Duties: []Duty{}, Caution: catalogue.Caution("verdict")}
	if out.Feed, err = s.People.FeedOf(ctx, me.Role); err != nil {
		return DutyList{}, err
	}
	for i := range d.List {
		out.Duties = append(out.Duties, dutyOf(&d.List[i]))
	}
	if d.Start != nil {
		out.Start = &Start{Needed: []Needed{}, Unlisted: list(d.Start.Unlisted)}
		for _, n := range d.Start.Needed {
			out.Start.Needed = append(out.Start.Needed, Needed{n.Entry, n.Name, n.Sort, n.From, n.By, n.Lead, n.Asked, n.Got, n.AgreedWith, n.Agreed, n.NotNeeded, n.Baseline, n.Settled})
		}
	}
	return out, nil
}

func dutyOf(d *duty.Duty) Duty {
	out := Duty{
		ID: d.ID, What: d.What, Why: d.Why, Title: d.Title, Permit: d.Permit, Clause: d.Clause, Condition: d.Condition, Place: d.Place,
		Post: d.Post, Before: d.Before, Vacant: d.Vacant, State: string(d.State), Days: d.DaysOver(), Carried: d.Level.String(),
		More: d.More, Kinds: list(d.Kinds), Fill: d.Fill, Done: []string{},
	}
	if d.Entry != nil {
		out.Entry, out.Corrects = string(d.Entry.ID), len(d.Fill) == 0
	}
	if !d.By.IsZero() {
		out.By = &d.By
	}
	if out.Fill == nil {
		out.Fill = map[string]string{}
	}
	for _, e := range d.Done {
		out.Done = append(out.Done, string(e.ID))
	}
	return out
}

// calendar answers the calendar of a role's duties to whoever has its link.
func (s *Server) calendar(c *gin.Context) {
	ctx := c.Request.Context()
	token, ok := feedToken(c.Param("token"))
	if !ok {
		abort(c, &app.Error{Code: app.NotFound, Words: "there is no such calendar"})
		return
	}
	role, err := s.People.Fed(ctx, token)
	if err != nil {
		abort(c, err)
		return
	}
	d, snap, err := s.App.FedDuties(ctx, role)
	if err != nil {
		abort(c, err)
		return
	}
	c.Header("Cache-Control", "private, max-age=900")
	c.Header("X-Robots-Tag", "noindex")
	c.Data(http.StatusOK, "text/calendar; charset=utf-8", []byte(calendarOf(d.List, snap, role)))
}
