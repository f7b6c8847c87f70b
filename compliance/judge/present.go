package judge

import (
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// presentOutcomes judges that a document or thing is there: in each window
// where the condition names one, else by the time of judging.
func (h *hearing) presentOutcomes() ([]outcome, error) {
	c := h.cond()
	if c.Done == nil {
		return nil, &fault{cause: "the condition does not say what must be there", remedy: "name it in the condition"}
	}
	from := h.from()
	once := c.Window.Kind == "" || c.Window.Kind == calendar.WholeLife
	if once {
		from = time.Time{} // what was there before the permit is there
	}
	list, err := h.happenings(c.Done, from)
	if err != nil {
		return nil, err
	}
	wins, out, err := h.windows()
	if err != nil {
		return nil, err
	}
	for i := range wins {
		w := &wins[i]
		var in []quantity.Observation
		for _, x := range list {
			if once || w.holds(x.From) {
				in = append(in, x)
			}
		}
		out = append(out, h.judgePresent(w, in))
	}
	sortOutcomes(out)
	return out, nil
}

func (h *hearing) judgePresent(w *window, in []quantity.Observation) outcome {
	c := w.ver.cond
	o := outcome{span: w.span, ver: w.ver, text: h.happeningText(c.Done) + " on file", entries: entriesOf(in)}
	switch {
	case len(in) > 0:
		o.verdict, o.reason = Complied, "on file since "+h.moment(&in[0])
	case h.pending(&o):
		o.verdict = NotYetDue
	case c.Severity == permit.AsInformation:
		o.verdict = NotApplicable
	case c.Missing == permit.NotDone || c.Missing == permit.GapIsBreach:
		o.verdict, o.absent, o.reason = NotComplied, true, "nothing on file; presumed not done until it is"
	default:
		o.verdict, o.cause, o.remedy, o.absent = CannotBeJudged, "nothing on file", "enter it, or that it is not there", true
		o.reason = o.cause
	}
	if o.absent && len(h.rec.lost) > 0 {
		h.erasedOrder(&o, h.rec.lost)
	}
	if h.s.opts.Working {
		o.steps = presentSteps(h, &o, in)
	}
	return o
}
