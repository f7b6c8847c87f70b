package app

import (
	"context"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
)

// Snapshot is the book at one seq with everything derived from it. Nothing in
// it changes.
type Snapshot struct {
	Info    SiteInfo // Seq is that of the whole book, also where fewer entries were known
	Entries []*book.Entry
	View    *book.View
	Record  *judge.Record
	Report  *judge.Report // judged without windows, at At
	At      time.Time

	standing *judge.Standing
	names    map[string]string
	sent     sent
	recheck  time.Time // a verdict can have changed from here on; zero = never
	when     When      // what was asked for
	past     pasts
	windows  windowed
	duty     worked
}

// longest a snapshot stands though nothing has changed: Today looks some days
// ahead.
const longest = 24 * time.Hour

// stale tells whether a verdict can have changed by time alone.
func (h *Snapshot) stale(now time.Time) bool {
	return !h.recheck.IsZero() && !now.Before(h.recheck) || now.Sub(h.At) > longest
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
	if n := len(entries); n > 0 { // it may have grown since Info
		info.Seq, info.Head = entries[n-1].Seq, entries[n-1].Hash
	}
	if knownAt != nil {
		entries = book.KnownAt(entries, *knownAt)
	}
	return s.derive(sources{context.WithoutCancel(ctx), s.Book}, info, entries, at, knownAt)
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
	record, err := judge.NewRecord(entries, src)
	if err != nil {
		return nil, internal("opening the record", err)
	}
	standing, err := judge.NewStanding(record, s.Quantities, judge.Options{At: at})
	if err != nil {
		return nil, internal("judging", err)
	}
	return snapshotOf(info, entries, standing, knownAt), nil
}

// grown derives the book as it stands from what was derived before: only what
// is new is read, and only what it touches is judged again. Where that cannot
// be, everything is derived.
func (s *Service) grown(ctx context.Context, before *Snapshot, at time.Time) (*Snapshot, error) {
	info, err := s.Book.Info(ctx)
	if err != nil {
		return nil, internal("reading the book", err)
	}
	if before == nil || len(before.Entries) == 0 || before.Info.Epoch != info.Epoch || at.Before(before.At) {
		return s.whole(ctx, at)
	}
	n := len(before.Entries)
	more, err := s.Book.EntriesAfter(ctx, before.Entries[n-1])
	if err != nil {
		return nil, internal("reading the book", err)
	}
	sent := s.unsealed()
	standing, err := before.standing.Advance(more, sources{context.WithoutCancel(ctx), s.Book}, at, sent.readings)
	if err != nil {
		return s.whole(ctx, at)
	}
	if k := len(more); k > 0 {
		info.Seq, info.Head = more[k-1].Seq, more[k-1].Hash
	}
	snap := snapshotOf(info, append(before.Entries[:n:n], more...), standing, nil)
	snap.sent = sent
	return snap, nil
}

// whole derives everything, what is not yet sealed with it.
func (s *Service) whole(ctx context.Context, at time.Time) (*Snapshot, error) {
	snap, err := s.Snapshot(ctx, at, nil)
	sent := s.unsealed()
	if err != nil || sent.readings == nil {
		return snap, err
	}
	standing, err := snap.standing.Advance(nil, sources{context.WithoutCancel(ctx), s.Book}, at, sent.readings)
	if err != nil {
		return nil, internal("judging", err)
	}
	snap = snapshotOf(snap.Info, snap.Entries, standing, nil)
	snap.sent = sent
	return snap, nil
}

// sent are the readings that loggers have sent and no entry holds yet, as they
// stood at a count of changes.
type sent struct {
	readings *judge.Pending
	changes  uint64
}

func (s *Service) unsealed() sent {
	if s.Unsealed == nil {
		return sent{}
	}
	p, n := s.Unsealed.Pending()
	return sent{p, n}
}

func snapshotOf(info SiteInfo, entries []*book.Entry, standing *judge.Standing, knownAt *time.Time) *Snapshot {
	record, report := standing.Record(), *standing.Report()
	report.KnownAt = knownAt
	snap := &Snapshot{
		Info: info, Entries: entries, View: record.View(), Record: record, Report: &report, At: report.At,
		standing: standing, recheck: standing.Recheck(), names: map[string]string{},
	}
	for _, e := range snap.View.Current("person.1") {
		if name, ok := e.Body["name"].(string); ok {
			snap.names[personOf(e)] = name
		}
	}
	return snap
}

// windowed returns the judgements of one condition, and of its duty to
// monitor, with their windows. What was asked for last is kept.
func (s *Service) windowed(h *Snapshot, permit, condition string) (*judge.Report, error) {
	key := [2]string{permit, condition}
	h.windows.mu.Lock()
	defer h.windows.mu.Unlock()
	if r := h.windows.reports[key]; r != nil {
		return r, nil
	}
	r, err := judge.All(h.Record, s.Quantities, judge.Options{At: h.At, Permit: permit, Condition: condition, Windows: true})
	if err != nil {
		return nil, internal("judging", err)
	}
	if h.windows.reports == nil || len(h.windows.reports) == mostWindowed {
		h.windows.reports = map[[2]string]*judge.Report{}
	}
	h.windows.reports[key] = r
	return r, nil
}

// mostWindowed is how many conditions are kept with their windows.
const mostWindowed = 32

// windowed reports that were asked for, by notice and condition.
type windowed struct {
	mu      sync.Mutex
	reports map[[2]string]*judge.Report
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

// Unsealed are readings that count and that no entry holds yet: no pack rests
// on them.
type Unsealed struct {
	Readings int
	From     time.Time
}

// unsealedOf counts the readings of channels that are not yet in the book; nil
// when there are none.
func (h *Snapshot) unsealedOf(channels []series.Channel) *Unsealed {
	p := h.Record.Pending()
	if p == nil {
		return nil
	}
	var out *Unsealed
	for _, c := range channels {
		for _, b := range p.Blocks[c.Code] {
			from := time.UnixMilli(b.Start[0]).UTC()
			if out == nil {
				out = &Unsealed{From: from}
			}
			out.Readings += b.Len()
			if from.Before(out.From) {
				out.From = from
			}
		}
	}
	return out
}
