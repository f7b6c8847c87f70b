package book

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"sort"
	"time"
)

// View is a book as far as it was known: which entries are in force, and the
// line of corrections behind each. Entries are shared, not copied. A View does
// not change; With makes one of a book that has grown.
type View struct {
	under   *View               // entries before those of this layer; nil at the bottom
	size    int                 // entries of this layer
	heads   map[ID]*Entry       // first id of a line → its head
	lines   map[ID]ID           // any id → first id of its line
	history map[ID][]*Entry     // first id of a line → its entries in seq order
	bySeq   map[int64]*Entry    //
	byKind  map[string][]*Entry // of all layers: in force, by At then Seq
}

// ErrSuperseded is wrapped when a correction names an entry that is not the
// head of its line.
var ErrSuperseded = errors.New("already superseded")

// NewView reads entries in seq order.
func NewView(entries []*Entry) (*View, error) {
	v := newLayer(nil)
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
		sort.Slice(l, func(i, j int) bool { return earlier(l[i], l[j]) })
	}
	return v, nil
}

func newLayer(under *View) *View {
	return &View{under: under, heads: map[ID]*Entry{}, lines: map[ID]ID{}, history: map[ID][]*Entry{}, byKind: map[string][]*Entry{}, bySeq: map[int64]*Entry{}}
}

// earlier orders entries by At, then Seq.
func earlier(a, b *Entry) bool {
	if !a.At.Equal(b.At) {
		return a.At.Before(b.At)
	}
	return a.Seq < b.Seq
}

// With returns the view of the book grown by entries in seq order; v stays as
// it is. The work is that of what is added and of the kinds it is of, not of
// the book. After a redaction a new view is needed: it changes entries that
// were there before.
func (v *View) With(more []*Entry) (*View, error) {
	out := newLayer(v)
	for _, e := range more {
		if err := out.add(e); err != nil {
			return nil, err
		}
	}
	out.byKind = maps.Clone(v.byKind)
	touched := map[string]bool{}
	for _, e := range more {
		touched[e.Kind] = true
	}
	for kind := range touched {
		out.byKind[kind] = out.regrouped(v.byKind[kind], kind)
	}
	for out.under != nil && out.under.size <= 2*out.size {
		out.flatten()
	}
	return out, nil
}

// regrouped lists what is in force of a kind: what was before, less what this
// layer supersedes, and the heads of this layer.
func (v *View) regrouped(before []*Entry, kind string) []*Entry {
	out := make([]*Entry, 0, len(before)+len(v.heads))
	for _, e := range before {
		if _, changed := v.heads[v.line(e.ID)]; !changed {
			out = append(out, e)
		}
	}
	for _, head := range v.heads {
		if head.Kind == kind && !head.Withdrawal() {
			at := sort.Search(len(out), func(i int) bool { return earlier(head, out[i]) })
			out = slices.Insert(out, at, head)
		}
	}
	return out
}

// flatten takes the layer below into this one, so that layers stay few.
func (v *View) flatten() {
	u := v.under
	over := *v
	v.heads, v.lines, v.history, v.bySeq = maps.Clone(u.heads), maps.Clone(u.lines), maps.Clone(u.history), maps.Clone(u.bySeq)
	maps.Copy(v.heads, over.heads)
	maps.Copy(v.lines, over.lines)
	maps.Copy(v.history, over.history)
	maps.Copy(v.bySeq, over.bySeq)
	v.under, v.size = u.under, u.size+v.size
}

func (v *View) add(e *Entry) error {
	if v.line(e.ID) != "" {
		return fmt.Errorf("entry %d: id %s stands twice", e.Seq, e.ID)
	}
	v.bySeq[e.Seq] = e
	first := e.ID
	if e.Supersedes != "" {
		line := v.line(e.Supersedes)
		if line == "" {
			return fmt.Errorf("entry %d supersedes %s, which is not in the book before it", e.Seq, e.Supersedes)
		}
		head := v.head(line)
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
	past := v.past(first)
	v.lines[e.ID] = first
	v.heads[first] = e
	v.history[first] = append(past[:len(past):len(past)], e)
	v.size++
	return nil
}

// Current returns the entries of a kind that are in force, by At then Seq.
// Erased entries are among them, with a nil Body.
func (v *View) Current(kind string) []*Entry { return v.byKind[kind] }

// Head returns the entry in force on the line that id belongs to (a
// withdrawal when the line was withdrawn), or nil when id is unknown.
func (v *View) Head(id ID) *Entry { return v.head(v.line(id)) }

// Line returns every entry on the line that id belongs to, oldest first.
func (v *View) Line(id ID) []*Entry { return v.past(v.line(id)) }

// BySeq returns the entry with that seq, or nil.
func (v *View) BySeq(seq int64) *Entry {
	for ; v != nil; v = v.under {
		if e := v.bySeq[seq]; e != nil {
			return e
		}
	}
	return nil
}

// line returns the first id of the line that id belongs to; "" when unknown.
func (v *View) line(id ID) ID {
	for ; v != nil; v = v.under {
		if first, there := v.lines[id]; there {
			return first
		}
	}
	return ""
}

func (v *View) head(first ID) *Entry {
	for ; v != nil; v = v.under {
		if e := v.heads[first]; e != nil {
			return e
		}
	}
	return nil
}

func (v *View) past(first ID) []*Entry {
	for ; v != nil; v = v.under {
		if list := v.history[first]; list != nil {
			return list
		}
	}
	return nil
}

// KnownAt returns the entries received at or before t. Entries are in seq
// order, and so in order of receipt.
func KnownAt(entries []*Entry, t time.Time) []*Entry {
	n := sort.Search(len(entries), func(i int) bool { return entries[i].Recorded.After(t) })
	return entries[:n]
}
