package app

import (
	"context"
	"errors"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/site"
	"github.com/swardbook/swardbook/compliance/weather"
)

// Reply is the answer to a question before acting, with the book it comes from.
type Reply struct {
	*judge.Answer
	Seq int64 // of the book's head
}

// MayI answers what is on file against an act. It gives no permission.
func (s *Service) MayI(ctx context.Context, who Actor, q judge.Question) (*Reply, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	return s.mayI(snap, q)
}

func (s *Service) mayI(snap *Snapshot, q judge.Question) (*Reply, error) {
	a, err := judge.MayI(snap.Record, s.Quantities, q, s.now())
	var f *book.Fault
	switch {
	case errors.As(err, &f):
		return nil, &Error{Code: Invalid, Words: "the question cannot be answered as it stands", Faults: []book.Fault{*f}}
	case err != nil:
		return nil, internal("looking for what stands against it", err)
	}
	afterRain(snap, a)
	return &Reply{Answer: a, Seq: snap.Info.Seq}, nil
}

// afterRain says what a rain rule has the act wait for.
func afterRain(snap *Snapshot, a *judge.Answer) {
	if a.Refused != "" {
		return
	}
	for _, d := range weather.Waiting(snap.Record, snap.At, a.Question.Act) {
		if d.Place != "" && a.Question.Place != "" && d.Place != a.Question.Place {
			continue
		}
		words := d.What + " (" + d.Why + ")"
		if len(a.Against) == 0 {
			a.Words = "Stands against it: " + words + "."
		} else {
			a.Words = strings.TrimSuffix(a.Words, ".") + "; " + words + "."
		}
		a.Against = append(a.Against, judge.Stand{Place: d.Place, Entry: d.Entry.Seq, Words: words})
	}
}

// Act asks again and keeps question, answer and what is decided as an entry
// under an id the device made. The same id again is no fault: fresh is false
// then, and the entry stands as it was first kept.
func (s *Service) Act(ctx context.Context, who Actor, id book.ID, q judge.Question, decision string) (e *book.Entry, fresh bool, err error) {
	if err := who.Need(WriteEntries); err != nil {
		return nil, false, err
	}
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, false, err
	}
	for _, e := range snap.View.Line(id) {
		if e.ID != id {
			continue
		}
		if e.Kind != site.AskedKind {
			return nil, false, fault(Conflict, "entry %d has that id and is something else", e.Seq)
		}
		return e, false, nil
	}
	a, err := s.mayI(snap, q)
	if err != nil {
		return nil, false, err
	}
	d := a.draft(id, decision)
	d.By, d.Role = who.Person, string(who.Role)
	if faults := s.Kinds.Check(&d); len(faults) > 0 {
		return nil, false, &Error{Code: Invalid, Words: "the decision was not saved: something needs attention", Faults: faults}
	}
	return s.Enter(ctx, who, d)
}

// draft makes an entry of a reply.
func (a *Reply) draft(id book.ID, decision string) book.Draft {
	unasked := []any{}
	for i := range a.NotChecked {
		unasked = append(unasked, book.Object{"what": a.NotChecked[i].String()})
	}
	q := a.Question
	d := book.Draft{
		ID: id, Kind: site.AskedKind, At: q.From.UTC(), Until: q.To.UTC(), Precision: book.ToMinute, Made: a.At,
		Body: book.Object{
			"act": q.Act, "outcome": a.Stands(), "answer": a.Words,
			"asked_at": book.FormatInstant(a.At), "upto_seq": a.Seq, "not_checked": unasked,
		},
	}
	if q.Place != "" {
		d.Places = []string{q.Place}
	}
	if decision = strings.TrimSpace(decision); decision != "" {
		d.Body["decision"] = decision
	}
	if q.Amount != "" {
		d.Body["amount"] = q.Amount
	}
	return d
}
