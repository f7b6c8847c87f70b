package judge

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// rateDays is how many days back the forecast looks.
const rateDays = 28

// amount asks how much is left of what the act adds to, in its window.
func (a *Answer) amount(h *hearing) {
	c := h.cond()
	if len(c.Limits) != 1 || c.Limits[0].Form != permit.Constant || c.Limits[0].Comparator != permit.AtMostLimit && c.Limits[0].Comparator != permit.Below || c.Rule.Name != permit.Every && c.Rule.Name != "" {
		a.notChecked(h, "what is left under it is not worked out")
		return
	}
	if c.Kind == permit.Measured && c.Statistic.Name != permit.Sum && c.Statistic.Name != permit.Count && c.Statistic.Name != permit.Duration {
		a.notChecked(h, whileItGoesOn)
		return
	}
	l := &c.Limits[0]
	if limit := l.Value.Float(); len(c.With) > 0 || limit <= 0 { // of some, not of every act
		a.notChecked(h, fmt.Sprintf("%s: %s, which depends on what it is", c.Title, l))
		return
	}
	w, err := h.windowAt(a.Question.From)
	if err != nil {
		a.untold(h, asFault(err).cause)
		return
	}
	if why := h.stale(); why != "" {
		a.refuse(why)
		return
	}
	used := 0.0
	if w.From.Before(h.at) {
		all, err := h.judged()
		if err != nil {
			a.notChecked(h, asFault(err).cause)
			return
		}
		for i := range all {
			if o := &all[i]; !o.span.From.Before(w.From) && o.span.From.Before(w.To) && o.valued {
				if o.verdict == CannotBeJudged {
					a.notChecked(h, o.cause)
					return
				}
				used = o.b.low
			}
		}
	}
	limit := l.Value.Float()
	room := Headroom{Permit: h.line.permit, Clause: h.line.clause, Condition: h.line.id, Place: h.place, Title: c.Title, Unit: l.Unit, Limit: limit, Used: used, Left: unit.Round9(limit - used), From: w.From.UTC(), To: w.To.UTC()}
	room.Forecast = h.forecast(room, a.Question.From)
	a.Left = append(a.Left, room)
	if room.Left <= 0 || a.asked(l.Unit) > room.Left {
		a.against(h, fmt.Sprintf("%s of %s used %s, %s left", withUnit(figure(used), l.Unit), withUnit(l.Value.String(), l.Unit), allowedIn(w, h.zone), withUnit(figure(max(room.Left, 0)), l.Unit)), nil)
	}
}

// allowedIn says when an allowance counts.
func allowedIn(w calendar.Span, zone *time.Location) string {
	if !w.To.Before(endless) {
		return "since " + calendar.DateOf(w.From, zone).String()
	}
	return "in " + spanText(w, zone)
}

// asked returns the amount asked about in a unit, 0 where it is of another sort.
func (a *Answer) asked(of string) float64 {
	number, symbol, _ := strings.Cut(strings.TrimSpace(a.Question.Amount), " ")
	d, err := unit.ParseDecimal(number)
	if err != nil {
		return 0
	}
	if unit.Same(symbol, of) {
		return d.Float()
	}
	v, err := unit.Convert(d.Float(), symbol, of)
	if err != nil || symbol == "" || of == "" {
		return 0
	}
	return v
}

// windowAt returns the condition's window that an instant falls into.
func (h *hearing) windowAt(t time.Time) (calendar.Span, error) {
	p := h.cond().Window
	switch {
	case p.Kind == "" || p.Kind == calendar.WholeLife:
		return calendar.Span{From: h.from(), To: h.to()}, nil
	case rolling(p):
		return calendar.Span{}, notBuilt("what is left in " + p.String())
	}
	return p.At(t, h.zone)
}

// stale says why the figures of a quantity are too old to answer from: a
// channel that has sent nothing for a day, or for its window where that is
// shorter.
func (h *hearing) stale() string {
	if h.q.Form != quantity.Series {
		return ""
	}
	chans := h.rec.Channels(h.q.Code, h.place)
	if len(chans) == 0 {
		return h.q.Title + " has no readings on file"
	}
	for _, c := range chans {
		blocks, err := h.rec.Readings(c.Code, h.at.Add(-24*time.Hour), h.at)
		if err != nil || len(blocks) == 0 {
			return "the last readings of " + c.Code + " are older than a day; import them and ask again"
		}
	}
	return ""
}

// forecast says when the limit is reached at the mean rate of the last 28 days.
func (h *hearing) forecast(r Headroom, from time.Time) string {
	if h.q.Observe == nil || r.To.Sub(r.From) < 48*time.Hour || r.Left <= 0 {
		return ""
	}
	list, err := h.observe(h.at.AddDate(0, 0, -rateDays))
	if err != nil {
		return ""
	}
	values, _ := sampled(list, permit.AsFull, h.q.NotBelow)
	sum := 0.0
	for _, v := range values {
		sum += v.b.high
	}
	in, err := converted(certain(sum), h.countUnit(h.cond()), r.Unit)
	if err != nil || in.low <= 0 {
		return ""
	}
	rate := in.low / rateDays
	day := from.Add(time.Duration(r.Left / rate * float64(24*time.Hour)))
	words := fmt.Sprintf("at the mean of the last %d days, %s a day, ", rateDays, withUnit(figure(rate), r.Unit))
	if day.After(r.To) {
		return words + "it is not reached in the window"
	}
	return words + "it is reached on " + calendar.DateOf(day, h.zone).String()
}
