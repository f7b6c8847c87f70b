package book

import (
	"errors"
	"fmt"
	"sort"
	"time"
)

// View is a book as far as it was known: which entries are in force, and the
// line of corrections behind each. Entries are shared, not copied.
type View struct {
	heads   map[ID]*Entry   // first id of a line → its head
	lines   map[ID]ID       // any id → first id of its line
	history map[ID][]*Entry // first id of a line → its entries in seq order
	byKind  map[string][]*Entry
	bySeq   map[int64]*Entry
}

// ErrSuperseded is wrapped when a correction names an entry that is not the
// head of its line.
var ErrSuperseded = errors.New("already superseded")

// NewView reads entries in seq order.
func NewView(entries []*Entry) (*View, error) {
	v := &View{
		heads: map[ID]*Entry{}, lines: map[ID]ID{},
		history: map[ID][]*Entry{}, byKind: map[string][]*Entry{}, bySeq: map[int64]*Entry{},
	}
	for _, e := range entries {
		if err := v.add(e); err != nil {
			return nil, err
		}
	}
	for _, head := range v.heads {
		if !head.Withdrawal() {
			v.byKind[head.Kind] = append(v.byKind[head.Kind], head)
		}
	}
	for _, l := range v.byKind {
		sort.Slice(l, func(i, j int) bool {
			if !l[i].At.Equal(l[j].At) {
				return l[i].At.Before(l[j].At)
			}
			return l[i].Seq < l[j].Seq
		})
	}
	return v, nil
}

func (v *View) add(e *Entry) error {
	if _, there := v.lines[e.ID]; there {
		return fmt.Errorf("entry %d: id %s stands twice", e.Seq, e.ID)
	}
	v.bySeq[e.Seq] = e
	first := e.ID
	if e.Supersedes != "" {
		line, there := v.lines[e.Supersedes]
		if !there {
			return fmt.Errorf("entry %d supersedes %s, which is not in the book before it", e.Seq, e.Supersedes)
		}
		head := v.heads[line]
		if head.ID != e.Supersedes {
			return fmt.Errorf("entry %d: %w: %s was superseded by entry %d; correct that one", e.Seq, ErrSuperseded, e.Supersedes, head.Seq)
		}
		if head.Kind != e.Kind {
			return fmt.Errorf("entry %d: a correction cannot turn %s into %s; withdraw and enter anew", e.Seq, head.Kind, e.Kind)
		}
		if head.Withdrawal() && e.Withdrawal() {
			return fmt.Errorf("entry %d withdraws what entry %d withdrew already", e.Seq, head.Seq)
		}
		first = line
	}
	v.lines[e.ID] = first
	v.heads[first] = e
	v.history[first] = append(v.history[first], e)
	return nil
}

// Current returns the entries of a kind that are in force, by At then Seq.
// Erased entries are among them, with a nil Body.
func (v *View) Current(kind string) []*Entry { return v.byKind[kind] }

// Head returns the entry in force on the line that id belongs to (a
// withdrawal when the line was withdrawn), or nil when id is unknown.
func (v *View) Head(id ID) *Entry { return v.heads[v.lines[id]] }

// Line returns every entry on the line that id belongs to, oldest first.
func (v *View) Line(id ID) []*Entry { return v.history[v.lines[id]] }

// BySeq returns the entry with that seq, or nil.
func (v *View) BySeq(seq int64) *Entry { return v.bySeq[seq] }

// KnownAt returns the entries received at or before t. Entries are in seq
// order, and so in order of receipt.
func KnownAt(entries []*Entry, t time.Time) []*Entry {
	n := sort.Search(len(entries), func(i int) bool { return entries[i].Recorded.After(t) })
	return entries[:n]
}
