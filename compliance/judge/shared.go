package judge

import (
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// shared keeps what conditions on one quantity at one place have in common:
// the windows of a month and their statistics. It is used by one goroutine.
type shared struct {
	months map[sharedKey]*sharedMonth
	after  map[int64]calendar.Span // month that begins at an instant, UTC ms, in the zone
	zone   *time.Location

	passing bool         // what is remembered is for one judgement only
	scratch []remembered // of the last condition, to be written over when passing
	room    []*outcome   // likewise
	used    int          // of room
}

// outcome is room for one: that of the condition before, where nothing of it is
// kept.
func (sh *shared) outcome() *outcome {
	if !sh.passing {
		return new(outcome)
	}
	if sh.used == len(sh.room) {
		sh.room = append(sh.room, new(outcome))
	}
	o := sh.room[sh.used]
	sh.used++
	*o = outcome{}
	return o
}

// monthAfter returns the month that follows one in the hearing's zone.
func (sh *shared) monthAfter(month calendar.Span, h *hearing) calendar.Span {
	if sh.zone != h.zone {
		sh.zone, sh.after = h.zone, map[int64]calendar.Span{}
	}
	at := month.To.UnixMilli()
	next, there := sh.after[at]
	if !there {
		next = h.monthAt(month.To)
		sh.after[at] = next
	}
	return next
}

// sharedKey names the windows and the statistic of a month.
type sharedKey struct {
	what  string // see sharedBy
	month int64  // UTC ms
}

// sharedMonth is the windows that begin in one month, with their statistics.
type sharedMonth struct {
	wins    []window // without version
	results []series.Result
	imports []importSpan
	lost    bool      // a holiday list lacks the year
	next    time.Time // as in hearing
	soon    time.Time // as in tracked
}

// sharedBy names the windows and the statistic of a run, where they do not
// depend on more than the channels; "" where they may.
func (h *hearing) sharedBy() string {
	c := h.cond()
	if len(h.run) != 1 || c.Phase != "" || selects(c.Statistic.Name) || c.Window.Kind == calendar.Instant || len(otherPlaces(c)) > 0 || h.s.opts.Working {
		return ""
	}
	v := &h.run[0]
	schedule := ""
	if c.Schedule != nil {
		schedule = fmt.Sprintf("%+v %s", *c.Schedule, v.holidays)
	}
	asked := ""
	if by := h.asks(); by != (asks{rules: by.rules}) {
		asked = fmt.Sprint(by)
	}
	return fmt.Sprint(c.Subject, c.With["channel"], asked, c.Window, v.zone, schedule, c.Edge, c.Straddle, c.Statistic.Name, c.Statistic.Percentile,
		c.Nondetect, v.span.From.UnixMilli(), v.span.To.UnixMilli())
}

// monthOf returns the windows of the hearing's month with their statistics.
func (h *hearing) monthOf(sh *shared, what string, chans []series.Channel) (*sharedMonth, error) {
	key := sharedKey{what, h.only.From.UnixMilli()}
	m := sh.months[key]
	if m != nil {
		h.until(m.next)
		h.rec.turn(m.soon)
		return m, nil
	}
	soon := h.rec.soon
	h.rec.soon = time.Time{}
	m, err := h.readMonth(chans)
	if err != nil {
		return nil, err
	}
	m.soon = h.rec.soon
	h.rec.turn(soon)
	if sh.months == nil {
		sh.months = map[sharedKey]*sharedMonth{}
	}
	sh.months[key] = m
	return m, nil
}

func (h *hearing) readMonth(chans []series.Channel) (*sharedMonth, error) {
	wins, _, err := h.windows()
	if err != nil {
		return nil, err
	}
	m := &sharedMonth{wins: wins, lost: h.lostYears, next: h.next}
	if len(wins) == 0 {
		return m, nil
	}
	blocks, err := h.blocks(chans, closed(covering(wins)))
	if err != nil {
		return nil, err
	}
	m.imports = h.importsOf(blocks)
	m.results, err = h.results(blocks, wins, h.cond().Statistic.Name)
	return m, err
}

// take folds the windows of a shared month into a stretch, for a condition on
// each window by itself. Of a window that is wholly measured and can be told
// from its limit only the verdict and the margin are worked out, until it is
// known which window says most.
func (h *hearing) take(sh *shared, p *stretch, m *sharedMonth, chans []series.Channel) {
	v := &h.run[0]
	from, quick := h.quick(v, chans)
	about := h.bearings(chans)
	quiet := about.silent()
	plain := -1 // the window that says most, where it is not in p.best
	var verdict Verdict
	var least float64
	for i := range m.wins {
		if quick && (quiet || about.leaves(m.wins[i].span)) {
			if now, room, ok := h.glance(&m.wins[i], &m.results[i], v, from); ok {
				p.counts.add(now)
				p.use(h.importEntries(m.imports, m.wins[i].span))
				if p.best == nil && plain < 0 || worse(now, verdict) || now == verdict && (room < least || p.best != nil && p.best.margin == nil) {
					p.best, plain, verdict, least = nil, i, now, room
				}
				continue
			}
		}
		o := h.full(sh, m, i, chans)
		p.add(o)
		if plain >= 0 {
			if worse(verdict, o.verdict) || verdict == o.verdict && (o.margin == nil || *o.margin >= least) {
				continue
			}
			plain, p.best = -1, nil
		}
		if p.best = moreTelling(p.best, o); p.best == o {
			verdict = o.verdict
			if o.margin != nil {
				least = *o.margin
			}
		}
	}
	if plain >= 0 {
		p.best = h.full(sh, m, plain, chans)
	}
	p.excluded = merged(p.excluded)
	p.entries = bySeq(p.entries)
}

// full writes out the outcome of one window of a shared month.
func (h *hearing) full(sh *shared, m *sharedMonth, i int, chans []series.Channel) *outcome {
	w := m.wins[i]
	w.ver = &h.run[0]
	o := sh.outcome()
	h.judgeReadings(o, &w, &m.results[i], h.cond().Statistic.Name, chans, nil)
	used := h.importEntries(m.imports, w.span)
	if len(o.entries) == 0 {
		o.entries = used
	} else {
		o.entries = bySeq(append(used[:len(used):len(used)], o.entries...))
	}
	return o
}

// quick tells whether windows of a version can be judged at a glance, and the
// unit of its statistic.
func (h *hearing) quick(v *version, chans []series.Channel) (from string, ok bool) {
	c := v.cond
	list, plain := h.plain(&outcome{ver: v})
	if !plain || len(list) != 1 || len(chans) == 0 || c.Severity == permit.AsInformation || c.Statistic.Integrate != "" {
		return "", false
	}
	from = unitOfStatistic(c.Statistic.Name, chans[0].Unit)
	return from, unit.Same(from, list[0].Unit)
}

// glance gives the verdict and the margin of a window that is wholly measured
// and whose value is known; ok is false where there is more to say.
func (h *hearing) glance(w *window, r *series.Result, v *version, from string) (verdict Verdict, room float64, ok bool) {
	if r.N == 0 || !r.OK || r.Low != r.High || len(r.Excluded) > 0 || w.span.To.After(h.at) || r.CoveredMs < r.WindowMs && !covered(r, v.cond.Coverage.Window) {
		return 0, 0, false
	}
	l := &v.cond.Limits[0]
	value := unit.Round9(r.Low)
	room = margin(value, l)
	if room != room || room > 1e300 || room < -1e300 {
		return 0, 0, false
	}
	if v.cond.Rounding.Mode == permit.Unrounded && l.Comparator != permit.Equal && (room > plainly || room < -plainly) {
		// Far enough from the limit that its last digit does not matter.
		if room > 0 {
			return Complied, room, true
		}
		return NotComplied, room, true
	}
	if l.Holds(prepared(certain(value), v.cond.Rounding, l).low) {
		return Complied, room, true
	}
	return NotComplied, room, true
}

// plainly is a margin that needs no exact comparison: a thousand times the last
// digit that values are rounded to.
const plainly = 1e-6
