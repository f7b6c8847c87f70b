package app

import (
	"context"
	"io"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// Service answers for one site's book. It is safe for concurrent use.
type Service struct {
	Book       Book
	Kinds      *book.Kinds
	Quantities *quantity.List
	Now        func() time.Time // the server's clock

	mu   sync.Mutex
	held *Snapshot
}

// Snapshot is the book at one seq with everything derived from it.
type Snapshot struct {
	Info    SiteInfo
	Entries []*book.Entry
	View    *book.View
	Record  *judge.Record
	Report  *judge.Report // judged with windows, at At
	At      time.Time
	names   map[string]string
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
// time alone.
func (s *Service) Current(ctx context.Context) (*Snapshot, error) {
	info, err := s.Book.Info(ctx)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.Now().UTC().Truncate(time.Millisecond)
	if h := s.held; h != nil && h.Info.Seq == info.Seq && h.Info.Epoch == info.Epoch && !h.stale(now) {
		return h, nil
	}
	// What is derived here outlives the request that asked first.
	snap, err := s.Snapshot(context.WithoutCancel(ctx), now, nil)
	if err != nil {
		return nil, err
	}
	s.held = snap
	return snap, nil
}

// stale tells whether a verdict can have changed by time alone.
func (h *Snapshot) stale(now time.Time) bool {
	for i := range h.Report.Judgements {
		if at := h.Report.Judgements[i].Recheck; at != nil && !now.Before(*at) {
			return true
		}
	}
	return now.Sub(h.At) > 24*time.Hour
}

// Snapshot derives the book as known at knownAt (nil = all of it) and judges
// it to at.
func (s *Service) Snapshot(ctx context.Context, at time.Time, knownAt *time.Time) (*Snapshot, error) {
	info, err := s.Book.Info(ctx)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	entries, err := s.Book.Entries(ctx)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	if knownAt != nil {
		entries = book.KnownAt(entries, *knownAt)
	}
	return s.derive(sources{ctx, s.Book}, info, entries, at, knownAt)
}

// Record opens the book as known at knownAt (nil = all of it) for judging.
func (s *Service) Record(ctx context.Context, knownAt *time.Time) (*judge.Record, []*book.Entry, error) {
	entries, err := s.Book.Entries(ctx)
	if err != nil {
		return nil, nil, internal("reading the book", err)
	}
	if knownAt != nil {
		entries = book.KnownAt(entries, *knownAt)
	}
	record, err := judge.NewRecord(entries, sources{ctx, s.Book})
	return record, entries, internal("opening the record", err)
}

func (s *Service) derive(src judge.Sources, info SiteInfo, entries []*book.Entry, at time.Time, knownAt *time.Time) (*Snapshot, error) {
	view, err := book.NewView(entries)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	record, err := judge.NewRecord(entries, src)
	if err != nil {
		return nil, internal("opening the record", err)
	}
	report, err := judge.All(record, s.Quantities, judge.Options{At: at, Windows: true})
	if err != nil {
		return nil, internal("judging", err)
	}
	report.KnownAt = knownAt
	snap := &Snapshot{Info: info, Entries: entries, View: view, Record: record, Report: report, At: at, names: map[string]string{}}
	for _, e := range view.Current("person.1") {
		if name, ok := e.Body["name"].(string); ok {
			snap.names[personOf(e)] = name
		}
	}
	return snap, nil
}

// personOf returns the opaque id that entries name a person by: the register's
// own reference, or the entry's id where it has none.
func personOf(e *book.Entry) string {
	if ref, ok := e.Body["ref"].(string); ok && ref != "" {
		return ref
	}
	return string(e.ID)
}

// NameOf returns the name on file for an opaque person id; "" when there is none.
func (h *Snapshot) NameOf(person string) string { return h.names[person] }
