package app

import (
	"context"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// KeepImport reads a file again as it was tried and brings it in under an id
// the device made: one entry with its readings, or nothing. The same id again
// is no fault: fresh is false then.
func (s *Service) KeepImport(ctx context.Context, who Actor, id book.ID, in Import) (e *book.Entry, fresh bool, t *Trial, err error) {
	if s.Unsealed != nil && who.Role.MayEnter(ImportRegister) {
		if err := s.Unsealed.SealChannels(ctx, in.Mapping.Values); err != nil {
			return nil, false, nil, err
		}
	}
	return s.keepImport(ctx, who, id, in)
}

func (s *Service) keepImport(ctx context.Context, who Actor, id book.ID, in Import) (e *book.Entry, fresh bool, t *Trial, err error) {
	snap, err := s.importing(ctx, who)
	if err != nil {
		return nil, false, nil, err
	}
	for _, e := range snap.View.Line(id) {
		if e.ID == id && e.Kind == monitoring.ImportKind && e.Body != nil && e.Body.Text("file") == in.File.String() {
			return e, false, nil, nil
		}
	}
	t, err = s.tryImport(ctx, snap, in)
	if err != nil {
		return nil, false, nil, err
	}
	refused := func(words string) error {
		return &Error{Code: Invalid, Words: "the file was not brought in: " + words, Faults: t.Faults}
	}
	switch {
	case len(t.Faults) > 0:
		return nil, false, t, refused("something needs attention")
	case len(t.Orders) > 0:
		return nil, false, t, refused("say whether its dates put the day or the month first")
	case t.BadCount > 0:
		return nil, false, t, refused(fmt.Sprintf("%d of its lines cannot be read", t.BadCount))
	case t.Changed() > 0 && !in.Changed:
		return nil, false, t, refused(differing(t.Changed()) + "; say that it is to count instead")
	}
	d := book.Draft{ID: id, Kind: monitoring.ImportKind, By: who.Person, Role: string(who.Role), Made: s.now(), Precision: book.ToMillisecond, Files: []book.Hash{in.File}}
	d.Body, d.Places, d.At, d.Until = monitoring.ImportBody(in.File, in.Name, t.Mapping, t.parsed, in.Of)
	if faults := s.Kinds.Check(&d); len(faults) > 0 {
		return nil, false, t, &Error{Code: Invalid, Words: "the file was not brought in: something in it needs attention", Faults: faults}
	}
	blocks := Readings{}
	for i := range t.parsed.Channels {
		c := &t.parsed.Channels[i]
		blocks[c.Channel] = c.Blocks
	}
	done, err := s.Book.Append(ctx, []book.Draft{d}, map[book.ID]Readings{id: blocks})
	if err != nil {
		return nil, false, t, internal("bringing the file in", s.known(ctx, who, id, err))
	}
	if len(done.Entries) != 1 {
		return nil, false, t, fault(Conflict, "the file was brought in already")
	}
	s.saw(ctx, who.Person, done.Entries[0].Seq)
	return done.Entries[0], true, t, nil
}

func differing(n int) string {
	if n == 1 {
		return "one reading differs from what is on file"
	}
	return fmt.Sprintf("%d readings differ from what is on file", n)
}

// UndoImport takes an import back by a visible withdrawal, under an id the
// device made: its readings count no longer, and stay on file. It is refused
// once a sealed pack holds them: then only a corrected file takes their place.
func (s *Service) UndoImport(ctx context.Context, who Actor, id, of book.ID, reason string) (*book.Entry, bool, error) {
	snap, err := s.importing(ctx, who)
	if err != nil {
		return nil, false, err
	}
	head := snap.View.Head(of)
	if head == nil || head.Kind != monitoring.ImportKind {
		return nil, false, fault(NotFound, "there is no such import")
	}
	if head.ID == id {
		return head, false, nil
	}
	if head.Withdrawal() {
		return nil, false, fault(Conflict, "entry %d took it back already", head.Seq)
	}
	for _, p := range snap.View.Current("handover.1") {
		if p.Body != nil && p.Body.Integer("upto_seq") >= head.Seq {
			return nil, false, fault(Conflict, "a sealed pack (entry %d) holds these readings; bring in the corrected file instead, and both are kept", p.Seq)
		}
	}
	d := book.Draft{ID: id, Kind: head.Kind, At: head.At, Until: head.Until, Precision: head.Precision, Offset: head.Offset, Places: head.Places,
		Supersedes: head.ID, Reason: reason, By: who.Person, Role: string(who.Role), Made: s.now()}
	if faults := s.Kinds.Check(&d); len(faults) > 0 {
		return nil, false, &Error{Code: Invalid, Words: "the import was not taken back: something needs attention", Faults: faults}
	}
	return s.Enter(ctx, who, d)
}

// ReadingQuantities lists what channels may measure.
func (s *Service) ReadingQuantities() []*ReadingQuantity {
	var out []*ReadingQuantity
	for _, q := range s.Quantities.All() {
		if q.Form == quantity.Series {
			out = append(out, &ReadingQuantity{q.Code, q.Title, q.Unit})
		}
	}
	return out
}

// ReadingQuantity is a quantity that is read from channels.
type ReadingQuantity struct{ Code, Title, Unit string }
