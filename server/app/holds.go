package app

import (
	"context"
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/site"
)

// ahead is how far holds are shown before they begin.
const ahead = 7 * 24 * time.Hour

// Hold is a stop on an act that stands, begins within the days ahead, or was
// not kept.
type Hold struct {
	Entry  *book.Entry
	ByName string
	Begun  bool
	Over   bool
	Kept   *judge.Held // nil before it begins
}

// Holds answers the stops that stand or begin soon, and after them those that
// are over and were worked in, for every role: whoever is on the site has to
// know them.
func (s *Service) Holds(ctx context.Context, who Actor) ([]Hold, error) {
	snap, err := s.own(ctx, who)
	if err != nil {
		return nil, err
	}
	return s.holds(snap, s.now())
}

func (s *Service) holds(h *Snapshot, now time.Time) ([]Hold, error) {
	held, err := judge.HeldWork(h.Record, s.Quantities, now)
	if err != nil {
		return nil, internal("looking for work inside holds", err)
	}
	kept := map[book.ID]*judge.Held{}
	for i := range held {
		kept[held[i].Entry.ID] = &held[i]
	}
	var out []Hold
	for _, e := range h.View.Current(site.HoldKind) {
		if e.Body == nil || e.At.After(now.Add(ahead)) {
			continue
		}
		one := Hold{Entry: e, ByName: h.NameOf(e.By), Begun: !e.At.After(now), Kept: kept[e.ID]}
		one.Over = e.Body.Flag("released") || !e.Until.IsZero() && !e.Until.After(now)
		if one.Over && (one.Kept == nil || one.Kept.Verdict != judge.NotComplied) {
			continue
		}
		out = append(out, one)
	}
	sort.SliceStable(out, func(i, k int) bool {
		if out[i].Over != out[k].Over {
			return out[k].Over
		}
		return out[i].Entry.At.Before(out[k].Entry.At)
	})
	return out, nil
}

// mayLift refuses to lift or withdraw a hold to whoever is not in the role that
// it names, where it names one of the roles there are.
func (s *Service) mayLift(ctx context.Context, who Actor, d *book.Draft) error {
	if d.Kind != site.HoldKind || d.Supersedes == "" {
		return nil
	}
	snap, err := s.Current(ctx)
	if err != nil {
		return err
	}
	for _, e := range snap.View.Line(d.Supersedes) {
		if e.ID != d.Supersedes || e.Body == nil {
			continue
		}
		role := Role(e.Body.Text("released_by"))
		if !role.Known() || role == who.Role || !lifts(e, d) {
			return nil
		}
		return fault(Forbidden, "this hold may be lifted or eased only by the role %q; ask whoever has it", role)
	}
	return nil
}

// lifts tells whether a correction takes anything off a hold.
func lifts(e *book.Entry, d *book.Draft) bool {
	b := d.Body
	switch {
	case b == nil, b.Flag("released"), b.Text("act") != e.Body.Text("act"), b.Text("released_by") != e.Body.Text("released_by"):
		return true
	case d.At.After(e.At), !d.Until.IsZero() && (e.Until.IsZero() || d.Until.Before(e.Until)):
		return true
	case len(e.Places) == 0:
		return len(d.Places) > 0
	}
	return !covers(d.Places, e.Places)
}

// covers tells whether places, none meaning all, hold every one of others.
func covers(places, others []string) bool {
	if len(places) == 0 {
		return true
	}
	for _, p := range others {
		if !slices.Contains(places, p) {
			return false
		}
	}
	return true
}
