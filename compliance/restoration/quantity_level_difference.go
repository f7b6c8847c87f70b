package restoration

import (
	"errors"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/ground"
	"github.com/swardbook/swardbook/compliance/observe"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/surface"
)

// compared describes one figure of a comparison of restored ground with the
// levels wanted.
func compared(f figure) *quantity.Quantity {
	return &quantity.Quantity{
		Code: f.code, Title: f.title, Unit: f.unit, Form: quantity.Levels, NotBelow: f.floor(),
		With:    []string{"before", "after", "within", "accuracy"},
		Caution: "levels",
		Help:    f.help + " before and after name a survey by reference or purpose; accuracy is ± of a level difference, as the surveys show it when not said.",
		Observe: func(rec quantity.Record, ask quantity.Ask) ([]quantity.Observation, error) {
			return observeDifference(rec, ask, f)
		},
	}
}

// observeDifference makes one observation for each survey that after names, at
// the time it was taken. Surveys of other ground, by the places they name or
// because they do not touch the area, are passed over.
func observeDifference(rec quantity.Record, ask quantity.Ask, f figure) ([]quantity.Observation, error) {
	a, err := asked(ask)
	if err != nil {
		return nil, err
	}
	if f.needsTolerance && a.opts.ToleranceM == 0 {
		return nil, errors.New("the condition names no tolerance; write within, such as within: 0.15 m")
	}
	var out []quantity.Observation
	for _, e := range ground.Surveys(rec, a.after) {
		if !observe.During(ask, e.At, e.At) || !observe.Covers(e, ask) {
			continue
		}
		o, err := a.compare(rec, ask, e, f)
		if errors.Is(err, surface.ErrNoOverlap) {
			continue
		}
		if err != nil {
			return nil, err
		}
		out = append(out, *o)
	}
	return out, nil
}

// question is what a condition asks of two surfaces.
type question struct {
	before, after string
	opts          surface.CompareOptions
	stated        bool // the condition states the accuracy
}

func asked(ask quantity.Ask) (*question, error) {
	q := &question{before: ask.With["before"], after: ask.With["after"]}
	if q.before == "" || q.after == "" {
		return nil, errors.New("the condition must name the surveys before and after")
	}
	var err error
	if s := ask.With["within"]; s != "" {
		if q.opts.ToleranceM, err = ground.Metres(s); err != nil {
			return nil, fmt.Errorf("within: %w", err)
		}
	}
	if s := ask.With["accuracy"]; s != "" {
		q.stated = true
		if q.opts.AccuracyM, err = ground.Metres(s); err != nil {
			return nil, fmt.Errorf("accuracy: %w", err)
		}
	}
	return q, nil
}

func (q *question) compare(rec quantity.Record, ask quantity.Ask, e *book.Entry, f figure) (*quantity.Observation, error) {
	base, err := ground.Before(rec, q.before, e.At)
	if err != nil {
		return nil, err
	}
	before, _, err := rec.Surface(ground.Ref(base))
	if err != nil {
		return nil, err
	}
	after, _, err := rec.Surface(ground.Ref(e))
	if err != nil {
		return nil, err
	}
	var area *plan.Polygon
	if ask.Place != "" {
		if area, err = ground.Area(rec, ask.Place, e.At); err != nil {
			return nil, err
		}
	}
	opts, known := q.opts, true
	if !q.stated {
		opts.AccuracyM, known = ground.Accuracy(base, e)
	}
	d, err := surface.Compare(before, after, area, opts)
	if err != nil {
		return nil, fmt.Errorf("surveys %s and %s: %w", ground.Ref(base), ground.Ref(e), err)
	}
	o := quantity.Observation{From: e.At, To: e.At, Precision: e.Precision, Place: ask.Place, Name: ground.Ref(e), Entry: e}
	f.settle(&o, &d, opts.AccuracyM)
	o.Note = fmt.Sprintf("survey %s against %s over %.1f m²", ground.Ref(e), ground.Ref(base), d.PlanAreaM2)
	if d.UncoveredM2 > 0 {
		o.Note += fmt.Sprintf("; %.1f m² not covered by both", d.UncoveredM2)
	}
	if !known {
		o.Note += "; not both surveys show their accuracy"
	}
	return &o, nil
}
