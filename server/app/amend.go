package app

import (
	"context"
	"errors"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
)

// Amend saves a condition as written, under an id the device made: added to a
// notice, as a variation from its legal date, or as a correction of what was
// entered wrongly. It returns what verdicts that changes. The same id again is
// no fault: fresh is false then and nothing is compared.
func (s *Service) Amend(ctx context.Context, who Actor, id book.ID, a Amendment, epoch int64) (e *book.Entry, t *Tried, fresh bool, err error) {
	snap, there, err := s.beforeNotice(ctx, who, id, epoch)
	if err != nil || there != nil {
		return there, nil, false, err
	}
	edited, err := s.edited(snap, a.Edit)
	if err != nil {
		return nil, nil, false, err
	}
	if len(edited.Faults) > 0 {
		return nil, nil, false, notSaved("condition", edited.Faults)
	}
	if a.Kind == WeHadItWrong && strings.TrimSpace(a.Reason) == "" {
		return nil, nil, false, &Error{Code: Invalid, Words: "a correction needs its reason", Faults: []book.Fault{{Field: "reason", Reason: "it does not say what was wrong", Remedy: "write what was entered wrongly, and how it was found"}}}
	}
	if a.Kind == Added && a.Replaces != "" {
		return nil, nil, false, fault(Invalid, "condition %s is in force: say whether the permit changed or we had it wrong", a.Replaces)
	}
	d, err := s.noticeDraft(edited, a, snap.Record.Site().Zone)
	if err != nil {
		return nil, nil, false, err
	}
	d.ID = id
	drafts := []book.Draft{d}
	if a.Settles != "" {
		w, err := snap.withdrawal(id, a.Settles, "granted as "+a.Reference)
		if err != nil {
			return nil, nil, false, err
		}
		drafts = append(drafts, w)
	}
	if t, err = s.tried(ctx, snap, edited, a, d); err != nil {
		return nil, nil, false, err
	}
	e, fresh, err = s.keepNotice(ctx, who, snap, drafts)
	return e, t, fresh, err
}

// NoticeText is a notice as somebody is writing it.
type NoticeText struct {
	Text     string      // YAML or JSON; "" = Form holds it
	Form     book.Object // the keys of the language
	Replaces string      // reference of the notice it corrects; "" = a new one
	Reason   string      // of a correction
	Files    []book.Hash // the notice as issued
}

// SaveNotice saves a whole notice, a new one or the correction of one that was
// entered wrongly, under an id the device made.
func (s *Service) SaveNotice(ctx context.Context, who Actor, id book.ID, t NoticeText, epoch int64) (e *book.Entry, fresh bool, err error) {
	snap, there, err := s.beforeNotice(ctx, who, id, epoch)
	if err != nil || there != nil {
		return there, false, err
	}
	n, faults, err := s.readNotice(snap, t)
	if err != nil {
		return nil, false, err
	}
	if len(faults) > 0 {
		return nil, false, notSaved("notice", faults)
	}
	d := book.Draft{ID: id, Kind: "permit.1", Precision: book.ToDay, Files: t.Files, Body: permit.ToObject(n)}
	date := n.Granted
	if n.Varies != "" {
		d.Kind, date = "variation.1", n.Effective
	}
	at := date.Start(snap.Record.Site().Zone)
	d.At, d.Offset = at.UTC(), at.Format("-07:00")
	if t.Replaces != "" {
		f, err := snap.noticeOf(t.Replaces)
		if err != nil {
			return nil, false, err
		}
		if strings.TrimSpace(t.Reason) == "" {
			return nil, false, &Error{Code: Invalid, Words: "a correction needs its reason", Faults: []book.Fault{{Field: "reason", Reason: "it does not say what was wrong", Remedy: "write what was entered wrongly, and how it was found"}}}
		}
		d.Supersedes, d.Reason, d.Files = f.entry.ID, t.Reason, append(append([]book.Hash{}, f.entry.Files...), t.Files...)
	}
	return s.keepNotice(ctx, who, snap, []book.Draft{d})
}

// CheckNotice says what is wrong with a notice as written, and gives it as
// text. Nothing is saved.
func (s *Service) CheckNotice(ctx context.Context, who Actor, t NoticeText) (n *permit.Notice, faults []EditFault, err error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, nil, err
	}
	return s.readNotice(snap, t)
}

// NoticeOf returns a notice in force with its entry.
func (s *Service) NoticeOf(ctx context.Context, who Actor, reference string) (*permit.Notice, *book.Entry, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, nil, err
	}
	f, err := snap.noticeOf(reference)
	if err != nil {
		return nil, nil, err
	}
	return f.notice, f.entry, nil
}

func (h *Snapshot) noticeOf(reference string) (*filed, error) {
	list, err := h.filed()
	if err != nil {
		return nil, err
	}
	for _, f := range list {
		if f.notice.Reference == reference {
			return f, nil
		}
	}
	return nil, fault(NotFound, "no notice %q is on file", reference)
}

// readNotice reads a notice and checks it by itself and beside the others.
func (s *Service) readNotice(snap *Snapshot, t NoticeText) (*permit.Notice, []EditFault, error) {
	var n *permit.Notice
	var err error
	if t.Text != "" {
		n, err = permit.Read(strings.NewReader(t.Text), "")
	} else {
		n, err = permit.FromObject(t.Form)
	}
	var faults permit.Faults
	if err != nil {
		if !errors.As(err, &faults) {
			return nil, nil, internal("reading the notice", err)
		}
		return nil, editFaults(faults), nil
	}
	list, err := snap.filed()
	if err != nil {
		return nil, nil, err
	}
	faults = permit.Check(n, s.Quantities, nil)
	others := []*permit.Notice{}
	for _, f := range list {
		if f.notice.Reference != t.Replaces {
			others = append(others, f.notice)
		}
	}
	// What is wrong among those on file already is not this notice's doing.
	known := map[string]bool{}
	for _, f := range permit.CheckTogether(others) {
		known[f.Error()] = true
	}
	for _, f := range permit.CheckTogether(append(others, n)) {
		if !known[f.Error()] {
			faults = append(faults, f)
		}
	}
	return n, editFaults(faults), nil
}

func editFaults(list permit.Faults) []EditFault {
	out := make([]EditFault, len(list))
	for i, f := range list {
		out[i] = EditFault{f.Field, f.Line, f.Column, f.Reason, f.Remedy}
	}
	return out
}

// beforeNotice looks whether the actor may keep notices, and whether an entry
// has the id already.
func (s *Service) beforeNotice(ctx context.Context, who Actor, id book.ID, epoch int64) (*Snapshot, *book.Entry, error) {
	if err := who.Need(KeepNotices); err != nil {
		return nil, nil, err
	}
	if !id.Valid() {
		return nil, nil, fault(Invalid, "the id is not 32 hexadecimal digits")
	}
	snap, err := s.Current(ctx)
	if err != nil {
		return nil, nil, err
	}
	if epoch != 0 && epoch != snap.Info.Epoch {
		return nil, nil, fault(Conflict, "the book was restored from a backup since this device last read it; load the page again and save again")
	}
	for _, e := range snap.View.Line(id) {
		if e.ID == id {
			if e.Kind != "permit.1" && e.Kind != "variation.1" {
				return nil, nil, fault(Conflict, "entry %d has that id and is something else", e.Seq)
			}
			return snap, e, nil
		}
	}
	return snap, nil, nil
}

// withdrawal takes an entry back in the same breath as another is made; its id
// follows from that of the other.
func (h *Snapshot) withdrawal(with, of book.ID, reason string) (book.Draft, error) {
	head := h.View.Head(of)
	if head == nil || head.Withdrawal() {
		return book.Draft{}, fault(Conflict, "the application is not on file, or was taken back")
	}
	return book.Draft{ID: book.RowID(head.Site, head.Kind, "settled by", string(with)), Kind: head.Kind, At: head.At, Until: head.Until,
		Precision: head.Precision, Offset: head.Offset, Places: head.Places, Supersedes: head.ID, Reason: reason}, nil
}

// keepNotice appends a notice, and what goes with it, in one.
func (s *Service) keepNotice(ctx context.Context, who Actor, snap *Snapshot, drafts []book.Draft) (*book.Entry, bool, error) {
	if n, err := permit.FromObject(drafts[0].Body); err == nil && drafts[0].Supersedes == "" {
		for _, kind := range []string{"permit.1", "variation.1"} {
			for _, e := range snap.View.Current(kind) {
				if head, ok := e.Body["permit"].(book.Object); ok && head.Text("reference") == n.Reference {
					return nil, false, &Error{Code: Invalid, Words: "the notice was not saved", Faults: []book.Fault{{Field: "reference", Reason: "another notice has the reference " + n.Reference, Remedy: "give this one its own reference"}}}
				}
			}
		}
	}
	for i := range drafts {
		drafts[i].By, drafts[i].Role = who.Person, string(who.Role)
		if faults := s.Kinds.Check(&drafts[i]); len(faults) > 0 {
			return nil, false, &Error{Code: Invalid, Words: "the notice was not saved: something in it needs attention", Faults: faults}
		}
	}
	done, err := s.Book.Append(ctx, drafts, nil)
	if err != nil {
		return nil, false, internal("saving the notice", s.known(ctx, who, drafts[0].ID, err))
	}
	for _, e := range done.Entries {
		s.saw(ctx, who.Person, e.Seq)
	}
	if len(done.Entries) == 0 {
		return nil, false, fault(Conflict, "the notice was saved already")
	}
	return done.Entries[0], true, nil
}

func notSaved(what string, list []EditFault) error {
	out := make([]book.Fault, len(list))
	for i, f := range list {
		out[i] = book.Fault{Field: f.Field, Reason: f.Reason, Remedy: f.Remedy}
	}
	return &Error{Code: Invalid, Words: "the " + what + " was not saved: something in it needs attention", Faults: out}
}
