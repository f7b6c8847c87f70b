package app

import (
	"context"
	"errors"
	"fmt"
	"sort"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Line is an entry as a row of the book's table.
type Line struct {
	Entry     *book.Entry
	Title     string // of its kind
	ByName    string
	Withdrawn bool // its line is withdrawn
	Corrected bool // a later entry stands in its place
	Summary   string
}

// Filter narrows the book's table. Zero members do not narrow.
type Filter struct {
	Kind, Place, By, Words string
	From, To               time.Time // of At
	Before                 int64     // seq: only entries received before it
	Limit                  int       // 1 to 500; 0 = 50
}

// MaxPage is the most entries one page may hold.
const MaxPage = 500

// List returns entries newest received first, and the seq to go on before
// (0 at the end).
func (s *Service) List(ctx context.Context, who Actor, f Filter) ([]Line, int64, error) {
	snap, err := s.own(ctx, who)
	if err != nil {
		return nil, 0, err
	}
	lines, next := s.list(snap, who, f)
	return lines, next, nil
}

func (s *Service) list(snap *Snapshot, who Actor, f Filter) ([]Line, int64) {
	if f.Limit <= 0 {
		f.Limit = 50
	}
	f.Limit = min(f.Limit, MaxPage)
	f.Words = strings.ToLower(f.Words)
	end := len(snap.Entries)
	if f.Before > 0 {
		end = sort.Search(end, func(i int) bool { return snap.Entries[i].Seq >= f.Before })
	}
	var lines []Line
	for i := end - 1; i >= 0; i-- {
		e := snap.Entries[i]
		if !f.takes(e) || !s.mayRead(who, e) {
			continue
		}
		line := s.line(snap, e)
		if f.Words != "" && !strings.Contains(strings.ToLower(line.Summary+" "+line.Title), f.Words) {
			continue
		}
		if len(lines) == f.Limit {
			return lines, lines[len(lines)-1].Entry.Seq
		}
		lines = append(lines, line)
	}
	return lines, 0
}

// mayRead tells whether a person may read an entry.
func (s *Service) mayRead(who Actor, e *book.Entry) bool {
	kind := s.Kinds.Named(e.Kind)
	return who.Role.May(Read) || kind != nil && who.Role.MayRead(kind.Register)
}

func (f *Filter) takes(e *book.Entry) bool {
	switch {
	case f.Kind != "" && e.Kind != f.Kind,
		f.By != "" && e.By != f.By,
		!f.From.IsZero() && e.At.Before(f.From),
		!f.To.IsZero() && !e.At.Before(f.To):
		return false
	case f.Place == "":
		return true
	}
	for _, p := range e.Places {
		if p == f.Place {
			return true
		}
	}
	return false
}

func (s *Service) line(snap *Snapshot, e *book.Entry) Line {
	l := Line{Entry: e, Title: e.Kind, ByName: snap.NameOf(e.By)}
	kind := s.Kinds.Named(e.Kind)
	if kind != nil {
		l.Title = kind.Title
	}
	head := snap.View.Head(e.ID)
	l.Withdrawn = head.Withdrawal()
	l.Corrected = head.ID != e.ID && !l.Withdrawn
	l.Summary = summary(kind, e)
	return l
}

// summary says in a few words what an entry holds: its first filled fields.
func summary(kind *book.Kind, e *book.Entry) string {
	if e.Withdrawal() {
		return "withdrawn: " + e.Reason
	}
	if e.Body == nil || kind == nil {
		return ""
	}
	var words []string
	if ref, ok := e.Body["ref"].(string); ok {
		words = append(words, ref)
	}
	for _, f := range kind.Fields {
		if f.Personal || len(words) == 4 {
			continue
		}
		text, ok := fieldWords(e.Body[f.Name], f)
		if ok {
			words = append(words, text)
		}
	}
	return strings.Join(words, ", ")
}

func fieldWords(v any, f book.Field) (string, bool) {
	switch v := v.(type) {
	case string:
		if f.Type == book.File || v == "" {
			return "", false
		}
		if r := []rune(v); len(r) > 60 {
			v = string(r[:60]) + "…"
		}
		if f.Unit != "" {
			return v + " " + f.Unit, true
		}
		return v, true
	case int64:
		return strings.TrimSpace(fmt.Sprintf("%d %s", v, f.Unit)), true
	case []any:
		return fmt.Sprintf("%d × %s", len(v), strings.ToLower(f.Title)), true
	}
	return "", false
}

// Opened is one entry with its line of corrections and what rests on it.
type Opened struct {
	Line
	Corrections []Line // every entry on its line, oldest first
	Head        book.ID
	Resting     []judge.Judgement // roll-ups that used it
}

// Open returns one entry.
func (s *Service) Open(ctx context.Context, who Actor, id book.ID) (*Opened, error) {
	snap, err := s.own(ctx, who)
	if err != nil {
		return nil, err
	}
	o := &Opened{}
	for _, e := range snap.View.Line(id) {
		if !s.mayRead(who, e) {
			break
		}
		l := s.line(snap, e)
		if e.ID == id {
			o.Line = l
		}
		o.Corrections = append(o.Corrections, l)
		o.Head = e.ID
	}
	if o.Entry == nil {
		return nil, fault(NotFound, "no entry has the id %s", id)
	}
	if who.Role.May(Read) {
		o.Resting = snap.resting(o.Entry.Seq)
	}
	return o, nil
}

// mostResting is how many judgements an entry lists as resting on it.
const mostResting = 50

// resting returns the roll-ups that rest on an entry.
func (h *Snapshot) resting(seq int64) []judge.Judgement {
	var out []judge.Judgement
	for i := range h.Report.Judgements {
		j := &h.Report.Judgements[i]
		for _, used := range j.Evidence {
			if used.Seq == seq && len(out) < mostResting {
				out = append(out, brief(j))
				break
			}
		}
	}
	return out
}

// brief is a judgement as a row: what it rests on is asked for apart.
func brief(j *judge.Judgement) judge.Judgement {
	c := *j
	c.Windows, c.Months, c.Working = nil, nil, nil
	c.Excluded, c.Evidence = []judge.Excluded{}, []judge.Evidence{}
	return c
}

// Put makes an entry of a draft. The same id with the same content again is
// no fault: fresh is false then. Epoch is the book's epoch the device knows; 0
// when it knows none.
func (s *Service) Put(ctx context.Context, who Actor, d book.Draft, epoch int64) (e *book.Entry, fresh bool, err error) {
	kind := s.Kinds.Named(d.Kind)
	if kind == nil {
		return nil, false, fault(Invalid, "there is no kind of entry %q", d.Kind)
	}
	if !kind.Plain || !who.Role.MayEnter(kind.Register) {
		return nil, false, fault(Forbidden, "the role %q does not make entries of the kind %q", who.Role, kind.Title)
	}
	info, err := s.Book.Info(ctx)
	if err != nil {
		return nil, false, internal("reading the book", err)
	}
	if epoch != 0 && epoch != info.Epoch {
		return nil, false, fault(Conflict, "the book was restored from a backup since this device last read it; load the page again and offer the entry again")
	}
	d.By, d.Role = who.Person, string(who.Role)
	if faults := s.Kinds.Check(&d); len(faults) > 0 {
		return nil, false, &Error{Code: Invalid, Words: "the entry was not saved: something in it needs attention", Faults: faults}
	}
	if err := s.mayLift(ctx, who, &d); err != nil {
		return nil, false, err
	}
	return s.Enter(ctx, who, d)
}

// Enter appends one checked draft for a person. It is how the use cases, and
// those who do one for them, write in the book.
func (s *Service) Enter(ctx context.Context, who Actor, d book.Draft) (e *book.Entry, fresh bool, err error) {
	done, err := s.Book.Append(ctx, []book.Draft{d}, nil)
	if err != nil {
		return nil, false, internal("saving the entry", s.known(ctx, who, d.ID, err))
	}
	if len(done.Entries) == 1 {
		s.saw(ctx, who.Person, done.Entries[0].Seq)
		return done.Entries[0], true, nil
	}
	snap, err := s.Current(ctx)
	if err != nil {
		return nil, false, err
	}
	for _, e := range snap.View.Line(d.ID) {
		if e.ID == d.ID {
			return e, false, nil
		}
	}
	return nil, false, fault(Internal, "the entry was in the book and is not found there")
}

// known adds to a store's conflict the entries that stand in the way.
func (s *Service) known(ctx context.Context, who Actor, id book.ID, err error) error {
	var e *Error
	if !errors.As(err, &e) || e.Code != Conflict || e.Head == nil {
		return err
	}
	snap, cerr := s.Current(ctx)
	if cerr != nil {
		return err
	}
	for _, one := range snap.View.Line(e.Head.ID) {
		if !s.mayRead(who, one) {
			return err
		}
		l := s.line(snap, one)
		if one.ID == id {
			e.Existing = &l
		}
		e.Standing = &l
	}
	return err
}
