package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// InstrumentList is what is on record of the instruments of a site.
type InstrumentList struct {
	At          time.Time          `json:"at"`
	Instruments []InstrumentRecord `json:"instruments"`
}

// InstrumentRecord is what is on record of one instrument.
type InstrumentRecord struct {
	Ref          string            `json:"ref"`
	Title        string            `json:"title" doc:"empty: not entered"`
	Serial       string            `json:"serial"`
	Class        string            `json:"class"`
	Entry        string            `json:"entry,omitempty" doc:"that describes it"`
	Stands       []InstrumentStand `json:"stands"`
	Checks       []InstrumentCheck `json:"checks"`
	Certificates []Certificate     `json:"certificates"`
	Doubts       []InstrumentDoubt `json:"doubts"`
}

// InstrumentStand is where it stood.
type InstrumentStand struct {
	From     time.Time  `json:"from"`
	To       *time.Time `json:"to" doc:"null: it still stands"`
	Ref      string     `json:"ref"`
	Places   []string   `json:"places"`
	Position string     `json:"position"`
	HeightM  string     `json:"height_m" doc:"a decimal as entered"`
	Entry    string     `json:"entry"`
}

// InstrumentCheck is a check in the field or in a laboratory.
type InstrumentCheck struct {
	At     time.Time `json:"at"`
	Where  string    `json:"where" enum:"field,laboratory"`
	When   string    `json:"when" doc:"before, during or after; empty of a laboratory's"`
	Error  *float64  `json:"error" doc:"shown less expected; null: not known"`
	Drift  *float64  `json:"drift" doc:"of the error since the check before"`
	Unit   string    `json:"unit"`
	Result string    `json:"result" doc:"as entered"`
	State  string    `json:"state" enum:"good,flagged,out" doc:"by common practice; a condition may be stricter"`
	Entry  string    `json:"entry"`
}

// Certificate is a laboratory's certificate.
type Certificate struct {
	From       time.Time  `json:"from"`
	To         *time.Time `json:"to" doc:"end of the last day it is good for; null: none stated"`
	Number     string     `json:"number"`
	Laboratory string     `json:"laboratory"`
	Entry      string     `json:"entry"`
}

// InstrumentDoubt is a span in which readings are doubtful.
type InstrumentDoubt struct {
	From    *time.Time `json:"from" doc:"null: from the first reading on"`
	To      *time.Time `json:"to" doc:"null: without an end so far"`
	Effect  string     `json:"effect" enum:"left out,uncertain,noted"`
	Low     float64    `json:"low" doc:"dB that a level may lie off, 0 or less"`
	High    float64    `json:"high"`
	Words   string     `json:"words"`
	Remedy  string     `json:"remedy"`
	Entries []string   `json:"entries"`
}

func (s *Server) instrumentOperations(api huma.API) {
	huma.Register(api, huma.Operation{OperationID: "instruments", Method: http.MethodGet, Path: "/instruments", Summary: "What is on record of the instruments",
		Description: "Where each stood, its checks and certificates, and when its readings are doubtful."},
		func(ctx context.Context, _ *struct{}) (*answer[InstrumentList], error) {
			list, at, err := s.App.Instruments(ctx, who(ctx))
			out := InstrumentList{At: at, Instruments: []InstrumentRecord{}}
			for _, x := range list {
				out.Instruments = append(out.Instruments, instrumentRecord(x))
			}
			return reply(out, err)
		})
}

func instrumentRecord(x *judge.Instrument) InstrumentRecord {
	out := InstrumentRecord{Ref: x.Ref, Stands: []InstrumentStand{}, Checks: []InstrumentCheck{}, Certificates: []Certificate{}, Doubts: []InstrumentDoubt{}}
	if n := len(x.Entries); n > 0 {
		e := x.Entries[n-1]
		out.Title, out.Serial, out.Class, out.Entry = e.Body.Text("title"), e.Body.Text("serial"), e.Body.Text("class"), string(e.ID)
	}
	for _, s := range x.Stands {
		b := s.Entry.Body
		out.Stands = append(out.Stands, InstrumentStand{s.From, ifSet(s.To), b.Text("ref"), append([]string{}, s.Entry.Places...), b.Text("position"), b.Text("height"), string(s.Entry.ID)})
	}
	for i := range x.Checks {
		out.Checks = append(out.Checks, instrumentCheck(&x.Checks[i]))
	}
	for _, c := range x.Certificates {
		out.Certificates = append(out.Certificates, Certificate{c.From, ifSet(c.To), c.Entry.Body.Text("certificate"), c.Entry.Body.Text("laboratory"), string(c.Entry.ID)})
	}
	for _, d := range x.Doubts {
		one := InstrumentDoubt{To: ifSet(d.To), Effect: "uncertain", Low: d.Low, High: d.High, Words: d.Words, Remedy: d.Remedy, Entries: ids(d.Entries)}
		if d.From.Unix() != 0 {
			one.From = &d.From
		}
		switch {
		case d.Noted:
			one.Effect = "noted"
		case d.LeftOut:
			one.Effect = "left out"
		}
		out.Doubts = append(out.Doubts, one)
	}
	return out
}

func instrumentCheck(c *judge.Checked) InstrumentCheck {
	out := InstrumentCheck{At: c.At, Where: "laboratory", When: c.Entry.Body.Text("when"), Error: c.Error, Drift: c.Drift, Unit: c.Unit, Result: c.Entry.Body.Text("outcome"), State: "good", Entry: string(c.Entry.ID)}
	if c.Field() {
		out.Where = "field"
	}
	switch {
	case c.Bad:
		out.State = "out"
	case c.Flag:
		out.State = "flagged"
	}
	return out
}

func ids(list []*book.Entry) []string {
	out := []string{}
	for _, e := range list {
		out = append(out, string(e.ID))
	}
	return out
}

// ifSet is nil for the zero time.
func ifSet(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}
