package permit

import (
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// Version is a condition as it stood from one legal date to the next.
type Version struct {
	Permit    string     // reference of the notice first granted: a variation's conditions belong to what it varies
	Notice    string     // reference of the notice or variation whose words these are
	In        *Notice    // that notice
	Condition *Condition //
	From      time.Time  // in force from; zero = no beginning is known
	To        time.Time  // in force until, not included; zero = no end
	Zone      *time.Location
	Holidays  string // id of the holiday list named; "" = none
}

// InForce returns every version of every condition: grouped by the notice
// first granted, in the order given, then by condition in the order of first
// mention, then in order of time. A variation replaces a condition of the same
// id, adds one of a new id and ends one it removes, at the local midnight that
// begins its effective date; a condition's action level ends with it. Of two
// variations of one date the later in the list prevails. A variation whose
// notice is not among those given stands by itself.
//
// Dates are read in the notice's own zone, or in loc where it names none.
func InForce(notices []*Notice, loc *time.Location) []Version {
	var out []Version
	roots := rootOf(notices)
	for i, n := range notices {
		if roots[i] == i {
			out = append(out, timeline(n, variations(notices, roots, i), loc)...)
		}
	}
	return out
}

// rootOf returns for each notice the index of the notice first granted that
// it varies in the end; its own when it varies none, or none on file.
func rootOf(notices []*Notice) []int {
	byReference := map[string]int{}
	for i := len(notices) - 1; i >= 0; i-- {
		byReference[notices[i].Reference] = i
	}
	roots := make([]int, len(notices))
	for i := range notices {
		roots[i] = i
		at := i
		for range notices { // no chain is longer, so a ring ends here
			up, found := byReference[notices[at].Varies]
			if notices[at].Varies == "" || !found {
				roots[i] = at
				break
			}
			at = up
		}
	}
	return roots
}

// variations returns the variations of the notice at root, by legal date and
// then in the order given.
func variations(notices []*Notice, roots []int, root int) []*Notice {
	var out []*Notice
	for i, n := range notices {
		if i == root || roots[i] != root {
			continue
		}
		k := len(out)
		for k > 0 && n.legalDate().Before(out[k-1].legalDate()) {
			k--
		}
		out = append(out[:k], append([]*Notice{n}, out[k:]...)...)
	}
	return out
}

// legalDate is when a notice begins to bind: a variation's effective date, or
// the date of grant.
func (n *Notice) legalDate() calendar.Date {
	if !n.Effective.IsZero() {
		return n.Effective
	}
	return n.Granted
}

// zone returns the notice's own zone, or the site's.
func (n *Notice) zone(site *time.Location) *time.Location {
	if n.Zone == "" {
		return site
	}
	loc, err := calendar.LoadZone(n.Zone)
	if err != nil {
		return site // Read refuses such a name
	}
	return loc
}

// history is the versions of one condition so far.
type history struct{ versions []Version }

func timeline(root *Notice, changes []*Notice, loc *time.Location) []Version {
	byID := map[string]*history{}
	var order []*history
	for _, n := range append([]*Notice{root}, changes...) {
		zone := n.zone(loc)
		var begins time.Time
		if d := n.legalDate(); !d.IsZero() {
			begins = d.Start(zone).UTC()
		}
		for _, id := range n.Removes {
			end(byID, id, begins)
		}
		if n != root {
			for _, c := range n.Conditions {
				end(byID, c.ID, begins)
			}
		}
		for _, c := range n.Conditions {
			h := byID[c.ID]
			if h == nil {
				h = &history{}
				byID[c.ID] = h
				order = append(order, h)
			}
			v := Version{Permit: root.Reference, Notice: n.Reference, In: n, Condition: c, From: begins, To: c.To, Zone: zone, Holidays: n.Holidays}
			if c.From.After(begins) {
				v.From = c.From
			}
			h.versions = append(h.versions, v)
		}
	}
	var out []Version
	for _, h := range order {
		for _, v := range h.versions {
			if v.To.IsZero() || v.From.Before(v.To) {
				out = append(out, v)
			}
		}
	}
	return out
}

// end ends the versions of a condition, and of its action level, that reach
// beyond t.
func end(byID map[string]*history, id string, t time.Time) {
	for _, one := range [...]string{id, id + actionSuffix} {
		h := byID[one]
		if h == nil {
			continue
		}
		for i := range h.versions {
			if v := &h.versions[i]; v.To.IsZero() || v.To.After(t) {
				v.To = t
			}
		}
	}
}

// actionSuffix ends the id of the sibling that an action level becomes.
const actionSuffix = "/action"

// Accounted counts the clauses of a notice, and those of them that are judged,
// attested or information: all but the ones not yet entered.
func Accounted(n *Notice) (total, accounted int) {
	for _, c := range n.Clauses {
		switch c.Treated {
		case Judged, Attested, Information:
			accounted++
		}
	}
	return len(n.Clauses), accounted
}
