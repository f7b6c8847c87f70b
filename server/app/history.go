package app

import (
	"context"
	"slices"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Past is how a verdict stood when the book ended at Seq.
type Past struct {
	Seq       int64
	KnownAt   time.Time
	Judgement judge.Judgement
}

// pasts keeps the histories worked out for a snapshot.
type pasts struct {
	mu    sync.Mutex
	known map[[3]string][]Past
}

// mostPast is how many earlier states of the book a history judges.
const mostPast = 12

// history judges a condition as known just before each correction, withdrawal,
// rejection and variation it rests on, latest first, and keeps where the verdict
// differs from the one after it. What was erased cannot be judged as it was.
func (s *Service) history(ctx context.Context, snap *Snapshot, now *judge.Judgement) ([]Past, error) {
	key := [3]string{now.Permit, now.Condition, now.Place}
	snap.past.mu.Lock()
	defer snap.past.mu.Unlock()
	if known, there := snap.past.known[key]; there {
		return known, nil
	}
	var out []Past
	last, judged, upto := now, 0, len(snap.Entries)
	for i := len(snap.Entries) - 1; i >= 0 && judged < mostPast; i-- {
		e := snap.Entries[i]
		if !turns(e) || !s.matters(e, last.Reads) {
			continue
		}
		// What came in with one import was received at one instant: the book
		// never stood between two entries of it.
		n := len(book.KnownAt(snap.Entries[:i], e.Recorded.Add(-time.Millisecond)))
		if n == 0 || n >= upto {
			continue
		}
		upto = n
		judged++
		before, err := s.before(ctx, snap, n, now)
		if err != nil {
			return nil, err
		}
		if before == nil {
			continue
		}
		if before.Verdict != last.Verdict {
			past := *before
			past.Windows, past.Months = nil, nil
			out = append(out, Past{Seq: snap.Entries[n-1].Seq, KnownAt: e.Recorded.Add(-time.Millisecond), Judgement: past})
		}
		last = before
	}
	if snap.past.known == nil {
		snap.past.known = map[[3]string][]Past{}
	}
	snap.past.known[key] = out
	return out, nil
}

// turns tells whether an entry changes what earlier ones said.
func turns(e *book.Entry) bool {
	return e.Supersedes != "" || e.Kind == "rejection.1" || e.Kind == "variation.1"
}

// matters tells whether an entry can have changed a judgement that read these.
// Kinds that readings are checked by, and those made by a use case of their
// own, always can.
func (s *Service) matters(e *book.Entry, reads *judge.Reads) bool {
	kind := s.Kinds.Named(e.Kind)
	return kind == nil || !kind.Plain || kind.Subject == "monitoring" || reads == nil || slices.Contains(reads.Kinds, e.Kind)
}

// before judges a condition by the first n entries of a snapshot, to the same
// instant; nil where it was not judged then.
func (s *Service) before(ctx context.Context, snap *Snapshot, n int, j *judge.Judgement) (*judge.Judgement, error) {
	record, err := judge.NewRecord(snap.Entries[:n], sources{ctx, s.Book})
	if err != nil {
		return nil, internal("opening the record", err)
	}
	report, err := judge.All(record, s.Quantities, judge.Options{At: snap.At, Permit: j.Permit, Condition: j.Condition})
	if err != nil {
		return nil, internal("judging", err)
	}
	for i := range report.Judgements {
		if one := &report.Judgements[i]; one.Permit == j.Permit && one.Condition == j.Condition && one.Place == j.Place {
			return one, nil
		}
	}
	return nil, nil
}
