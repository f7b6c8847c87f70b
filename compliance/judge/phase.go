package judge

import (
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// phaseKind is the kind of entry that says when a phase of the works ran.
const phaseKind = "phase.1"

// phaseSpans returns when a phase ran, in order; one without an end goes on.
func (h *hearing) phaseSpans(name string) []calendar.Span {
	if spans, done := h.phases[name]; done {
		return spans
	}
	spans := []calendar.Span{}
	for _, e := range h.rec.Entries(phaseKind) {
		if e.Body == nil || e.Body.Text("name") != name {
			continue
		}
		to := e.Until
		if to.IsZero() {
			to = endless
		}
		h.until(to)
		spans = append(spans, calendar.Span{From: e.At, To: to})
	}
	if h.phases == nil {
		h.phases = map[string][]calendar.Span{}
	}
	h.phases[name] = calendar.Merge(spans)
	return h.phases[name]
}

// inPhase keeps the windows that lie in the phase of their version, or the
// parts that do where the condition cuts windows.
func (h *hearing) inPhase(v *version, list []window) []window {
	if v.cond.Phase == "" {
		return list
	}
	return selectOpen(list, h.phaseSpans(v.cond.Phase), v.cond.Edge == permit.CutAtEdge)
}

// duringPhase tells whether the phase of a version ran at an instant.
func (h *hearing) duringPhase(v *version, t time.Time) bool {
	if v.cond.Phase == "" {
		return true
	}
	for _, s := range h.phaseSpans(v.cond.Phase) {
		if !t.Before(s.From) && t.Before(s.To) {
			return true
		}
	}
	return false
}

// beforePhase is the outcome of a condition whose phase is not on record at
// all: nothing is due yet, which is no compliance.
func (h *hearing) beforePhase() []outcome {
	o := outcome{span: h.sofar(), ver: &h.run[0], verdict: NotYetDue, reason: "the phase " + h.cond().Phase + " is not on record as begun"}
	return []outcome{o}
}
