package inspection

import (
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Duties returns what of this folder makes duties.
func Duties() []duty.Source { return []duty.Source{findingDuties} }

// findingDuties are the findings that are not put right, or not checked.
func findingDuties(rec quantity.Record, _ time.Time) []duty.Duty {
	last := map[string]*book.Entry{}
	for _, e := range rec.Entries("remedy.1") {
		if e.Body != nil {
			last[e.Body.Text("finding")] = e
		}
	}
	var out []duty.Duty
	add := func(e *book.Entry, number string, o book.Object, places []string) {
		due, err := calendar.ParseDate(o.Text("due"))
		if err != nil {
			return
		}
		d := duty.Duty{
			What: "put right: " + o.Text("what"), Why: "finding " + number + ", " + o.Text("severity"), Entry: e, Post: o.Text("owner"),
			From: e.At, By: due.AddDays(1).Start(rec.Site().Zone), More: 1, Kinds: []string{"remedy.1"}, Fill: map[string]string{"finding": number, "stage": putRight},
		}
		if len(places) > 0 {
			d.Place = places[0]
		}
		if done := last[number]; done != nil {
			switch done.Body.Text("stage") {
			case putRight:
				d.What, d.Post, d.Fill["stage"] = "check that it was put right: "+o.Text("what"), duty.DefaultPost, accepted
			case notAccepted:
				d.Why += ", put right and not accepted"
			default:
				d.More, d.Done = 0, []*book.Entry{done}
			}
		}
		out = append(out, d)
	}
	for _, e := range rec.Entries("finding.1") {
		if e.Body != nil {
			add(e, e.Body.Text("number"), e.Body, e.Places)
		}
	}
	for _, e := range rec.Entries("inspection.1") {
		if e.Body == nil {
			continue
		}
		for i, f := range e.Body.Objects("findings") {
			places := e.Places
			if p := f.Text("place"); p != "" {
				places = []string{p}
			}
			add(e, findingNumber(e, i), f, places)
		}
	}
	return out
}

// findingNumber is how a finding of an inspection is named: by the inspection's
// reference, or its entry, and which of its findings it is.
func findingNumber(e *book.Entry, i int) string {
	name := e.Body.Text(book.RefField)
	if name == "" {
		name = "entry " + strconv.FormatInt(e.Seq, 10)
	}
	return name + "." + strconv.Itoa(i+1)
}
