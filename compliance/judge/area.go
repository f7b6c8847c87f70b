package judge

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
	"github.com/swardbook/swardbook/geo/plan"
)

// actsInArea judges where each act took place: only inside the condition's
// place, or within the distance stated around it, as the plan stood then.
func (h *hearing) actsInArea() ([]outcome, error) {
	if h.place == "" {
		return nil, &fault{cause: "the condition allows acts nowhere in particular", remedy: "name the area in its place, or the hours in its schedule"}
	}
	list, err := h.observeOf(h.q, h.cond().With, "", h.from())
	if err != nil {
		return nil, err
	}
	var out []outcome
	for i := range list {
		a := &list[i]
		v := h.versionAt(a.From)
		if a.From.Before(h.from()) || !a.From.Before(h.to()) || !h.duringPhase(v, a.From) {
			continue
		}
		o := h.judgeWhere(a, v)
		h.underConsent(&o, a)
		out = append(out, o)
	}
	return out, nil
}

// judgeWhere judges the place of one act.
func (h *hearing) judgeWhere(a *quantity.Observation, v *version) outcome {
	o := outcome{span: calendar.Span{From: a.From, To: later(a.From, a.To)}, ver: v, text: "inside " + h.place}
	buffer := 0.0
	if b := v.cond.Place.BufferM; b != "" {
		d, err := unit.ParseDecimal(b)
		if err != nil {
			return o.lost(asFault(err))
		}
		buffer = d.Float()
		o.text = "within " + withUnit(b, "m") + " of " + h.place
	}
	var places []string
	if a.Entry != nil {
		o.entries = []*book.Entry{a.Entry}
		places = a.Entry.Places
	} else if a.Place != "" {
		places = []string{a.Place}
	}
	if len(places) == 0 {
		return o.lost(&fault{cause: "where the act took place is not on file", remedy: "enter the place of the act"})
	}
	var steps []Step
	farthest := 0.0
	o.verdict = Complied
	for _, code := range places {
		d, err := h.distanceOf(code, a)
		if err != nil {
			return o.lost(asFault(err))
		}
		d = unit.Round9(d)
		steps = append(steps, step("distance of "+code+" from "+h.place, withUnit(exact(d), "m")))
		if d > buffer {
			o.verdict, o.reason = NotComplied, fmt.Sprintf("%s lies %s away from it", code, withUnit(figure(d), "m"))
		}
		farthest = max(farthest, d)
	}
	m := unit.Round9(buffer - farthest)
	o.valued, o.quiet, o.unit, o.b = true, true, "m", certain(farthest)
	o.limit, o.margin = &buffer, &m
	if h.s.opts.Working {
		o.steps = append(steps, limitSteps(&o)...)
	}
	return o
}

// distanceOf returns how far a feature reaches out of the condition's place,
// metres; 0 when all of it lies inside.
func (h *hearing) distanceOf(code string, a *quantity.Observation) (float64, error) {
	if code == h.place {
		return 0, nil
	}
	area, act := h.rec.Feature(h.place, a.From), h.rec.Feature(code, a.From)
	switch {
	case h.rec.bad != nil:
		return 0, h.rec.bad
	case area == nil:
		return 0, &fault{cause: h.place + " is not on the plan of that day", remedy: "draw it, or correct the condition"}
	case act == nil:
		return 0, &fault{cause: code + " is not on the plan of that day", remedy: "draw it, or correct the place of the act"}
	case area.Frame != act.Frame || area.Frame != plan.FrameSite:
		return 0, &fault{cause: "the plan is in longitude and latitude, and distances are measured in the site grid", remedy: "draw the plan in the site's grid"}
	}
	return plan.ReachesOut(act.Geometry, area.Geometry), nil
}
