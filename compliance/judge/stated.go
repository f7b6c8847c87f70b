package judge

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// statedOutcomes judges a clause that no figure decides by what the role named
// in it has stated: in each window the last word counts.
func (h *hearing) statedOutcomes() ([]outcome, error) {
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	list := h.statements()
	for i := range wins {
		out = append(out, h.judgeStated(&wins[i], list))
	}
	sortOutcomes(out)
	return out, nil
}

// statements returns what was stated of the clause by the role, in order.
func (h *hearing) statements() []*book.Entry {
	c := h.cond()
	var out []*book.Entry
	for _, e := range h.rec.Entries("statement.1") {
		notice := e.Body.Text("permit")
		if notice != h.line.permit && !h.isVersion(notice) || e.Body.Text("clause") != c.Clause || e.Body.Text("role") != c.Role {
			continue
		}
		if h.place != "" && len(e.Places) > 0 && !named(e.Places, h.place) {
			continue
		}
		out = append(out, e)
	}
	return out
}

func (h *hearing) isVersion(notice string) bool {
	for i := range h.run {
		if h.run[i].notice == notice {
			return true
		}
	}
	return false
}

func named(list []string, one string) bool {
	for _, s := range list {
		if s == one {
			return true
		}
	}
	return false
}

func (h *hearing) judgeStated(w *window, list []*book.Entry) outcome {
	c := w.ver.cond
	o := outcome{span: w.span, ver: w.ver, text: "stated by the " + c.Role}
	once := c.Window.Kind == "" || c.Window.Kind == calendar.WholeLife
	var last *book.Entry
	for _, e := range list {
		if once || w.holds(e.At) {
			last = e
		}
	}
	switch {
	case last != nil:
		o.entries = []*book.Entry{last}
		o.verdict, o.reason = Complied, "stated as met by the "+c.Role+" on "+day(last.At, h.zone)
		if last.Body.Text("answer") != "met" {
			o.verdict, o.reason = NotComplied, "stated as not met by the "+c.Role+" on "+day(last.At, h.zone)
		}
	case h.pending(&o):
		o.verdict = NotYetDue
	case c.Missing == permit.NotDone || c.Missing == permit.GapIsBreach:
		o.verdict, o.absent, o.reason = NotComplied, true, "nothing stated by the "+c.Role+"; presumed not done until it is"
	default:
		o.verdict, o.cause, o.remedy, o.absent = CannotBeJudged, "nothing stated by the "+c.Role, "the "+c.Role+" states whether it is met", true
		o.reason = o.cause
	}
	if h.s.opts.Working {
		o.steps = limitSteps(&o)
	}
	return o
}
