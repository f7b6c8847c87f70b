package monitoring

import (
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Duties returns what of this folder makes duties.
func Duties() []duty.Source { return []duty.Source{certificateDuties} }

// certificateDuties are the next calibrations of instruments in use: each by
// the last day of its latest certificate.
func certificateDuties(rec quantity.Record, at time.Time) []duty.Duty {
	inUse := map[string]bool{}
	for _, e := range rec.Entries("deployment.1") {
		if e.Body != nil && !e.At.After(at) && (e.Until.IsZero() || e.Until.After(at)) {
			inUse[e.Body.Text("instrument")] = true
		}
	}
	last, order := map[string]*book.Entry{}, []string{}
	for _, e := range rec.Entries("calibration.1") {
		if e.Body == nil || !inUse[e.Body.Text("instrument")] {
			continue
		}
		name := e.Body.Text("instrument")
		if last[name] == nil {
			order = append(order, name)
		}
		last[name] = e
	}
	var out []duty.Duty
	for _, name := range order {
		e := last[name]
		until, err := calendar.ParseDate(e.Body.Text("valid_until"))
		if err != nil {
			continue
		}
		out = append(out, duty.Duty{
			What: "calibration of " + name, Why: "certificate " + e.Body.Text("certificate") + " is good until " + until.String(),
			Entry: e, From: e.At, By: until.AddDays(1).Start(rec.Site().Zone), More: 1,
			Kinds: []string{"calibration.1"}, Fill: map[string]string{"instrument": name},
		})
	}
	return out
}
