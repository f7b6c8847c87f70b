package judge

import (
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// Conditions whose windows are judged each by the readings around it are
// judged month by month: memory stays that of one month, and a month that
// nothing has touched need not be judged again.

// monthly tells whether a condition can be judged month by month at a place.
func (s *session) monthly(l *line, place string) bool {
	if s.replaced()[[2]string{l.permit, l.id}] {
		return false
	}
	zone := l.last().zone.String()
	for i := range l.versions {
		v := &l.versions[i]
		if !stands(v.cond, place) {
			continue
		}
		if v.zone.String() != zone || reach(v.cond.Window) == 0 || !s.byReadings(v.cond) || !byMonth(v.cond) {
			return false
		}
	}
	return true
}

// replaced names the conditions that others stand in place of anywhere.
func (s *session) replaced() map[[2]string]bool {
	s.once.Do(func() {
		s.inPlace = map[[2]string]bool{}
		for _, l := range s.lines {
			for i := range l.versions {
				if id := l.versions[i].cond.InPlace; id != "" {
					s.inPlace[[2]string{l.permit, id}] = true
				}
			}
		}
	})
	return s.inPlace
}

// byReadings tells whether a condition is on a statistic of readings of
// channels at one place.
func (s *session) byReadings(c *permit.Condition) bool {
	q := s.list.Named(c.Subject)
	together := len(c.Place.Codes) > 1 && c.Place.Mode != permit.Each
	return q != nil && q.Form == quantity.Series && c.Kind == permit.Measured && !together && !comparesSingly(c) &&
		c.Statistic.Name != permit.FlowWeighted && c.InPlace == "" && c.Quota == nil
}

// byMonth tells whether no rule looks beyond a calendar month.
func byMonth(c *permit.Condition) bool {
	every := c.Rule.Name == permit.Every || c.Rule.Name == ""
	if !every && (c.Rule.Per.Kind != calendar.Month || c.Window.Kind == calendar.Instant) {
		return false
	}
	d := dutyOf(c)
	if d == nil || d.Every == nil && everyWindow(d) {
		return true
	}
	per := c.Rule.Per
	return d.Every == nil && (per.Kind == "" || per.Kind == calendar.Month)
}

// reach is how long a window of a period can be, a little more; 0 where that
// is more than some weeks or not known.
func reach(p calendar.Period) time.Duration {
	const day = 24 * time.Hour
	switch p.Kind {
	case calendar.Minutes, calendar.ClockHour:
		return 3 * time.Hour
	case calendar.Instant, calendar.LocalDay, calendar.PermitDay, calendar.Shift:
		return 2 * day
	case calendar.Week:
		return 8 * day
	}
	return 0
}

// memory is what is kept of a condition at a place that was judged month by
// month.
type memory struct {
	months []remembered
}

// remembered is one month.
type remembered struct {
	span  calendar.Span
	limit stretch
	duty  *stretch  // nil where nothing was due to be monitored
	next  time.Time // as in hearing
	soon  time.Time // as in tracked
}

// stale tells whether the clock alone can change the month.
func (m *remembered) stale(at time.Time) bool { return passed(m.next, at) || passed(m.soon, at) }

// passed tells whether an instant, zero for never, has come.
func passed(t, at time.Time) bool { return !t.IsZero() && !at.Before(t) }

// recall judges the months of a condition, save those that a memory holds and
// dirty does not name. ok is false where the condition has to be judged as a
// whole.
func (whole *hearing) recall(sh *shared, old *memory, dirty func(*remembered) bool) (out *memory, ok bool) {
	runs := whole.sharing(whole.line.runs(whole.place))
	if len(runs) == 0 {
		return nil, false
	}
	for i := range runs {
		whole.run = append(whole.run, runs[i].versions...)
		if !runs[i].prepare(whole) {
			return nil, false
		}
	}
	first := runs[0].versions[0].span.From
	out = &memory{}
	sh.used = 0
	if n := 1 + max(0, int(whole.at.Sub(first)/(28*24*time.Hour))); sh.passing {
		sh.scratch = slices.Grow(sh.scratch[:0], n)
		out.months = sh.scratch
	} else {
		out.months = make([]remembered, 0, n)
	}
	rec := whole.rec
	every := rec.soon // what may change with any month
	for month := whole.monthAt(first); month.From.Before(whole.at); month = sh.monthAfter(month, whole) {
		if m := old.month(month); m != nil && !dirty(m) {
			out.months = append(out.months, *m)
		} else {
			soon := rec.soon
			rec.soon = every
			out.months = append(out.months, remembered{span: month})
			m := &out.months[len(out.months)-1]
			ok := whole.hear(sh, runs, m)
			m.soon = rec.soon
			if rec.soon = soon; !ok {
				return nil, false
			}
		}
		m := &out.months[len(out.months)-1]
		whole.until(m.next)
		rec.turn(m.soon)
	}
	for i := range runs {
		if from := runs[i].versions[0].span.From; !from.Before(whole.at) {
			whole.until(from)
		}
	}
	return out, len(rec.lost) == 0 && len(rec.Erased("import.1")) == 0
}

// monthlyRun is a run of versions with what its months have in common.
type monthlyRun struct {
	versions []version
	shared   string // see sharedBy
	chans    []series.Channel
	each     bool // every window by itself, and no duty to monitor
}

func (whole *hearing) sharing(runs [][]version) []monthlyRun {
	out := make([]monthlyRun, len(runs))
	for i := range runs {
		out[i].versions = runs[i]
	}
	return out
}

// prepare looks for what no month can be judged without.
func (r *monthlyRun) prepare(whole *hearing) bool {
	h := whole.of(r.versions)
	if h.ready(h.cond()) != nil {
		return false
	}
	var err error
	if r.chans, err = h.channels(); err != nil || len(r.chans) > 1 {
		return false // whether several channels agree is a matter of all their readings
	}
	if r.shared = h.sharedBy(); r.shared == "" {
		return true
	}
	c := h.cond()
	if c.Schedule != nil {
		if _, err := h.holidays(&r.versions[0]); err != nil {
			return false
		}
	}
	if _, _, err := h.statistics(); err != nil {
		return false
	}
	r.each = (c.Rule.Name == permit.Every || c.Rule.Name == "") && h.dutyOf() == nil && !h.s.opts.Windows
	return true
}

// of is the hearing of one run of the condition.
func (whole *hearing) of(run []version) *hearing {
	return &hearing{s: whole.s, rec: whole.rec, line: whole.line, run: run, place: whole.place, at: whole.at, zone: run[0].zone}
}

// hear judges the windows that begin in the month m; ok is false where the
// condition has to be judged as a whole.
func (whole *hearing) hear(sh *shared, runs []monthlyRun, m *remembered) (ok bool) {
	month := m.span
	var all, duty []outcome
	for i := range runs {
		r := &runs[i]
		h := whole.of(r.versions)
		if !h.from().Before(h.at) || !h.from().Before(month.To) || !h.to().After(month.From) {
			continue
		}
		if h.only = month; month.To.After(h.at) {
			h.only.To = endless // windows ahead say when the verdict may change
		}
		if r.each && len(runs) == 1 {
			h.q, h.readUnit = whole.q, unitOf(r.chans, whole.q)
			months, err := h.monthOf(sh, r.shared, r.chans)
			if err != nil || months.lost {
				return false
			}
			h.take(sh, &m.limit, months, r.chans)
			m.next = h.next
			return true
		}
		if h.cond().Phase != "" && len(h.phaseSpans(h.cond().Phase)) == 0 {
			return false
		}
		inner, err := h.judged()
		if err == nil && h.dutyOf() != nil {
			var list []outcome
			list, err = h.duties(h.dutyOf(), inner)
			duty = append(duty, list...)
		}
		if err == nil {
			inner, err = h.grouped(inner)
		}
		if err != nil || h.lostYears {
			return false
		}
		if all == nil {
			all = inner
		} else {
			all = append(all, inner...)
		}
		if m.next.IsZero() || !h.next.IsZero() && h.next.Before(m.next) {
			m.next = h.next
		}
	}
	sortOutcomes(all)
	sortOutcomes(duty)
	d := *whole
	d.duty = true
	m.limit = whole.stretchOf(all)
	m.limit.alone()
	if len(duty) > 0 {
		of := d.stretchOf(duty)
		of.alone()
		m.duty = &of
	}
	return true
}

// monthAt returns the month of the hearing's zone that an instant lies in.
func (h *hearing) monthAt(t time.Time) calendar.Span {
	begin := t.In(h.zone)
	month := calendar.Date{Year: begin.Year(), Month: begin.Month(), Day: 1}
	return calendar.Span{From: month.Start(h.zone), To: month.AddMonths(1).Start(h.zone)}
}

// month finds a month that is remembered; nil when there is none.
func (m *memory) month(span calendar.Span) *remembered {
	if m == nil {
		return nil
	}
	i := sort.Search(len(m.months), func(i int) bool { return !m.months[i].span.From.Before(span.From) })
	if i < len(m.months) && m.months[i].span.From.Equal(span.From) {
		return &m.months[i]
	}
	return nil
}

// parts returns the months in which there are windows, of the limit or of the
// duty to monitor.
func (m *memory) parts(duty bool) []monthPart {
	out := make([]monthPart, 0, len(m.months))
	for i := range m.months {
		of := &m.months[i].limit
		if duty {
			of = m.months[i].duty
		}
		if of != nil && of.best != nil {
			out = append(out, monthPart{m.months[i].span, of})
		}
	}
	return out
}
