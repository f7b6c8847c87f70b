package app

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// Erasure is what is erased of an entry, and why.
type Erasure struct {
	What   string // "body" or "body and files"
	Ground string // in law
	Reason string // in the case
}

// Erased is what an erasure did.
type Erased struct {
	Redaction *book.Entry // the entry that says so
	Seq       int64       // of the entry erased
	Packs     []string    // packs made before, which still hold what was erased
}

// kept kinds cannot be erased: without the site nothing can be judged, and an
// erasure is what accounts for the gap it leaves.
var neverErased = []string{"site.1", "redaction.1"}

// Erase erases what an entry said, by an entry that says who, why and on what
// ground. The chain still verifies; judgements that rested on it cannot be made
// any more. Other entries on its line of corrections, and packs made before,
// keep what they hold.
func (s *Service) Erase(ctx context.Context, who Actor, id book.ID, what Erasure) (*Erased, error) {
	if err := who.Need(EraseEntries); err != nil {
		return nil, err
	}
	snap, err := s.Current(ctx)
	if err != nil {
		return nil, err
	}
	target, err := erasable(snap, id)
	if err != nil {
		return nil, err
	}
	now := s.now()
	sum := sha256.Sum256([]byte("erasure " + string(id)))
	d := book.Draft{
		ID: book.ID(hex.EncodeToString(sum[:16])), Kind: "redaction.1", At: now, Precision: book.ToMillisecond, Made: now,
		By: who.Person, Role: string(who.Role), Reason: what.Reason,
		Body: book.Object{"seq": target.Seq, "what": what.What, "ground": what.Ground},
	}
	if faults := s.Kinds.Check(&d); len(faults) > 0 {
		return nil, &Error{Code: Invalid, Words: "nothing was erased: something needs attention", Faults: faults}
	}
	redaction, err := s.Book.Erase(ctx, d, target.Seq, strings.HasSuffix(what.What, "files"))
	if info, ierr := s.Book.Info(ctx); ierr == nil { // it may be erased though the answer is an error
		s.forget(info.Seq)
	}
	if err != nil {
		return nil, internal("erasing", err)
	}
	s.saw(ctx, who.Person, redaction.Seq)
	out := &Erased{Redaction: redaction, Seq: target.Seq}
	for _, e := range snap.View.Current("handover.1") {
		if e.Body != nil && e.Body.Integer("upto_seq") >= target.Seq {
			out.Packs = append(out.Packs, e.Body.Text("name"))
		}
	}
	return out, nil
}

func erasable(snap *Snapshot, id book.ID) (*book.Entry, error) {
	for _, e := range snap.View.Line(id) {
		switch {
		case e.ID != id:
		case e.ErasedBy > 0:
			return nil, fault(Conflict, "what entry %d said was erased by entry %d already", e.Seq, e.ErasedBy)
		case e.Withdrawal():
			return nil, fault(Invalid, "entry %d is a withdrawal and says nothing that could be erased", e.Seq)
		default:
			for _, kind := range neverErased {
				if e.Kind == kind {
					return nil, fault(Invalid, "entry %d cannot be erased: the book is not to be read without it; correct it instead", e.Seq)
				}
			}
			return e, nil
		}
	}
	return nil, fault(NotFound, "no entry has the id %s", id)
}
