package judge

import (
	"errors"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// window is one window to be judged: its span, the parts of it that count
// when it is cut by the schedule, and the version that judges it.
type window struct {
	span  calendar.Span
	parts []calendar.Span // nil: the whole span
	ver   *version
	cut   bool // cut at the beginning or end of force
}

// ahead is how far beyond the time of judging windows are looked for, only to
// say when the verdict may change next.
const ahead = 15 * 24 * time.Hour

// windows lists the windows of the run that have begun by the time of
// judging, in order. Stretches of which the calendar cannot say whether they
// are open come back as outcomes that cannot be judged.
func (h *hearing) windows() ([]window, []outcome, error) {
	var out []window
	var lost []outcome
	for i := range h.run {
		list, err := h.versionWindows(i)
		if err != nil {
			return nil, nil, err
		}
		open, faults, err := h.opened(&h.run[i], list)
		if err != nil {
			return nil, nil, err
		}
		lost = append(lost, faults...)
		h.lostYears = h.lostYears || len(faults) > 0
		h.rec.turn(h.at.Add(ahead))
		begun := len(open)
		for k := len(open) - 1; k >= 0 && open[k].span.To.After(h.at); k-- {
			h.until(open[k].span.To)
			if !open[k].span.From.Before(h.at) {
				h.rec.turn(later(open[k].span.From, h.at.Add(time.Millisecond)))
				begun = k
			}
		}
		if out == nil {
			out = open[:begun:begun]
		} else {
			out = append(out, open[:begun]...)
		}
	}
	return out, lost, nil
}

// versionWindows lists the windows that one version judges.
func (h *hearing) versionWindows(i int) ([]window, error) {
	v := &h.run[i]
	p := v.cond.Window
	if p.Kind == "" {
		p.Kind = calendar.WholeLife
	}
	if p.Kind == calendar.WholeLife {
		return h.life(i), nil
	}
	span := calendar.Span{From: v.span.From, To: earlier(v.span.To, h.at.Add(ahead))}
	if h.only != (calendar.Span{}) {
		span = span.Overlap(h.only)
		if span.Empty() {
			return nil, nil
		}
	}
	if p.Kind == calendar.RollingHour && h.rolling != nil {
		return h.rollingWindows(i), nil
	}
	list, err := p.Windows(span, v.zone)
	if err != nil {
		return nil, noGrid(err, p)
	}
	out := make([]window, 0, len(list))
	for _, s := range list {
		if w, keep := h.trim(i, s, p); keep && h.takes(w.span) {
			out = append(out, w)
		}
	}
	return out, nil
}

// takes tells whether a window begins in the stretch that is judged.
func (h *hearing) takes(w calendar.Span) bool {
	return h.only == (calendar.Span{}) || !w.From.Before(h.only.From) && w.From.Before(h.only.To)
}

// rollingWindows are the rolling hours that begin while a version is in force
// and end before the run does.
func (h *hearing) rollingWindows(i int) []window {
	v := &h.run[i]
	var out []window
	for _, s := range h.rolling {
		if !s.From.Before(v.span.From) && s.From.Before(v.span.To) && !s.To.After(h.to()) {
			out = append(out, window{span: s, ver: v})
		}
	}
	return out
}

// life is the one window of "while the condition stands": from first force to
// the time of judging, judged by the version in force at its end.
func (h *hearing) life(i int) []window {
	span := h.sofar()
	if h.versionAt(span.To.Add(-time.Millisecond)) != &h.run[i] || span.Empty() {
		return nil
	}
	return []window{{span: span, ver: &h.run[i]}}
}

// trim decides what becomes of a window that runs over the beginning or end
// of a version's force.
func (h *hearing) trim(i int, s calendar.Span, p calendar.Period) (window, bool) {
	v := &h.run[i]
	w := window{span: s, ver: v}
	if s.From.Before(v.span.From) {
		if i > 0 && h.run[i-1].cond.Straddle != permit.SplitWindow || rolling(p) {
			return w, false // the version before judges it, or it is not whole
		}
		w.span.From, w.cut = v.span.From, true
	}
	if s.To.After(v.span.To) && (i == len(h.run)-1 || v.cond.Straddle == permit.SplitWindow) {
		if rolling(p) {
			return w, false
		}
		w.span.To, w.cut = v.span.To, true
	}
	return w, true
}

func rolling(p calendar.Period) bool {
	switch p.Kind {
	case calendar.RollingDays, calendar.RollingMon, calendar.RollingYear, calendar.RollingHour:
		return true
	}
	return false
}

func noGrid(err error, p calendar.Period) error {
	if errors.Is(err, calendar.ErrNoGrid) {
		return notBuilt("windows of " + p.String() + " for this quantity")
	}
	return err
}

// opened keeps the windows that the schedule selects.
func (h *hearing) opened(v *version, list []window) ([]window, []outcome, error) {
	if v.cond.Kind != permit.Dated { // a term asks whether any part of its window lies in the phase
		list = h.inPhase(v, list)
	}
	if v.cond.Schedule == nil || len(list) == 0 {
		return list, nil, nil
	}
	open, lost, err := h.opens(v, covering(list))
	if err != nil {
		return nil, nil, err
	}
	return selectOpen(list, open, v.cond.Edge == permit.CutAtEdge), lost, nil
}

// opens returns the open stretches of a version's schedule, year by year, so
// that a year missing from the holiday list loses only that year.
func (h *hearing) opens(v *version, span calendar.Span) (open []calendar.Span, lost []outcome, err error) {
	days, err := h.holidays(v)
	if err != nil {
		return nil, nil, err
	}
	for from := span.From; from.Before(span.To); {
		year := calendar.Date{Year: from.In(v.zone).Year() + 1, Month: time.January, Day: 1}
		part := calendar.Span{From: from, To: earlier(year.Start(v.zone), span.To)}
		got, err := v.cond.Schedule.Open(part, v.zone, days)
		switch {
		case errors.Is(err, calendar.ErrNotCovered):
			if part.To = earlier(part.To, h.at); !part.Empty() {
				lost = append(lost, cannot(part, v, asFault(err)))
			}
		case err != nil:
			return nil, nil, err
		}
		open = append(open, got...)
		from = earlier(year.Start(v.zone), span.To)
	}
	return calendar.Merge(open), lost, nil
}

// selectOpen sweeps windows over open stretches, both in order of their
// beginning. Whole windows are kept when one stretch holds them; with cut, a
// window keeps the parts that are open.
func selectOpen(list []window, open []calendar.Span, cut bool) []window {
	var out []window
	first := 0
	for _, w := range list {
		for first < len(open) && !open[first].To.After(w.span.From) {
			first++
		}
		var parts []calendar.Span
		whole := false
		for k := first; k < len(open) && open[k].From.Before(w.span.To); k++ {
			whole = whole || open[k].Contains(w.span)
			parts = append(parts, open[k].Overlap(w.span))
		}
		switch {
		case whole:
			out = append(out, w)
		case cut && len(parts) > 0:
			w.parts = parts
			out = append(out, w)
		}
	}
	return out
}

// covering returns the span from the first window's beginning to the last end.
func covering(wins []window) calendar.Span {
	span := calendar.Span{From: wins[0].span.From, To: wins[0].span.To}
	for _, w := range wins {
		span.To = later(span.To, w.span.To)
	}
	return span
}

// length returns the elapsed time that counts in a window.
func (w *window) length() time.Duration {
	if w.parts == nil {
		return w.span.Length()
	}
	var d time.Duration
	for _, p := range w.parts {
		d += p.Length()
	}
	return d
}

// holds tells whether an instant counts in the window.
func (w *window) holds(t time.Time) bool {
	if t.Before(w.span.From) || !t.Before(w.span.To) {
		return false
	}
	if w.parts == nil {
		return true
	}
	for _, p := range w.parts {
		if !t.Before(p.From) && t.Before(p.To) {
			return true
		}
	}
	return false
}
