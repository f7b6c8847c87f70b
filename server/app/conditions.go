package app

import (
	"context"
	"fmt"
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

// own returns the snapshot for what every role may ask: the site, its plan.
func (s *Service) own(ctx context.Context, who Actor) (*Snapshot, error) {
	if err := who.Need(ReadOwn); err != nil {
		return nil, err
	}
	return s.currentFor(ctx, who.Person)
}

// on returns the snapshot a question is about.
func (s *Service) on(ctx context.Context, who Actor, w When) (*Snapshot, error) {
	if err := who.Need(Read); err != nil {
		return nil, err
	}
	if w == (When{}) {
		return s.currentFor(ctx, who.Person)
	}
	return s.at(ctx, w)
}

// Mark names the state of the book that an answer to a question would come
// from: two answers with the same mark are the same for the same role.
func (s *Service) Mark(ctx context.Context, who Actor, w When) (string, error) {
	if err := who.Need(ReadOwn); err != nil {
		return "", err
	}
	if !w.At.IsZero() {
		info, err := s.Book.Info(ctx)
		return fmt.Sprintf("%d-%d-%s", info.Epoch, info.Seq, who.Role), internal("reading the book", err)
	}
	snap, err := s.currentFor(ctx, who.Person)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("%d-%d-%d-%s", snap.Info.Epoch, snap.Info.Seq, snap.At.UnixMilli(), who.Role), nil
}

// Ledger is every notice with its clauses, and the judgements on them.
type Ledger struct {
	At      time.Time
	KnownAt *time.Time
	Notices []LedgerNotice
}

// LedgerNotice is one notice in the ledger.
type LedgerNotice struct {
	Notice                    *permit.Notice
	Entry                     *book.Entry // nil where it cannot be read any more
	Total, Accounted, Checked int         // clauses; checked by a second person
	Clauses                   []LedgerClause
	Applied                   []Applied
}

// LedgerClause is one clause with the conditions judged of it.
type LedgerClause struct {
	permit.Clause
	Words      string // see Comparison
	Comparison *Comparison
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
	all, err := snap.filed()
	if err != nil {
		return nil, err
	}
	notices := make([]*permit.Notice, len(all))
	for i, f := range all {
		notices[i] = f.notice
	}
	first := firstGranted(notices)
	listed := map[string]bool{}
	for _, f := range all {
		n := f.notice
		listed[first[n.Reference]] = true
		ln := LedgerNotice{Notice: n, Entry: f.entry, Applied: s.appliedFor(snap, n.Reference)}
		ln.Total, ln.Accounted = permit.Accounted(n)
		for _, c := range n.Clauses {
			lc := LedgerClause{Clause: c, Words: words(n, &c)}
			if lc.Comparison = snap.compared(f, &c, lc.Words); lc.Comparison.Counts() || lc.Comparison == nil && c.CheckedBy != "" {
				ln.Checked++
			}
			for _, one := range n.Conditions {
				if one.Clause == c.Number {
					lc.Conditions = append(lc.Conditions, LedgerCondition{
						Condition: one, Sentence: permit.Sentence(one, s.Quantities), Judgements: snap.of(first[n.Reference], one.ID),
					})
				}
			}
			ln.Clauses = append(ln.Clauses, lc)
		}
		out.Notices = append(out.Notices, ln)
	}
	out.Notices = append(out.Notices, snap.lost(listed)...)
	return out, nil
}

// firstGranted gives each notice's reference that of the notice first granted,
// which its conditions are judged under.
func firstGranted(notices []*permit.Notice) map[string]string {
	varies := map[string]string{}
	for _, n := range notices {
		varies[n.Reference] = n.Varies
	}
	out := map[string]string{}
	for _, n := range notices {
		root := n.Reference
		for range notices { // no chain is longer
			up := varies[root]
			if _, there := varies[up]; up == "" || !there {
				break
			}
			root = up
		}
		out[n.Reference] = root
	}
	return out
}

// lost lists the notices that are judged though they cannot be read any more.
func (h *Snapshot) lost(listed map[string]bool) []LedgerNotice {
	var out []LedgerNotice
	for i := range h.Report.Judgements {
		j := &h.Report.Judgements[i]
		if listed[j.Permit] {
			continue
		}
		out = append(out, LedgerNotice{
			Notice: &permit.Notice{Reference: j.Permit, Type: j.Title},
			Clauses: []LedgerClause{{
				Clause:     permit.Clause{Text: j.Sentence},
				Conditions: []LedgerCondition{{Condition: &permit.Condition{Title: j.Title}, Sentence: j.Sentence, Judgements: []judge.Judgement{brief(j)}}},
			}},
		})
	}
	return out
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
			out = append(out, brief(j))
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
	Lines     []LimitLine
	Unsealed  *Unsealed // readings of the channels that are not yet in the book
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
	var lines []permit.Version // with those of the action level
	for _, v := range permit.InForce(notices, snap.Record.Site().Zone) {
		if plain := strings.TrimSuffix(id, "/action"); v.Permit == a.Permit && (v.Condition.ID == plain || v.Condition.ID == plain+"/action") {
			lines = append(lines, v)
		}
		if v.Permit == a.Permit && v.Condition.ID == id {
			out.Versions = append(out.Versions, v)
			out.Notice, out.Condition = v.In, v.Condition
		}
	}
	if out.Condition == nil {
		return nil, fault(NotFound, "the condition is no longer on file")
	}
	out.Clause = clauseOf(out.Notice, a.Permit, notices, out.Condition.Clause)
	out.Sentence = permit.Sentence(out.Condition, s.Quantities)
	for i := range snap.Report.Judgements {
		if one := &snap.Report.Judgements[i]; one.Permit == a.Permit && one.Condition == a.Condition {
			out.Places = append(out.Places, one.Place)
		}
	}
	sort.Strings(out.Places)
	out.Channels = snap.Record.Channels(out.Condition.Subject, a.Place)
	out.Lines = limitLines(lines, out.Channels)
	out.Unsealed = snap.unsealedOf(out.Channels)
	out.History, err = s.history(ctx, snap, j)
	return out, err
}

// clauseOf finds a condition's clause: in the notice whose words it has, else
// in the one first granted.
func clauseOf(n *permit.Notice, first string, notices []*permit.Notice, number string) permit.Clause {
	look := []*permit.Notice{n}
	for _, one := range notices {
		if one.Reference == first {
			look = append(look, one)
		}
	}
	for _, one := range look {
		for _, c := range one.Clauses {
			if c.Number == number {
				return c
			}
		}
	}
	return permit.Clause{Number: number}
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

// Windows returns a page of a condition's windows, newest first, and where the
// page after it begins; nil at the end.
func (s *Service) Windows(ctx context.Context, who Actor, a Asked, f WindowFilter) ([]judge.Judgement, *WindowCursor, error) {
	snap, err := s.on(ctx, who, a.When)
	if err != nil {
		return nil, nil, err
	}
	report, err := s.windowed(snap, a.Permit, a.Condition)
	if err != nil {
		return nil, nil, err
	}
	j, err := (&Snapshot{Report: report}).judgement(a)
	if err != nil {
		return nil, nil, err
	}
	if err := f.month(j); err != nil {
		return nil, nil, err
	}
	if f.Limit <= 0 {
		f.Limit = 50
	}
	f.Limit = min(f.Limit, MaxPage)
	var out []judge.Judgement
	at := WindowCursor{}
	for i := len(j.Windows) - 1; i >= 0; i-- {
		w := j.Windows[i]
		if !at.From.Equal(w.Window.From) {
			at = WindowCursor{From: w.Window.From}
		}
		at.Passed++
		if f.After != nil && f.After.before(at) || !f.takes(&w) {
			continue
		}
		if len(out) == f.Limit {
			at.Passed--
			return out, &at, nil
		}
		w.Working = nil
		out = append(out, w)
	}
	return out, nil, nil
}

// WindowCursor is a place in a list of windows, newest first: windows may begin
// together, and Passed of those that begin at From have been given.
type WindowCursor struct {
	From   time.Time
	Passed int
}

// before tells whether the window at a place was given before the cursor.
func (c *WindowCursor) before(at WindowCursor) bool {
	return at.From.After(c.From) || at.From.Equal(c.From) && at.Passed <= c.Passed
}

// WindowFilter narrows a list of windows.
type WindowFilter struct {
	From, To time.Time // windows that begin in [From, To)
	Month    time.Time // when one of the condition's months begins: windows of that month
	After    *WindowCursor
	Verdict  string
	Limit    int
}

// month narrows the filter to the month it names.
func (f *WindowFilter) month(j *judge.Judgement) error {
	if f.Month.IsZero() {
		return nil
	}
	for i := range j.Months {
		if m := j.Months[i].Window; m.From.Equal(f.Month) {
			f.From, f.To = m.From, m.To
			return nil
		}
	}
	return fault(NotFound, "no month of this condition begins at %s", f.Month.Format(time.RFC3339))
}

func (f *WindowFilter) takes(w *judge.Judgement) bool {
	from := w.Window.From
	return !(!f.From.IsZero() && from.Before(f.From) ||
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

// LeftOut answers a condition at a place with and without what was rejected.
func (s *Service) LeftOut(ctx context.Context, who Actor, a Asked) (*judge.LeftOut, *Snapshot, error) {
	snap, err := s.on(ctx, who, a.When)
	if err != nil {
		return nil, nil, err
	}
	if _, err := snap.judgement(a); err != nil {
		return nil, nil, err
	}
	out, err := judge.LeaveNothingOut(snap.Record, s.Quantities, judge.Options{At: snap.At, Permit: a.Permit, Condition: a.Condition}, a.Place)
	if err != nil || out == nil {
		return nil, nil, internal("judging without rejections", err)
	}
	return out, snap, nil
}

// mostEpisodes is how many runs of windows not complied are looked into.
const mostEpisodes = 40

// Episodes answers the runs of windows of a condition that were not complied,
// the latest first, and what else was on record at the time.
func (s *Service) Episodes(ctx context.Context, who Actor, a Asked) ([]judge.Episode, error) {
	snap, err := s.on(ctx, who, a.When)
	if err != nil {
		return nil, err
	}
	report, err := s.windowed(snap, a.Permit, a.Condition)
	if err != nil {
		return nil, err
	}
	j, err := (&Snapshot{Report: report}).judgement(a)
	if err != nil {
		return nil, err
	}
	out, err := judge.Episodes(snap.Record, s.Quantities, j.Windows, mostEpisodes)
	return out, internal("looking at what else was on record", err)
}
