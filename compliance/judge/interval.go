package judge

import (
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// intervalOutcomes judges each act on record: it must lie wholly inside the
// hours the condition allows.
func (h *hearing) intervalOutcomes() ([]outcome, error) {
	if h.cond().Schedule == nil {
		return h.actsInArea()
	}
	list, err := h.observe(h.from())
	if err != nil {
		return nil, err
	}
	var out []outcome
	for i := range list {
		a := &list[i]
		if a.From.Before(h.from()) || !a.From.Before(h.to()) {
			continue
		}
		if v := h.versionAt(a.From); h.duringPhase(v, a.From) {
			o := h.judgeAct(a, v)
			h.underConsent(&o, a)
			out = append(out, o)
		}
	}
	return out, nil
}

// judgeAct judges one act against the hours of one version.
func (h *hearing) judgeAct(a *quantity.Observation, v *version) outcome {
	o := outcome{span: calendar.Span{From: a.From, To: later(a.From, a.To)}, ver: v, text: "inside the hours allowed"}
	if a.Entry != nil {
		o.entries = []*book.Entry{a.Entry}
	}
	days, err := h.holidays(v)
	if err != nil {
		return h.actLost(&o, err)
	}
	// The day around the act, so that the working can say what was open.
	around := calendar.Span{From: calendar.DateOf(o.span.From, v.zone).Start(v.zone), To: calendar.DateOf(o.span.To, v.zone).AddDays(1).Start(v.zone)}
	open, err := v.cond.Schedule.Open(around, v.zone, days)
	if err != nil {
		return h.actLost(&o, err)
	}
	if a.Precision == book.ToDay {
		h.dayAct(&o, around, open)
	} else {
		h.timedAct(&o, open)
	}
	if h.s.opts.Working {
		o.steps = actSteps(&o, a, open, days)
	}
	return o
}

func (h *hearing) actLost(o *outcome, err error) outcome {
	lost := cannot(o.span, o.ver, asFault(err))
	lost.entries = o.entries
	return lost
}

// dayAct judges an act of which only the day is known.
func (h *hearing) dayAct(o *outcome, around calendar.Span, open []calendar.Span) {
	switch {
	case len(open) == 0:
		o.verdict, o.reason = NotComplied, "no hour of that day is allowed"
	case len(open) == 1 && open[0].Contains(around):
		o.verdict, o.reason = Complied, "the whole day is allowed"
	default:
		o.verdict, o.cause, o.remedy = CannotBeJudged, "only the day of the act is known", "enter when the act began and ended"
		o.reason = o.cause + ", not the hour"
		o.unsure = true
	}
}

// timedAct judges an act whose beginning and end are known. An act still going
// on at the time of judging is judged as far as it has gone.
func (h *hearing) timedAct(o *outcome, open []calendar.Span) {
	act := o.span
	going := act.To.After(h.at)
	if going {
		act.To = h.at
		h.until(o.span.To)
		h.rec.moving()
	}
	outside := act.Length()
	inside := false
	for _, p := range open {
		if part := p.Overlap(act); !part.Empty() {
			outside -= part.Length()
		}
		inside = inside || !act.From.Before(p.From) && act.From.Before(p.To)
	}
	instant := act.From.Equal(act.To)
	broken := outside > 0 || instant && !inside
	switch {
	case broken:
		o.verdict = NotComplied
		o.reason = "at a time that is not allowed"
		if !instant {
			o.reason = fmt.Sprintf("%s of it at times that are not allowed", spell(outside))
		}
	case going:
		o.verdict = NotYetDue
	default:
		o.verdict = Complied
	}
	o.valued, o.quiet, o.unit = true, true, "min"
	o.b = certain(decimalMinutes(outside))
	zero := 0.0
	m := -o.b.low
	o.limit, o.margin = &zero, &m
	if instant {
		o.valued, o.limit, o.margin, o.unit = false, nil, nil, ""
	}
}

func decimalMinutes(d time.Duration) float64 { return float64(d.Milliseconds()) / 60000 }
