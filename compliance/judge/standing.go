package judge

import (
	"fmt"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Standing is a record judged, with what each judgement asked of it, so that
// what is added costs only what it touches. A Standing does not change; Advance
// makes the next. Its report is that of All on the same record at the same
// time, without windows and working.
type Standing struct {
	list    *quantity.List
	session *session
	report  *Report
	lost    []Judgement
	legal   time.Time // when the next notice on file takes effect; zero = none
	heard   map[judged]*heard
}

// judged names a condition at a place.
type judged struct{ permit, id, place string }

// heard is one condition judged at one place, with what that rests on.
type heard struct {
	line       *line
	judgements []Judgement
	memory     *memory   // nil where it was not judged month by month
	rec        *tracked  // what was asked for
	to         time.Time // end of force
	due        time.Time // from when on time alone can change it; zero = never
}

// NewStanding judges a record at opts.At and keeps what the judgements rest on.
// opts.Rules is heeded; everything is judged, whatever else opts name.
func NewStanding(rec *Record, list *quantity.List, opts Options) (*Standing, error) {
	opts = Options{At: opts.At, Rules: opts.Rules}
	s, report, err := begin(rec, list, opts)
	if err != nil {
		return nil, err
	}
	st := &Standing{list: list, session: s, report: report, heard: map[judged]*heard{}}
	if st.lost, err = s.open(&report.Clauses); err != nil {
		return nil, err
	}
	st.legal = s.legal
	st.hear(nil, func(task) hearingOf { return hearingOf{} })
	return st, nil
}

// Report returns everything judged. It is shared: nobody may change it.
func (st *Standing) Report() *Report { return st.report }

// Record returns the record that was judged.
func (st *Standing) Record() *Record { return st.session.rec }

// Recheck returns the earliest instant from which a verdict may be another by
// time alone; zero when there is none.
func (st *Standing) Recheck() time.Time {
	var out time.Time
	for i := range st.report.Judgements {
		next := st.report.Judgements[i].Recheck
		if next != nil && (out.IsZero() || next.Before(out)) {
			out = *next
		}
	}
	return out
}

// Advance returns the standing of the book grown by entries in seq order,
// judged at at, which may not lie before the time judged last, and with the
// readings that are pending now. It fails as Record.With does; then a standing
// is to be made anew.
func (st *Standing) Advance(more []*book.Entry, src Sources, at time.Time, pending *Pending) (*Standing, error) {
	before := st.session
	rec, err := before.rec.with(more, src, pending)
	if err != nil {
		return nil, err
	}
	at = at.UTC().Truncate(time.Millisecond)
	if at.Before(before.opts.At) {
		return nil, fmt.Errorf("the time of judging goes back from %s to %s", book.FormatInstant(before.opts.At), book.FormatInstant(at))
	}
	s, report, err := begin(rec, st.list, Options{At: at, Rules: before.opts.Rules})
	if err != nil {
		return nil, err
	}
	next := &Standing{list: st.list, session: s, report: report, lost: st.lost, legal: st.legal, heard: map[judged]*heard{}}
	t, err := touchedBy(more, before, s)
	if err != nil {
		return nil, err
	}
	changed := map[string]bool{} // notices whose conditions are not what they were
	if t.all || t.kinds["permit.1"] || t.kinds["variation.1"] || passed(st.legal, at) {
		if next.lost, err = s.open(&report.Clauses); err != nil {
			return nil, err
		}
		next.legal = s.legal
		changed = changedPermits(before.lines, s.lines)
	} else {
		s.lines, report.Clauses = before.lines, st.report.Clauses
	}
	next.hear(st, func(one task) hearingOf {
		k := st.heard[one.key()]
		if k == nil || t.all || changed[one.line.permit] || t.whole(k) {
			return hearingOf{}
		}
		months := t.months(k)
		if len(months) == 0 && !passed(k.due, at) {
			return hearingOf{before: k, stands: true}
		}
		if k.memory == nil {
			return hearingOf{}
		}
		return hearingOf{before: k, dirty: func(m *remembered) bool { return m.stale(at) || touches(months, m.span, one.line) }}
	})
	return next, nil
}

func (t task) key() judged { return judged{t.line.permit, t.line.id, t.place} }

// hearingOf says how a condition at a place is judged again: anew, in the
// months that are dirty, or not at all.
type hearingOf struct {
	before *heard
	stands bool
	dirty  func(*remembered) bool
}

// hear judges every condition at every place as how says, and writes the
// report.
func (st *Standing) hear(before *Standing, how func(task) hearingOf) {
	s := st.session
	tasks := s.tasks()
	all := make([]*heard, len(tasks))
	s.eachTask(tasks, func(i int, sh *shared) {
		one := tasks[i]
		h := how(one)
		if h.stands {
			all[i] = h.before.at(s.opts.At)
			all[i].line = one.line
			return
		}
		all[i] = s.hear(one.line, one.place, sh, h.before, h.dirty)
	})
	st.lost = slices.Clone(st.lost)
	for i := range st.lost {
		st.lost[i].Window.To = s.opts.At
	}
	st.report.Judgements = append(st.report.Judgements, st.lost...)
	for i, k := range all {
		st.heard[tasks[i].key()] = k
		st.report.Judgements = append(st.report.Judgements, k.judgements...)
	}
}

// at is what stands, seen at a later time: only the end of what it looks back
// on moves.
func (k *heard) at(at time.Time) *heard {
	out := *k
	out.judgements = slices.Clone(k.judgements)
	for i := range out.judgements {
		j := &out.judgements[i]
		j.Window.To = earlier(k.to, at).UTC()
		reads := *j.Reads
		reads.To = j.Window.To
		j.Reads = &reads
	}
	return &out
}

// changedPermits lists the notices of which a condition came, went, or has
// other versions.
func changedPermits(before, after []*line) map[string]bool {
	out := map[string]bool{}
	old := map[[2]string]*line{}
	for _, l := range before {
		old[[2]string{l.permit, l.id}] = l
	}
	for _, l := range after {
		key := [2]string{l.permit, l.id}
		if was := old[key]; was == nil || !was.same(l) {
			out[l.permit] = true
		}
		delete(old, key)
	}
	for key := range old {
		out[key[0]] = true
	}
	return out
}

// same tells whether two lines have the same versions.
func (l *line) same(o *line) bool {
	return l.clause == o.clause && slices.EqualFunc(l.versions, o.versions, func(a, b version) bool {
		return a.entry == b.entry && a.notice == b.notice && a.span.From.Equal(b.span.From) && a.span.To.Equal(b.span.To) &&
			a.zone.String() == b.zone.String() && a.granted == b.granted && a.holidays == b.holidays
	})
}
