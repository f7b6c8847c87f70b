package app

import (
	"context"
	"slices"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/site"
)

// ahead is how far holds are shown before they begin.
const ahead = 7 * 24 * time.Hour

// Hold is a stop on an act that stands, or begins within the days ahead.
type Hold struct {
	Entry  *book.Entry
	ByName string
	Begun  bool
}

// Holds answers the stops that stand or begin soon, for every role: whoever is
// on the site has to know them.
func (s *Service) Holds(ctx context.Context, who Actor) ([]Hold, error) {
	snap, err := s.own(ctx, who)
	if err != nil {
		return nil, err
	}
	return snap.holds(s.now()), nil
}

func (h *Snapshot) holds(now time.Time) []Hold {
	var out []Hold
	for _, e := range h.View.Current(site.HoldKind) {
		over := !e.Until.IsZero() && !e.Until.After(now)
		if e.Body == nil || e.Body.Flag("released") || over || e.At.After(now.Add(ahead)) {
			continue
		}
		out = append(out, Hold{Entry: e, ByName: h.NameOf(e.By), Begun: !e.At.After(now)})
	}
	sort.SliceStable(out, func(i, k int) bool { return out[i].Entry.At.Before(out[k].Entry.At) })
	return out
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
