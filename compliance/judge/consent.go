package judge

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// consentKind is the kind of entry that allows what a condition forbids, for
// one act, place and time, or states an emergency.
const consentKind = "consent.1"

// consents returns the entries that stand for a span at this place, oldest
// first: consents, and emergencies, which are only stated.
func (h *hearing) consents(w calendar.Span) (given, stated []*book.Entry) {
	if h.s.opts.Rules < 2 {
		return nil, nil // under rules 1 they were not applied
	}
	for _, e := range h.rec.Entries(consentKind) {
		from, to := e.Span()
		switch {
		case e.Body == nil || from.After(w.From) || to.Before(w.To):
		case e.Body.Text("permit") != "" && e.Body.Text("permit") != h.line.permit:
		case e.Body.Text("condition") != h.line.id:
		case h.place != "" && len(e.Places) > 0 && !named(e.Places, h.place):
		case e.Body.Flag("emergency"):
			stated = append(stated, e)
		default:
			given = append(given, e)
		}
	}
	return given, stated
}

// underConsent lifts a breach of hours or place where a consent covers the
// whole act; an emergency is named and lifts nothing.
func (h *hearing) underConsent(o *outcome, a *quantity.Observation) {
	if o.verdict != NotComplied {
		return
	}
	given, stated := h.consents(o.span)
	for _, e := range given {
		if of := e.Body.Text("act"); of != act.AllWorks && of != a.Name && of != h.cond().With["act"] {
			continue
		}
		if e.Body.Text("limit") != "" {
			continue // allows a level, not other hours
		}
		o.verdict = Complied
		o.reason += ", under consent " + e.Body.Text("reference")
		o.margin = nil
		o.allowBy(e)
		return
	}
	for _, e := range stated {
		o.reason += "; an emergency is stated, which is no consent"
		o.allowBy(e)
	}
}

// allowBy puts a consent among the evidence and corrects the written verdict.
func (o *outcome) allowBy(e *book.Entry) {
	o.entries = bySeq(append(o.entries[:len(o.entries):len(o.entries)], e))
	if n := len(o.steps); n > 0 {
		o.steps = append(o.steps[:n-1:n-1], step(fmt.Sprintf("consent or emergency (entry %d)", e.Seq), o.reason), step("verdict", o.verdict.String()))
	}
}

// consentLimits returns the limits a consent puts in place of the condition's
// own for a window that it covers whole, and the entry; nil when there is none.
// Of several the last counts.
func (h *hearing) consentLimits(o *outcome) ([]permit.Limit, *book.Entry, error) {
	given, _ := h.consents(o.span)
	for i := len(given) - 1; i >= 0; i-- {
		text := given[i].Body.Text("limit")
		if text == "" {
			continue
		}
		l, err := permit.ParseLimit(text)
		if err != nil {
			return nil, given[i], &fault{cause: fmt.Sprintf("the limit of consent entry %d cannot be read: %v", given[i].Seq, err), remedy: "correct the entry"}
		}
		return []permit.Limit{l}, given[i], nil
	}
	return nil, nil, nil
}
