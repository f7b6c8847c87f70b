package app

import (
	"context"
	"io"
	"slices"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// Service answers for one site's book. It is safe for concurrent use.
//
// What is derived from the book is kept until the book grows. While it is
// derived anew, readers get what is held, save those who have entered something
// that it lacks: whoever writes reads their own entry. After an erasure
// nobody gets what was derived before it.
type Service struct {
	Book       Book
	Kinds      *book.Kinds
	Quantities *quantity.List
	// DutySources make duties of single entries.
	DutySources []duty.Source
	Now         func() time.Time // the server's clock
	// Unsealed tells what loggers have sent that is not in the book; nil = nothing.
	Unsealed interface {
		Pending() (readings *judge.Pending, changes uint64)
		Changes() uint64
		SealChannels(ctx context.Context, values []series.ValueColumn) error
	}

	mu      sync.Mutex
	held    *Snapshot
	under   *turn            // derivation under way; nil when there is none
	entered map[string]int64 // person → seq of the last entry they made here
	least   int64            // nothing derived from fewer entries is served
	asked   []*Snapshot      // derived for other instants, oldest use first
}

// turn is one derivation, waited for by whoever needs it.
type turn struct {
	done chan struct{}
	snap *Snapshot
	err  error
}

// sources lets the judge read originals and chunks through the Book.
type sources struct {
	ctx  context.Context
	book Book
}

func (s sources) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	return s.book.Blocks(s.ctx, e.Seq, channel, from.UnixMilli(), to.UnixMilli())
}

func (s sources) File(h book.Hash) (io.ReadCloser, error) { return s.book.OpenFile(s.ctx, h) }

// Sources lets a judge read originals and readings through a book.
func Sources(ctx context.Context, b Book) judge.Sources { return sources{ctx, b} }

// Current returns the snapshot of the book as it stands, judged to now. It is
// derived again only when the book has grown or a verdict may have changed by
// time alone; this waits for it.
func (s *Service) Current(ctx context.Context) (*Snapshot, error) {
	return s.current(ctx, func(h *Snapshot, head int64) bool { return h.Info.Seq >= head })
}

// currentFor returns the snapshot for one person: the one held while a newer is
// derived, as long as it has all that this person entered.
func (s *Service) currentFor(ctx context.Context, person string) (*Snapshot, error) {
	return s.current(ctx, func(h *Snapshot, _ int64) bool { return h.Info.Seq >= max(s.entered[person], s.least) })
}

// current returns the first snapshot that is good enough; good is asked with
// the lock held.
func (s *Service) current(ctx context.Context, good func(h *Snapshot, head int64) bool) (*Snapshot, error) {
	info, err := s.Book.Info(ctx)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	for {
		s.mu.Lock()
		h := s.held
		fresh := h != nil && h.Info.Epoch == info.Epoch && !h.stale(s.now())
		behind := fresh && s.behind(h, mostBehind)
		if fresh && h.Info.Seq >= info.Seq && !behind {
			s.mu.Unlock()
			return h, nil
		}
		underWay := s.under != nil
		t := s.begin(ctx)
		if fresh && good(h, info.Seq) && !(behind && s.behind(h, muchBehind)) {
			s.mu.Unlock()
			return h, nil
		}
		s.mu.Unlock()
		select {
		case <-ctx.Done():
			return nil, internal("waiting for the judgements", ctx.Err())
		case <-t.done:
		}
		if t.err != nil {
			return nil, t.err
		}
		if t.snap.Info.Seq >= info.Seq && !(underWay && s.behind(t.snap, muchBehind)) {
			return t.snap, nil
		}
	}
}

// How long what loggers send may wait to be judged while somebody reads, and
// how long it may have waited for a reader not to wait for it.
const (
	mostBehind = time.Second
	muchBehind = 5 * time.Second
)

// behind tells whether loggers have sent something that a snapshot lacks, and
// the snapshot has stood that long.
func (s *Service) behind(h *Snapshot, long time.Duration) bool {
	return s.Unsealed != nil && s.now().Sub(h.At) >= long && s.Unsealed.Changes() != h.sent.changes
}

// begin starts to derive the book as it stands, unless that is under way. The
// lock is held. What is derived outlives the request that asked first.
func (s *Service) begin(ctx context.Context) *turn {
	if s.under != nil {
		return s.under
	}
	t := &turn{done: make(chan struct{})}
	s.under = t
	before := s.held
	go func() {
		t.snap, t.err = s.grown(context.WithoutCancel(ctx), before, s.now())
		s.mu.Lock()
		s.under = nil
		if t.err == nil && t.snap.Info.Seq >= s.least {
			s.held = t.snap
		}
		s.mu.Unlock()
		close(t.done)
	}()
	return t
}

func (s *Service) now() time.Time { return s.Now().UTC().Truncate(time.Millisecond) }

// saw notes that a person made the entry with that seq, and starts to derive
// the book with it.
func (s *Service) saw(ctx context.Context, person string, seq int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.entered == nil {
		s.entered = map[string]int64{}
	}
	s.entered[person] = max(s.entered[person], seq)
	if s.held != nil { // somebody reads
		s.begin(ctx)
	}
}

// forget drops everything derived from fewer entries than seq.
func (s *Service) forget(seq int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.held, s.asked, s.least = nil, nil, seq
}

// mostAsked is how many snapshots for other instants are kept: a screen asks
// several times about the same.
const mostAsked = 4

// at returns the snapshot for a stated instant, the one kept for it where the
// book has not grown since.
func (s *Service) at(ctx context.Context, w When) (*Snapshot, error) {
	info, err := s.Book.Info(ctx)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	s.mu.Lock()
	for i, h := range s.asked {
		if h.when == w && h.Info.Epoch == info.Epoch && h.Info.Seq == info.Seq && (!w.At.IsZero() || !h.stale(s.now())) {
			s.asked = append(slices.Delete(s.asked, i, i+1), h)
			s.mu.Unlock()
			return h, nil
		}
	}
	s.mu.Unlock()
	at, known := w.At, &w.KnownAt
	if at.IsZero() {
		at = s.now()
	}
	if w.KnownAt.IsZero() {
		known = nil
	}
	snap, err := s.Snapshot(ctx, at, known)
	if err != nil {
		return nil, err
	}
	snap.when = w
	s.mu.Lock()
	defer s.mu.Unlock()
	if snap.Info.Seq < s.least {
		return snap, nil
	}
	s.asked = append(s.asked, snap)
	if len(s.asked) > mostAsked {
		s.asked = slices.Delete(s.asked, 0, 1)
	}
	return snap, nil
}
