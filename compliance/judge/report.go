package judge

import (
	"fmt"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Options say what is judged and how much is written of it.
type Options struct {
	At        time.Time // the time of judging; nothing later counts
	Permit    string    // only this notice, by its reference; "" = all
	Clause    string    // only this clause; "" = all
	Condition string    // only this condition or duty; "" = all
	Windows   bool      // keep every window in the roll-ups
	Working   bool      // write out the arithmetic
	Rules     int       // rules number to judge by; 0 = Rules
}

// session is what all judgements of one report share.
type session struct {
	rec   *Record
	list  *quantity.List
	opts  Options
	lines []*line
	legal time.Time // when the next notice on file takes effect; zero = none

	once    sync.Once
	inPlace map[[2]string]bool // see replaced
}

// All judges every condition at every place of the record as it stood at
// opts.At. The order is that of the notices, then of their conditions, then of
// the places as named; a duty to monitor follows its condition. The same
// record and options give the same report to the last byte.
//
// It fails only where the record itself cannot be read; what a condition lacks
// is said by its judgement.
func All(rec *Record, list *quantity.List, opts Options) (*Report, error) {
	s, out, err := begin(rec, list, opts)
	if err != nil {
		return nil, err
	}
	lost, err := s.open(&out.Clauses)
	if err != nil {
		return nil, err
	}
	out.Judgements = append(out.Judgements, lost...)
	tasks := s.tasks()
	results := make([][]Judgement, len(tasks))
	s.eachTask(tasks, func(i int, sh *shared) { results[i] = s.judge(tasks[i].line, tasks[i].place, sh) })
	for _, r := range results {
		out.Judgements = append(out.Judgements, r...)
	}
	return out, nil
}

// begin checks what judging goes by and begins the report.
func begin(rec *Record, list *quantity.List, opts Options) (*session, *Report, error) {
	if opts.At.IsZero() {
		return nil, nil, fmt.Errorf("judging needs a time of judging")
	}
	opts.At = opts.At.UTC().Truncate(time.Millisecond)
	if opts.Rules == 0 {
		opts.Rules = Rules
	}
	if !Holds(int64(opts.Rules)) {
		return nil, nil, fmt.Errorf("this program holds rules 1 to %d, not rules %d", Rules, opts.Rules)
	}
	out := &Report{At: opts.At, Rules: opts.Rules, Site: rec.site.ID, Judgements: []Judgement{}}
	return &session{rec: rec, list: list, opts: opts}, out, nil
}

// mostTogether is how many conditions on one quantity at one place are judged
// one after another: enough to share what they read, few enough to keep all
// processors at work.
const mostTogether = 250

// eachTask does every task on all processors; those on one quantity at one
// place one after another, so that they share what they read.
func (s *session) eachTask(tasks []task, do func(i int, sh *shared)) {
	byKey := map[[2]string][]int{}
	var groups [][]int
	add := func(list []int) {
		if len(list) > 0 {
			groups = append(groups, list)
		}
	}
	var order [][2]string
	for i, t := range tasks {
		key := [2]string{t.line.last().cond.Subject, t.place}
		if byKey[key] == nil {
			order = append(order, key)
		}
		if byKey[key] = append(byKey[key], i); len(byKey[key]) == mostTogether {
			add(byKey[key])
			byKey[key] = []int{}
		}
	}
	for _, key := range order {
		add(byKey[key])
	}
	s.each(len(groups), func(g int) {
		var sh shared
		for _, i := range groups[g] {
			do(i, &sh)
		}
	})
}

// each does n things on all processors.
func (s *session) each(n int, do func(i int)) {
	var wait sync.WaitGroup
	var next atomic.Int64
	for range min(max(runtime.GOMAXPROCS(0), 1), n) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wait.Wait()
}

// task is one condition at one place.
type task struct {
	line  *line
	place string
}

func (s *session) tasks() []task {
	var out []task
	for _, l := range s.lines {
		if !s.wanted(l) {
			continue
		}
		for _, p := range l.places() {
			out = append(out, task{l, p})
		}
	}
	return out
}

func (s *session) wanted(l *line) bool {
	id, _ := strings.CutSuffix(s.opts.Condition, dutySuffix)
	return (s.opts.Permit == "" || s.opts.Permit == l.permit) &&
		(s.opts.Clause == "" || s.opts.Clause == l.clause) &&
		(id == "" || id == l.id)
}

// open reads the notices in force and puts their conditions in lines.
func (s *session) open(clauses *Clauses) (lost []Judgement, err error) {
	var notices []*permit.Notice
	from := map[*permit.Notice]*book.Entry{}
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, e := range s.rec.Entries(kind) {
			n, err := permit.FromObject(e.Body)
			if err != nil {
				lost = append(lost, s.lostNotice(e, fmt.Errorf("entry %d: the notice cannot be read: %w", e.Seq, err)))
				continue
			}
			if legal := s.legalDate(n); legal.After(s.opts.At) {
				if s.legal.IsZero() || legal.Before(s.legal) {
					s.legal = legal
				}
				continue
			}
			notices = append(notices, n)
			from[n] = e
			total, accounted := permit.Accounted(n)
			clauses.Total += total
			clauses.Accounted += accounted
		}
		for _, e := range s.rec.Erased(kind) {
			lost = append(lost, s.lostNotice(e, &ErasedError{e.ErasedBy}))
		}
	}
	byID := map[[2]string]*line{}
	for _, v := range permit.InForce(notices, s.rec.site.Zone) {
		key := [2]string{v.Permit, v.Condition.ID}
		l := byID[key]
		if l == nil {
			l = &line{permit: v.Permit, clause: v.Condition.Clause, id: v.Condition.ID}
			byID[key] = l
			s.lines = append(s.lines, l)
		}
		l.versions = append(l.versions, s.version(&v, from[v.In]))
	}
	return lost, nil
}

// legalDate is when a notice comes to be: until then nothing of it is judged.
func (s *session) legalDate(n *permit.Notice) time.Time {
	legal := n.Granted
	if !n.Effective.IsZero() {
		legal = n.Effective
	}
	return legal.Start(s.rec.site.Zone)
}

func (s *session) version(v *permit.Version, e *book.Entry) version {
	out := version{cond: v.Condition, notice: v.Notice, entry: e, zone: v.Zone, holidays: v.Holidays,
		granted: v.In.Granted, span: calendar.Span{From: v.From, To: v.To}}
	if out.zone == nil {
		out.zone = s.rec.site.Zone
	}
	if out.span.From.IsZero() && e != nil {
		out.span.From = e.At
	}
	if out.span.To.IsZero() {
		out.span.To = endless
	}
	return out
}

// lostNotice stands for a notice whose conditions are not to be had.
func (s *session) lostNotice(e *book.Entry, err error) Judgement {
	f := asFault(err)
	return Judgement{
		Permit: string(e.ID), Version: string(e.ID), Title: "notice of entry " + fmt.Sprint(e.Seq), Severity: string(permit.AsLimit),
		Window: Window{e.At.UTC(), s.opts.At}, Verdict: CannotBeJudged, Counts: Counts{Due: 1, CannotBeJudged: 1},
		Excluded: []Excluded{}, Evidence: evidence([]*book.Entry{e}), Cause: f.cause, Remedy: f.remedy,
		Sentence: "The notice cannot be judged: " + f.cause + ".", Digest: digest(s.opts.Rules, []string{string(e.ID)}, []*book.Entry{e}),
	}
}

// judge judges one condition at one place: the roll-up, and that of its duty
// to monitor where it has one.
func (s *session) judge(l *line, place string, sh *shared) []Judgement {
	sh.passing = true
	k := s.hear(l, place, sh, nil, nil)
	return s.asked(k.judgements)
}

// whole begins the hearing of a condition at a place through all its versions.
func (s *session) whole(l *line, place string) *hearing {
	rec := newTracked(s.rec, s.opts.At, s.opts.Rules)
	rec.notes[noteCondition][l.id] = true
	for i := range l.versions {
		rec.turn(l.versions[i].span.From)
		rec.turn(l.versions[i].span.To)
	}
	return &hearing{s: s, rec: rec, line: l, place: place, at: s.opts.At, zone: l.last().zone, q: s.list.Named(l.last().cond.Subject)}
}

// hear judges one condition at one place, month by month where that can be;
// then the months that a memory holds and dirty does not name are not judged
// again.
func (s *session) hear(l *line, place string, sh *shared, before *heard, dirty func(*remembered) bool) *heard {
	if !s.monthly(l, place) {
		return s.hearWhole(l, place)
	}
	whole := s.whole(l, place)
	var old *memory
	if before != nil && before.memory != nil {
		old = before.memory
		whole.rec.carry(before.rec)
	}
	m, ok := whole.recall(sh, old, dirty)
	if !ok {
		return s.hearWhole(l, place)
	}
	k := &heard{line: l, memory: m}
	s.settle(k, whole, m.parts(false), m.parts(true))
	return k
}

// hearWhole judges one condition at one place in one go, whatever its windows.
func (s *session) hearWhole(l *line, place string) *heard {
	whole := s.whole(l, place)
	k := &heard{line: l}
	var all, duty []outcome
	for _, run := range l.runs(place) {
		h := whole.of(run)
		whole.run = append(whole.run, run...)
		if !h.from().Before(h.at) {
			whole.until(h.from())
			continue
		}
		got, gotDuty := h.outcomes()
		all, duty = append(all, got...), append(duty, gotDuty...)
		whole.until(h.next)
	}
	sortOutcomes(all)
	sortOutcomes(duty)
	d := *whole
	d.duty = true
	s.settle(k, whole, whole.parted(all), d.parted(duty))
	return k
}

// settle rolls up the months of a condition at a place.
func (s *session) settle(k *heard, whole *hearing, limit, duty []monthPart) {
	k.rec, k.to = whole.rec, whole.to()
	k.judgements = []Judgement{whole.rollup(limit)}
	if whole.hasDuty() {
		d := *whole
		d.duty = true
		k.judgements = append(k.judgements, d.rollup(duty))
	}
	k.due = whole.next
	if soon := whole.rec.soon; !soon.IsZero() && (k.due.IsZero() || soon.Before(k.due)) {
		k.due = soon
	}
}

// asked drops a condition or its duty where only the other was asked for.
func (s *session) asked(list []Judgement) []Judgement {
	if s.opts.Condition == "" {
		return list
	}
	var out []Judgement
	for _, j := range list {
		if j.Condition == s.opts.Condition {
			out = append(out, j)
		}
	}
	return out
}
