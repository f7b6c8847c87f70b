package judge

import (
	"maps"
	"slices"
	"sort"

	"github.com/swardbook/swardbook/compliance/book"
)

// redactionKind is the kind of entry that takes bodies out of others.
const redactionKind = "redaction.1"

// With returns the record of the book grown by entries in seq order, read from
// src; r stays as it is. The work is that of what is added and of the kinds it
// is of. What was read from files is kept as long as nothing changes it. It
// fails where the entries do not follow on, and where one of them is a
// redaction: that changes what was there before, and needs a record made anew.
// Readings that are pending stay so.
func (r *Record) With(more []*book.Entry, src Sources) (*Record, error) {
	return r.with(more, src, r.pending)
}

// WithPending returns the record with other readings pending; nil = none.
func (r *Record) WithPending(p *Pending) (*Record, error) { return r.with(nil, r.src, p) }

func (r *Record) with(more []*book.Entry, src Sources, pending *Pending) (*Record, error) {
	kinds := kindsOf(more)
	if slices.Contains(kinds, redactionKind) {
		return nil, errRedacted
	}
	view, err := r.view.With(more)
	if err != nil {
		return nil, err
	}
	out := &Record{
		site: r.site, siteErr: r.siteErr, view: view, src: src,
		current: maps.Clone(r.current), erased: maps.Clone(r.erased),
		channels: r.channels, imports: r.imports, named: r.named, rejects: r.rejects, plans: r.plans,
	}
	for _, kind := range kinds {
		out.current[kind], out.erased[kind] = nil, nil
		out.sort(kind)
	}
	if out.site.ID == "" && len(more) > 0 {
		out.site.ID = more[0].Site
	}
	newSite := slices.Contains(kinds, "site.1")
	if newSite {
		out.site.Name, out.siteErr = "", nil
		out.openSite()
	}
	out.importsWith(r, more)
	out.pends(pending, r)
	if slices.Contains(kinds, "rejection.1") {
		out.rejects = map[string][]rejection{}
		out.openRejections()
	}
	if slices.Contains(kinds, "plan.1") || newSite {
		out.plans = nil
		out.openPlans()
		if !newSite {
			out.readAlready(r.plans)
		}
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	out.surfaces, out.lists = maps.Clone(r.surfaces), maps.Clone(r.lists)
	if slices.Contains(kinds, "survey.1") {
		out.surfaces = map[string]*surfaceFile{}
	}
	if slices.Contains(kinds, "calendar.1") {
		clear(out.lists)
	}
	return out, nil
}

var errRedacted = &fault{cause: "something was erased", remedy: "open the record anew"}

// readAlready keeps the plans that were read, where their entry still stands.
func (r *Record) readAlready(plans []*planRevision) {
	for i, p := range r.plans {
		for _, old := range plans {
			if old.entry == p.entry {
				r.plans[i] = old
			}
		}
	}
}

// importsWith brings the channels and their imports up to date with what was
// added to the record before.
func (r *Record) importsWith(before *Record, more []*book.Entry) {
	codes := map[string]bool{}
	gone := map[*book.Entry]bool{}
	var added []*book.Entry
	for _, e := range more {
		if e.Kind != "import.1" {
			continue
		}
		line := r.view.Line(e.ID)
		for _, past := range line[:slices.Index(line, e)] {
			gone[past] = true
			channelsOf(past, codes)
		}
		if head := line[len(line)-1]; head == e && !e.Withdrawal() && e.Body != nil {
			added = append(added, e)
			channelsOf(e, codes)
		}
	}
	if len(codes) == 0 {
		return
	}
	r.imports, r.named = maps.Clone(before.imports), maps.Clone(before.named)
	for code := range codes {
		list := make([]*book.Entry, 0, len(before.imports[code])+len(added))
		for _, e := range before.imports[code] {
			if !gone[e] {
				list = append(list, e)
			}
		}
		r.imports[code] = list
	}
	for _, e := range added {
		for _, c := range e.Body.Objects("channels") {
			code := c.Text("channel")
			r.imports[code] = append(r.imports[code], e)
		}
	}
	r.channels = nil
	for _, c := range before.channels {
		if !codes[c.Code] {
			r.channels = append(r.channels, c)
		}
	}
	for code := range codes {
		if list := r.imports[code]; len(list) == 0 {
			delete(r.imports, code)
			delete(r.named, code)
		} else {
			r.named[code] = namesInstrument(list, code)
			r.channels = append(r.channels, channelIn(list[len(list)-1], code))
		}
	}
	sort.Slice(r.channels, func(i, j int) bool { return r.channels[i].Code < r.channels[j].Code })
}

// channelsOf notes the channels that an import brings readings of.
func channelsOf(e *book.Entry, codes map[string]bool) {
	for _, c := range e.Body.Objects("channels") {
		codes[c.Text("channel")] = true
	}
}
