package app

import (
	"sync"
	"time"
)

// How many wrong passwords are taken in which time: for one name from one
// address, and from one address for all names.
const (
	triesIn     = 15 * time.Minute
	triesMost   = 8
	addressMost = 60
	sweepAbove  = 1000 // keys held before those gone quiet are dropped
)

// tries counts wrong passwords. Limits go by address, so that nobody can lock
// another out.
type tries struct {
	mu   sync.Mutex
	when map[[2]string][]time.Time // sign-in name ("" = any) and address
}

func (t *tries) tooMany(name, from string, now time.Time) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.recent([2]string{name, from}, now) >= triesMost || t.recent([2]string{"", from}, now) >= addressMost
}

// recent counts a key's failures that still count, and drops the others.
func (t *tries) recent(key [2]string, now time.Time) int {
	all := t.when[key]
	kept := all[:0]
	for _, at := range all {
		if now.Sub(at) < triesIn {
			kept = append(kept, at)
		}
	}
	if len(kept) == 0 {
		delete(t.when, key)
		return 0
	}
	t.when[key] = kept
	return len(kept)
}

func (t *tries) failed(name, from string, now time.Time) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.when == nil {
		t.when = map[[2]string][]time.Time{}
	}
	if len(t.when) > sweepAbove {
		for key := range t.when {
			t.recent(key, now)
		}
	}
	for _, key := range [][2]string{{name, from}, {"", from}} {
		t.when[key] = append(t.when[key], now)
	}
}
