package store

import (
	"context"
	"crypto/rand"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// AppendOptions come from outside, so that a book can be made again to the byte.
type AppendOptions struct {
	Now    func() time.Time     // clock of receipt, read once inside the head lock; nil = the system's
	Rand   io.Reader            // source of salts; nil = crypto/rand
	Import map[book.ID]*Staging // readings that become visible with the draft of that id
}

func (o AppendOptions) filled() AppendOptions {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	return o
}

// Result says what became of the drafts.
type Result struct {
	Entries []*book.Entry // new ones, in the order of their drafts
	Already []book.ID     // drafts that were in the book with the same content
}

// mostFaults is how many faulty drafts are told at once.
const mostFaults = 100

// Append seals drafts into the book of a site in one transaction that holds
// the head: all of them or none. Time of receipt is the clock's, or that of the
// entry before when the clock has gone back.
//
// It returns ErrNoSite, or every fault found, joined: *ConflictError for an id
// that stands with other content, *SupersededError for a correction of what is
// no head, *DraftError for what else is wrong with a draft (ErrUnsound,
// ErrNotFound, ErrNoFile, ErrErased, ErrStaging). A staging of a draft that was
// already there is dropped.
func (s *Store) Append(ctx context.Context, site string, drafts []book.Draft, o AppendOptions) (Result, error) {
	if s.writer == nil {
		return Result{}, ErrReadOnly
	}
	var result Result
	var done []*Staging
	if err := soundAll(drafts); err != nil {
		return Result{}, err
	}
	err := s.write(ctx, func(tx *sql.Tx) error {
		s.tell("begun")
		a, err := s.begin(ctx, tx, site, o)
		if err != nil {
			return err
		}
		if err := a.takeAll(drafts); err != nil {
			return err
		}
		if err := a.moveHead(); err != nil {
			return err
		}
		result, done = a.result, a.shown
		s.tell("sealed")
		return nil
	})
	if err != nil {
		return Result{}, err
	}
	s.tell("committed")
	for _, st := range done {
		st.setSpent()
	}
	for _, id := range result.Already {
		if st := o.Import[id]; st != nil {
			if err := st.Drop(ctx); err != nil {
				return result, err
			}
		}
	}
	return result, nil
}

func soundAll(drafts []book.Draft) error {
	var faults []error
	for i := range drafts {
		if err := sound(&drafts[i]); err != nil {
			faults = append(faults, &DraftError{drafts[i], err})
		}
		if len(faults) == mostFaults {
			break
		}
	}
	return errors.Join(faults...)
}

// appending is one append under way.
type appending struct {
	held
	o        AppendOptions
	seq      int64
	head     book.Hash
	recorded time.Time
	moved    bool
	result   Result
	shown    []*Staging
}

func (s *Store) begin(ctx context.Context, tx *sql.Tx, site string, o AppendOptions) (*appending, error) {
	a := &appending{held: held{ctx, tx, s.put, site}, o: o.filled()}
	var created int64
	err := tx.StmtContext(ctx, s.put.site).QueryRowContext(ctx, site).Scan(&created)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("%w: %q", ErrNoSite, site)
	}
	if err != nil {
		return nil, fmt.Errorf("reading site %s: %w", site, err)
	}
	var hash []byte
	var last int64
	if err := tx.StmtContext(ctx, s.put.head).QueryRowContext(ctx, site).Scan(&a.seq, &hash, &last); err != nil {
		return nil, fmt.Errorf("reading the head of %s: %w", site, err)
	}
	a.head = book.Hash(hash)
	a.recorded = a.o.Now().UTC().Truncate(time.Millisecond)
	if before := time.UnixMilli(last).UTC(); a.seq > 0 && a.recorded.Before(before) {
		a.recorded = before
	}
	return a, nil
}

// takeAll takes every draft, or returns every fault.
func (a *appending) takeAll(drafts []book.Draft) error {
	var faults []error
	refused := map[book.ID]bool{}
	for i := range drafts {
		d := &drafts[i]
		if refused[d.Supersedes] { // its fault is told already
			refused[d.ID] = true
			continue
		}
		err := a.take(d)
		if err == nil {
			continue
		}
		if !aboutDraft(err) {
			return fmt.Errorf("%swriting the entry: %w", source(d), err)
		}
		faults = append(faults, err)
		refused[d.ID] = true
		if len(faults) == mostFaults {
			break
		}
	}
	return errors.Join(faults...)
}

// aboutDraft tells a fault of a draft from trouble with the store.
func aboutDraft(err error) bool {
	var conflict *ConflictError
	var superseded *SupersededError
	var draft *DraftError
	return errors.As(err, &conflict) || errors.As(err, &superseded) || errors.As(err, &draft)
}

func (a *appending) take(d *book.Draft) error {
	there, err := a.byID(d.ID)
	if err != nil {
		return err
	}
	if there != nil {
		if !alreadyThere(d, there) {
			return &ConflictError{*d, there}
		}
		a.result.Already = append(a.result.Already, d.ID)
		return nil
	}
	old, err := a.superseded(d)
	if err != nil {
		return err
	}
	if err := a.filesHeld(d); err != nil {
		return err
	}
	e, err := a.seal(d)
	if err != nil {
		return err
	}
	if err := a.keep(e); err != nil {
		return err
	}
	if err := a.mark(e, e, old); err != nil {
		return err
	}
	return a.show(d, e)
}

// alreadyThere tells whether an entry is what the draft would make. What was
// erased can no longer be compared, and may not come back: with the same
// envelope it counts as there.
func alreadyThere(d *book.Draft, e *book.Entry) bool {
	if e.ErasedBy == 0 {
		return d.Same(e)
	}
	v := d.Envelope(e.Site, e.Seq, e.Recorded)
	v.BodyHash = e.BodyHash
	return d.Body != nil && string(v.Bytes()) == string(e.Envelope.Bytes())
}

// superseded returns the head that a correction takes the place of; nil for a
// draft that corrects nothing.
func (a *appending) superseded(d *book.Draft) (*book.Entry, error) {
	if d.Supersedes == "" {
		return nil, nil
	}
	old, err := a.byID(d.Supersedes)
	if err != nil {
		return nil, err
	}
	if old == nil {
		return nil, &DraftError{*d, fmt.Errorf("%w: it supersedes %s, which no entry has as its id", ErrNotFound, d.Supersedes)}
	}
	head, err := a.lineHead(old.ID)
	if err != nil {
		return nil, err
	}
	switch {
	case head.ID != old.ID:
		return nil, &SupersededError{*d, head}
	case head.Kind != d.Kind:
		return nil, &DraftError{*d, unsound("a correction cannot turn %s into %s; withdraw entry %d and enter anew", head.Kind, d.Kind, head.Seq)}
	case head.Withdrawal() && d.Body == nil:
		return nil, &DraftError{*d, unsound("entry %d withdrew it already", head.Seq)}
	}
	return old, nil
}

func (a *appending) filesHeld(d *book.Draft) error {
	for _, h := range d.Files {
		var erasedBy int64
		var site string
		err := a.tx.StmtContext(a.ctx, a.put.fileHeld).QueryRowContext(a.ctx, h[:]).Scan(&erasedBy, &site)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return &DraftError{*d, fmt.Errorf("%w: %s; send the file before the entry that names it", ErrNoFile, h)}
		case err != nil:
			return err
		case erasedBy != 0:
			return &DraftError{*d, fmt.Errorf("%w: file %s, entry %d of %s", ErrErased, h, erasedBy, site)}
		}
	}
	return nil
}

func (a *appending) seal(d *book.Draft) (*book.Entry, error) {
	var salt []byte
	if d.Body != nil {
		salt = make([]byte, book.SaltSize)
		if _, err := io.ReadFull(a.o.Rand, salt); err != nil {
			return nil, fmt.Errorf("drawing a salt: %w", err)
		}
	}
	v := d.Envelope(a.site, a.seq+1, a.recorded)
	v.At, v.Until, v.Made = milli(v.At), milli(v.Until), milli(v.Made)
	return book.Seal(v, salt, d.Body, a.head), nil
}

// milli cuts an instant to what an envelope keeps of it.
func milli(t time.Time) time.Time { return t.UTC().Truncate(time.Millisecond) }

// keep writes the entry with its indexes.
func (a *appending) keep(e *book.Entry) error {
	r := rowOf(e)
	err := a.exec(a.put.entry, r.Site, r.Seq, r.ID, r.Kind, r.At, r.Until, r.Recorded, r.ByPerson,
		r.Supersedes, r.Envelope, r.Prev, r.Hash, r.Salt, r.Body)
	if err != nil {
		return err
	}
	for _, place := range distinct(e.Places) {
		if err := a.exec(a.put.place, e.Site, place, e.Seq); err != nil {
			return err
		}
	}
	for i, h := range e.Files {
		if err := a.exec(a.put.file, e.Site, e.Seq, i, h[:]); err != nil {
			return err
		}
	}
	a.seq, a.head, a.moved = e.Seq, e.Hash, true
	a.result.Entries = append(a.result.Entries, e)
	return nil
}

func distinct(places []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, p := range places {
		if !seen[p] {
			seen[p] = true
			out = append(out, p)
		}
	}
	return out
}

func (a *appending) moveHead() error {
	if !a.moved {
		return nil
	}
	if err := a.exec(a.put.moveHead, a.seq, a.head[:], a.site); err != nil {
		return fmt.Errorf("moving the head of %s: %w", a.site, err)
	}
	return nil
}
