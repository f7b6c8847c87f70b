package site

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// complaintQuantity counts complaints.
func complaintQuantity() *quantity.Quantity {
	return counted("complaint.1", "site.complaints", "complaints", "Complaints as they came in, each counting 1.", "about", "justified")
}

// incidentQuantity counts incidents, at the time they were known.
func incidentQuantity() *quantity.Quantity {
	return counted("incident.1", "site.incidents", "incidents", "Incidents at the time they were known, each counting 1.", "sort")
}

func counted(kind, code, title, help string, words ...string) *quantity.Quantity {
	return &quantity.Quantity{
		Code: code, Title: title, Form: quantity.Events, NotBelow: new(float64), With: words, Caution: "verdict", Help: help,
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range observe.Wanted(rec, kind, ask, words...) {
				o := observe.Of(e, ask)
				o.Name = e.Body.Text(words[0])
				out = append(out, o)
			}
			return out, nil
		},
	}
}

// toldQuantity is the telling of incidents, at the time they were told.
func toldQuantity() *quantity.Quantity {
	return &quantity.Quantity{
		Code: "site.incidents_told", Title: "incidents told", Form: quantity.Events, NotBelow: new(float64), With: []string{"sort"}, Caution: "verdict",
		Help: "Incidents at the time the authority was told, each counting 1.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			var out []quantity.Observation
			for _, e := range rec.Entries("incident.1") {
				if e.Body == nil || e.Body.Text("told_at") == "" || !observe.At(e, ask) || !observe.Says(e.Body, ask, "sort") {
					continue
				}
				told, err := book.ParseInstant(e.Body.Text("told_at"))
				if err != nil {
					return nil, err
				}
				if !observe.During(ask, told, told) {
					continue
				}
				o := observe.Of(e, ask)
				o.From, o.To, o.Name = told, told, e.Body.Text("sort")
				out = append(out, o)
			}
			return out, nil
		},
	}
}
