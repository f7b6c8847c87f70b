package app

import (
	"context"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Snapshot is the book at one seq with everything derived from it. Nothing in
// it changes.
type Snapshot struct {
	Info    SiteInfo // Seq is that of the whole book, also where fewer entries were known
	Entries []*book.Entry
	View    *book.View
	Record  *judge.Record
	Report  *judge.Report // judged with windows, at At
	At      time.Time
	names   map[string]string
	recheck time.Time // a verdict can have changed from here on; zero = never
	when    When      // what was asked for
	past    pasts
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
	for i := range report.Judgements {
		next := report.Judgements[i].Recheck
		if next != nil && next.After(at) && (snap.recheck.IsZero() || next.Before(snap.recheck)) {
			snap.recheck = *next
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
