package site

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Duties returns what of this folder makes duties.
func Duties() []duty.Source {
	return []duty.Source{paperDuties, incidentDuties, complaintDuties, consentDuties, neededDuties}
}

// endOf returns the instant a day of the zone is over; zero for no day.
func endOf(day string, zone *time.Location) time.Time {
	d, err := calendar.ParseDate(day)
	if err != nil {
		return time.Time{}
	}
	return d.AddDays(1).Start(zone)
}

func of(e *book.Entry, what, why string) duty.Duty {
	d := duty.Duty{Entry: e, What: what, Why: why, From: e.At, More: 1, Kinds: []string{e.Kind}}
	if len(e.Places) > 0 {
		d.Place = strings.Join(e.Places, ", ")
	}
	return d
}

// paperDuties are submissions that await a decision and what was refused. That
// an authority's time is over grants nothing.
func paperDuties(rec quantity.Record, _ time.Time) []duty.Duty {
	type key struct{ scheme, revision, place string }
	last, order := map[key]*book.Entry{}, []key{}
	for _, e := range rec.Entries("paper.1") {
		if e.Body == nil {
			continue
		}
		k := key{e.Body.Text("scheme"), e.Body.Text("revision"), strings.Join(e.Places, ",")}
		if last[k] == nil {
			order = append(order, k)
		}
		last[k] = e
	}
	var out []duty.Duty
	for _, k := range order {
		e := last[k]
		name := k.scheme
		if k.revision != "" {
			name += ", revision " + k.revision
		}
		var d duty.Duty
		switch e.Body.Text("stage") {
		case "submitted", "under consideration":
			clock := e.Body.Text("clock")
			if clock == "" && !e.Body.Flag("answer_wanted") {
				continue // a notice or a return, which nobody answers
			}
			d = of(e, "decision awaited: "+name, "entered as "+e.Body.Text("stage"))
			if by, err := clockEnd(e, clock, rec.Site().Zone); err == nil {
				d.By = by
				d.Why = fmt.Sprintf("%s from the day after receipt; that it is over grants nothing", clock)
			}
		case "refused", "approved in part":
			d = of(e, e.Body.Text("stage")+": "+name, "submit again, appeal, or withdraw it")
		default:
			continue
		}
		d.Fill = map[string]string{"scheme": k.scheme, "revision": k.revision}
		out = append(out, d)
	}
	return out
}

// clockEnd counts the time an authority has from the day after receipt: the
// day of receipt is not counted.
func clockEnd(e *book.Entry, clock string, zone *time.Location) (time.Time, error) {
	var term calendar.Term
	if _, err := fmt.Sscanf(clock, "%d %s", &term.N, &term.Unit); err != nil {
		return time.Time{}, fmt.Errorf("%q is no time: write it such as 8 weeks", clock)
	}
	switch strings.TrimSuffix(term.Unit, "s") {
	case "day", "week", "month":
	default:
		return time.Time{}, fmt.Errorf("%q is no time in days, weeks or months", clock)
	}
	end, err := calendar.Due(e.At, term, zone, nil)
	return end.Ends, err
}

func incidentDuties(rec quantity.Record, _ time.Time) []duty.Duty {
	var out []duty.Duty
	for _, e := range rec.Entries("incident.1") {
		if e.Body != nil && e.Body.Text("told_at") == "" {
			d := of(e, "tell the authority: "+e.Body.Text("sort"), "nobody is on record as told")
			d.By = e.At
			out = append(out, d)
		}
	}
	return out
}

func complaintDuties(rec quantity.Record, _ time.Time) []duty.Duty {
	var out []duty.Duty
	for _, e := range rec.Entries("complaint.1") {
		if e.Body != nil && e.Body.Text("found") == "" {
			out = append(out, of(e, "look into the complaint about "+e.Body.Text("about"), "what was found is not entered"))
		}
	}
	return out
}

// consentDuties are those told of work past what is allowed, where nobody is.
func consentDuties(rec quantity.Record, at time.Time) []duty.Duty {
	var out []duty.Duty
	for _, e := range rec.Entries("consent.1") {
		if e.Body == nil || e.Body.Text("told") != "" || e.At.After(at) {
			continue
		}
		d := of(e, "say who was told of "+e.Body.Text("act")+" past what condition "+e.Body.Text("condition")+" allows", "nobody is on record as told")
		if d.By = e.Until; d.By.IsZero() {
			d.By = e.At
		}
		out = append(out, d)
	}
	return out
}

// neededDuties are what is needed before the start: to be asked for its lead
// earlier, then to be got, and the record of the land to be agreed.
func neededDuties(rec quantity.Record, _ time.Time) []duty.Duty {
	var out []duty.Duty
	for _, e := range rec.Entries(duty.NeededKind) {
		b := e.Body
		if b == nil || b.Text("not_needed") != "" {
			continue
		}
		by := endOf(b.Text("needed_by"), rec.Site().Zone)
		switch {
		case b.Text("got") == "" && b.Text("asked") == "":
			d := of(e, "ask for, begin: "+b.Text("name"), "needed by "+b.Text("needed_by"))
			lead := b.Integer("lead")
			if lead > 0 {
				d.Why += fmt.Sprintf(", and takes about %d days", lead)
			}
			if day, err := calendar.ParseDate(b.Text("needed_by")); err == nil {
				d.By = day.AddDays(1 - int(lead)).Start(rec.Site().Zone)
			}
			out = append(out, d)
		case b.Text("got") == "":
			d := of(e, "get, complete: "+b.Text("name"), "asked for on "+b.Text("asked")+", needed by "+b.Text("needed_by"))
			d.By = by
			out = append(out, d)
		case duty.IsBaseline(b.Text("sort")) && b.Text("agreed") == "":
			d := of(e, "agree: "+b.Text("name"), "complete on "+b.Text("got")+", agreed with nobody yet")
			d.By = by
			out = append(out, d)
		}
	}
	return out
}
