package app

import (
	"context"
	"slices"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Duties are what is to be done, as a snapshot has it.
type Duties struct {
	At    time.Time
	Post  string // that they fall to; "" = every post
	List  []duty.Duty
	Posts []string // that have any, in order of name
	Start *Start   // nil once works have begun, and when nothing is listed for it
}

// Start is what is needed before works begin.
type Start struct {
	Needed   []Needed
	Unlisted []string // records of the land as it was that are not listed
}

// Needed is one thing needed before the start.
type Needed struct {
	Entry              string
	Seq                int64
	Name, Sort, From   string
	By                 string // day it is needed
	Lead               int64  // days it takes
	Asked, Got         string // days; "" = not yet
	AgreedWith, Agreed string
	NotNeeded          string
	Baseline, Settled  bool // Settled: nothing more is wanted of it
}

// worked are the duties worked out for a snapshot.
type worked struct {
	mu   sync.Mutex
	done bool
	list []duty.Duty
	err  error
}

// duties lists every duty of a snapshot, worked out once.
func (s *Service) duties(h *Snapshot) ([]duty.Duty, error) {
	h.duty.mu.Lock()
	defer h.duty.mu.Unlock()
	if h.duty.done {
		return h.duty.list, h.duty.err
	}
	h.duty.done = true
	all, err := judge.Duties(h.Record, s.Quantities, h.At)
	if err != nil {
		h.duty.err = internal("listing duties", err)
		return nil, h.duty.err
	}
	for _, source := range s.DutySources {
		all = append(all, source(h.Record, h.At)...)
	}
	h.duty.list = duty.List(h.Record, all, h.At)
	return h.duty.list, nil
}

// Duties lists what is to be done, overdue first: what falls to a post, or with
// "" all of it.
func (s *Service) Duties(ctx context.Context, who Actor, post string) (*Duties, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	return s.dutiesOf(snap, post)
}

// FedDuties lists what falls to a role, for its calendar: whoever holds the
// link reads it.
func (s *Service) FedDuties(ctx context.Context, role Role) (*Duties, *Snapshot, error) {
	snap, err := s.Current(ctx)
	if err != nil {
		return nil, nil, err
	}
	d, err := s.dutiesOf(snap, string(role))
	return d, snap, err
}

func (s *Service) dutiesOf(snap *Snapshot, post string) (*Duties, error) {
	all, err := s.duties(snap)
	if err != nil {
		return nil, err
	}
	out := &Duties{At: snap.At, Post: post, Start: startOf(snap)}
	for i := range all {
		d := &all[i]
		if !slices.Contains(out.Posts, d.Post) {
			out.Posts = append(out.Posts, d.Post)
		}
		if post == "" || d.Falls(post) {
			out.List = append(out.List, *d)
		}
	}
	slices.Sort(out.Posts)
	return out, nil
}

// startOf lists what is needed before the start while works have not begun.
func startOf(snap *Snapshot) *Start {
	list := snap.Record.Entries(duty.NeededKind)
	if len(list) == 0 {
		return nil
	}
	for _, e := range snap.Record.Entries("diary.1") {
		if e.Body != nil && e.Body.Text("act") == act.Commencement && !e.At.After(snap.At) {
			return nil
		}
	}
	out := &Start{Unlisted: duty.Baselines()}
	for _, e := range list {
		b := e.Body
		if b == nil {
			continue
		}
		n := Needed{
			Entry: string(e.ID), Seq: e.Seq, Name: b.Text("name"), Sort: b.Text("sort"), From: b.Text("from"), By: b.Text("needed_by"), Lead: b.Integer("lead"),
			Asked: b.Text("asked"), Got: b.Text("got"), AgreedWith: b.Text("agreed_with"), Agreed: b.Text("agreed"), NotNeeded: b.Text("not_needed"),
			Baseline: duty.IsBaseline(b.Text("sort")),
		}
		n.Settled = n.NotNeeded != "" || n.Got != "" && (!n.Baseline || n.Agreed != "")
		out.Needed = append(out.Needed, n)
		out.Unlisted = slices.DeleteFunc(out.Unlisted, func(s string) bool { return s == n.Sort })
	}
	slices.SortStableFunc(out.Needed, func(a, b Needed) int {
		switch {
		case a.By < b.By:
			return -1
		case a.By > b.By:
			return 1
		}
		return 0
	})
	return out
}
