package app

import (
	"context"
	"sort"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/series"
)

// When narrows a question in time. Zero members mean now, and all that is known.
type When struct {
	At      time.Time
	KnownAt time.Time
}

// on returns the snapshot a question is about.
func (s *Service) on(ctx context.Context, who Actor, w When) (*Snapshot, error) {
	if err := who.need(Read); err != nil {
		return nil, err
	}
	if w.At.IsZero() && w.KnownAt.IsZero() {
		return s.Current(ctx)
	}
	if w.At.IsZero() {
		w.At = s.Now().UTC().Truncate(time.Millisecond)
	}
	var known *time.Time
	if !w.KnownAt.IsZero() {
		known = &w.KnownAt
	}
	return s.Snapshot(ctx, w.At, known)
}

// Ledger is every notice with its clauses, and the judgements on them.
type Ledger struct {
	At      time.Time
	KnownAt *time.Time
	Notices []LedgerNotice
}

// LedgerNotice is one notice in the ledger.
type LedgerNotice struct {
	Notice           *permit.Notice
	Total, Accounted int
	Clauses          []LedgerClause
}

// LedgerClause is one clause with the conditions judged of it.
type LedgerClause struct {
	permit.Clause
	Conditions []LedgerCondition
}

// LedgerCondition is one condition with its roll-ups, its duty after it.
type LedgerCondition struct {
	Condition  *permit.Condition
	Sentence   string
	Judgements []judge.Judgement
}

// Ledger answers for every notice on file.
func (s *Service) Ledger(ctx context.Context, who Actor, w When) (*Ledger, error) {
	snap, err := s.on(ctx, who, w)
	if err != nil {
		return nil, err
	}
	out := &Ledger{At: snap.At, KnownAt: snap.Report.KnownAt}
	notices, err := snap.notices()
	if err != nil {
		return nil, internal("reading the notices", err)
	}
	for _, n := range notices {
		ln := LedgerNotice{Notice: n}
		ln.Total, ln.Accounted = permit.Accounted(n)
		for _, c := range n.Clauses {
			lc := LedgerClause{Clause: c}
			for _, one := range n.Conditions {
				if one.Clause == c.Number {
					lc.Conditions = append(lc.Conditions, LedgerCondition{
						Condition: one, Sentence: permit.Sentence(one, s.Quantities), Judgements: snap.of(n.Reference, one.ID),
					})
				}
			}
			ln.Clauses = append(ln.Clauses, lc)
		}
		out.Notices = append(out.Notices, ln)
	}
	return out, nil
}

// notices returns the permits and variations in force, in the book's order.
func (h *Snapshot) notices() ([]*permit.Notice, error) {
	var out []*permit.Notice
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, e := range h.View.Current(kind) {
			if e.Body == nil {
				continue
			}
			n, err := permit.FromObject(e.Body)
			if err != nil {
				return nil, err
			}
			out = append(out, n)
		}
	}
	return out, nil
}

// of returns the roll-ups of a condition, its duty to monitor included. A
// variation's conditions are judged under the notice they vary.
func (h *Snapshot) of(reference, id string) []judge.Judgement {
	var out []judge.Judgement
	for i := range h.Report.Judgements {
		j := &h.Report.Judgements[i]
		if j.Permit == reference && (j.Condition == id || strings.HasPrefix(j.Condition, id+"/")) {
			c := *j
			c.Windows = nil
			out = append(out, c)
		}
	}
	return out
}

// Asked names one condition at one place.
type Asked struct {
	Permit, Condition, Place string
	When
}

// OneCondition is a condition with everything known of it.
type OneCondition struct {
	Notice    *permit.Notice
	Clause    permit.Clause
	Condition *permit.Condition
	Sentence  string
	Versions  []permit.Version
	Places    []string
	Judgement judge.Judgement
	Channels  []series.Channel
	Caution   string
	History   []Past
}

// Past is how a verdict stood when the book ended at Seq.
type Past struct {
	Seq       int64
	KnownAt   time.Time
	Judgement judge.Judgement
}

// Condition answers for one condition at one place.
func (s *Service) Condition(ctx context.Context, who Actor, a Asked) (*OneCondition, error) {
	snap, err := s.on(ctx, who, a.When)
	if err != nil {
		return nil, err
	}
	j, err := snap.judgement(a)
	if err != nil {
		return nil, err
	}
	notices, err := snap.notices()
	if err != nil {
		return nil, internal("reading the notices", err)
	}
	out := &OneCondition{Judgement: *j}
	id, _, _ := strings.Cut(a.Condition, "/duty")
	for _, n := range notices {
		for _, c := range n.Conditions {
			if n.Reference == a.Permit && c.ID == id {
				out.Notice, out.Condition = n, c
			}
		}
	}
	if out.Condition == nil {
		return nil, fault(NotFound, "the condition is no longer on file")
	}
	for _, c := range out.Notice.Clauses {
		if c.Number == out.Condition.Clause {
			out.Clause = c
		}
	}
	out.Sentence = permit.Sentence(out.Condition, s.Quantities)
	for _, v := range permit.InForce(notices, snap.Record.Site().Zone) {
		if v.Condition.ID == id && v.Permit == a.Permit {
			out.Versions = append(out.Versions, v)
		}
	}
	for i := range snap.Report.Judgements {
		if one := &snap.Report.Judgements[i]; one.Permit == a.Permit && one.Condition == a.Condition {
			out.Places = append(out.Places, one.Place)
		}
	}
	sort.Strings(out.Places)
	out.Channels = snap.Record.Channels(out.Condition.Subject, a.Place)
	out.History, err = s.history(ctx, snap, a)
	return out, err
}

func (h *Snapshot) judgement(a Asked) (*judge.Judgement, error) {
	for i := range h.Report.Judgements {
		j := &h.Report.Judgements[i]
		if j.Permit == a.Permit && j.Condition == a.Condition && j.Place == a.Place {
			return j, nil
		}
	}
	return nil, fault(NotFound, "no condition %q of %q is judged at %q", a.Condition, a.Permit, a.Place)
}

// mostPast is how many earlier states of the book a history looks at.
const mostPast = 12

// history judges the condition as known just before each correction or
// withdrawal that came after the evidence, and keeps where the verdict differs.
func (s *Service) history(ctx context.Context, snap *Snapshot, a Asked) ([]Past, error) {
	var turns []*book.Entry
	for _, e := range snap.Entries {
		if e.Supersedes != "" || strings.HasPrefix(e.Kind, "rejection.") || strings.HasPrefix(e.Kind, "variation.") {
			turns = append(turns, e)
		}
	}
	if len(turns) > mostPast {
		turns = turns[len(turns)-mostPast:]
	}
	now, err := snap.judgement(a)
	if err != nil {
		return nil, err
	}
	var out []Past
	last := now.Verdict
	for i := len(turns) - 1; i >= 0; i-- {
		e := turns[i]
		before, _ := s.prefix(ctx, snap, e.Seq-1)
		if before == nil {
			continue
		}
		j, err := before.judgement(a)
		if err != nil || j.Verdict == last {
			continue
		}
		last = j.Verdict
		past := *j
		past.Windows, past.Months = nil, nil
		out = append(out, Past{Seq: e.Seq - 1, KnownAt: e.Recorded.Add(-time.Millisecond), Judgement: past})
	}
	return out, nil
}

// prefix derives the book as it stood with its first n entries, judged to the
// same instant.
func (s *Service) prefix(ctx context.Context, snap *Snapshot, n int64) (*Snapshot, error) {
	if n <= 0 || n > int64(len(snap.Entries)) {
		return nil, nil
	}
	return s.derive(sources{ctx, s.Book}, snap.Info, snap.Entries[:n], snap.At, nil)
}

// Windows returns a condition's windows newest first, from one that begins
// before the instant given (zero = the newest), and whether more follow.
func (s *Service) Windows(ctx context.Context, who Actor, a Asked, f WindowFilter) ([]judge.Judgement, bool, error) {
	snap, err := s.on(ctx, who, a.When)
	if err != nil {
		return nil, false, err
	}
	j, err := snap.judgement(a)
	if err != nil {
		return nil, false, err
	}
	if f.Limit <= 0 || f.Limit > MaxPage {
		f.Limit = 50
	}
	var out []judge.Judgement
	for i := len(j.Windows) - 1; i >= 0; i-- {
		w := j.Windows[i]
		if !f.takes(&w) {
			continue
		}
		if len(out) == f.Limit {
			return out, true, nil
		}
		w.Working = nil
		out = append(out, w)
	}
	return out, false, nil
}

// WindowFilter narrows a list of windows.
type WindowFilter struct {
	From, To time.Time // windows that begin in [From, To)
	Before   time.Time // windows that begin before
	Verdict  string
	Limit    int
}

func (f *WindowFilter) takes(w *judge.Judgement) bool {
	from := w.Window.From
	return !(!f.Before.IsZero() && !from.Before(f.Before) ||
		!f.From.IsZero() && from.Before(f.From) ||
		!f.To.IsZero() && !from.Before(f.To) ||
		f.Verdict != "" && w.Verdict.String() != f.Verdict)
}

// Working returns one window with its working, or the roll-up when from is
// where no window begins.
func (s *Service) Working(ctx context.Context, who Actor, a Asked, from time.Time) (*judge.Judgement, error) {
	snap, err := s.on(ctx, who, a.When)
	if err != nil {
		return nil, err
	}
	report, err := judge.All(snap.Record, s.Quantities, judge.Options{At: snap.At, Permit: a.Permit, Condition: a.Condition, Windows: true, Working: true})
	if err != nil {
		return nil, internal("judging", err)
	}
	shown := &Snapshot{Report: report}
	j, err := shown.judgement(a)
	if err != nil {
		return nil, err
	}
	for i := range j.Windows {
		if j.Windows[i].Window.From.Equal(from) {
			return &j.Windows[i], nil
		}
	}
	j.Windows, j.Months = nil, nil
	return j, nil
}

// Sentence says a condition in words.
func (s *Service) Sentence(c *permit.Condition) string { return permit.Sentence(c, s.Quantities) }
