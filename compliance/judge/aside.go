package judge

import (
	"fmt"
	"sort"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
)

// actQuantity is the quantity whose acts use up a declared allowance.
const actQuantity = "site.act"

// stepAside makes a condition not applicable in the windows where another
// stands in place of it, and one that stands in place of another wherever it
// may not: on days not declared, or once its quota is spent.
func (h *hearing) stepAside(inner []outcome) error {
	rivals, err := h.rivals()
	if err != nil {
		return err
	}
	own, err := h.allowanceOf(h.line)
	if err != nil {
		return err
	}
	for i := range inner {
		o := &inner[i]
		if own != nil {
			if ok, why := own.at(o.span); !ok {
				o.giveWay(why)
				continue
			}
		}
		for _, r := range rivals {
			if ok, _ := r.at(o.span); ok {
				o.giveWay("condition " + r.line.id + " stands in place of it")
			}
		}
	}
	return nil
}

func (o *outcome) giveWay(why string) {
	o.verdict, o.reason, o.margin = NotApplicable, why, nil
	o.cause, o.remedy = "", ""
}

// rivals lists the conditions that stand in place of this one at this place.
func (h *hearing) rivals() ([]*allowed, error) {
	var out []*allowed
	for _, l := range h.s.lines {
		if l.permit != h.line.permit || l == h.line || !l.replaces(h.line.id, h.place) {
			continue
		}
		h.rec.notes[noteCondition][l.id] = true
		a, err := h.allowanceOf(l)
		if err != nil {
			return nil, err
		}
		if a != nil {
			out = append(out, a)
		}
	}
	return out, nil
}

func (l *line) replaces(id, place string) bool {
	for i := range l.versions {
		if c := l.versions[i].cond; c.InPlace == id && stands(c, place) {
			return true
		}
	}
	return false
}

// allowed says when a condition that stands in place of another applies.
type allowed struct {
	line *line
	h    *hearing
	days map[*version]map[calendar.Date]bool // declared days within the quota, of versions with one
	all  map[*version]map[calendar.Date]bool // all declared days
	open map[*version][]calendar.Span        // hours, of versions with a schedule
}

// allowanceOf returns when the line applies; nil when it stands in place of
// none.
func (h *hearing) allowanceOf(l *line) (*allowed, error) {
	a := &allowed{line: l, h: h, days: map[*version]map[calendar.Date]bool{}, all: map[*version]map[calendar.Date]bool{}, open: map[*version][]calendar.Span{}}
	replacing := false
	for i := range l.versions {
		v := &l.versions[i]
		if v.cond.InPlace == "" && v.cond.Quota == nil {
			continue
		}
		replacing = true
		if err := a.read(v); err != nil {
			return nil, err
		}
	}
	if !replacing {
		return nil, nil
	}
	return a, nil
}

// read looks up the declared days and open hours of one version.
func (a *allowed) read(v *version) error {
	h := a.h
	if v.cond.Quota != nil {
		q := h.s.list.Named(actQuantity)
		if q == nil {
			return notBuilt("declared days without the quantity " + actQuantity)
		}
		acts, err := h.observeOf(q, map[string]string{"act": v.cond.Quota.Act}, "", calendar.DateOf(v.span.From, v.zone).Start(v.zone))
		if err != nil {
			return err
		}
		all := map[calendar.Date]bool{}
		for i := range acts {
			all[calendar.DateOf(acts[i].From, v.zone)] = true
		}
		within, err := withinQuota(all, v)
		if err != nil {
			return err
		}
		a.all[v], a.days[v] = all, within
	}
	if v.cond.Schedule != nil {
		open, _, err := h.opens(v, calendar.Span{From: v.span.From, To: earlier(v.span.To, h.at.Add(ahead))})
		if err != nil {
			return err
		}
		a.open[v] = open
	}
	return nil
}

// withinQuota keeps the declared days that the quota still held on the day:
// the first so many in each of its periods.
func withinQuota(all map[calendar.Date]bool, v *version) (map[calendar.Date]bool, error) {
	var list []calendar.Date
	for d := range all {
		list = append(list, d)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Before(list[j]) })
	out := map[calendar.Date]bool{}
	for _, d := range list {
		per := calendar.Span{From: v.span.From, To: v.span.To}
		if k := v.cond.Quota.Per.Kind; k != "" && k != calendar.WholeLife {
			var err error
			if per, err = v.cond.Quota.Per.At(d.Start(v.zone), v.zone); err != nil {
				return nil, err
			}
		}
		used := 0
		for _, e := range list {
			if !d.Before(e) && !e.Start(v.zone).Before(per.From) {
				used++
			}
		}
		out[d] = used <= v.cond.Quota.Days
	}
	return out, nil
}

// at tells whether the condition applies in a window, and if not why.
func (a *allowed) at(w calendar.Span) (bool, string) {
	for i := range a.line.versions {
		v := &a.line.versions[i]
		if v.cond.InPlace == "" && v.cond.Quota == nil || w.From.Before(v.span.From) || !w.From.Before(v.span.To) {
			continue
		}
		if q := v.cond.Quota; q != nil {
			d := calendar.DateOf(w.From, v.zone)
			switch {
			case !a.all[v][d]:
				return false, "not a declared day of " + q.Act
			case !a.days[v][d]:
				return false, fmt.Sprintf("the quota of %d declared days is spent", q.Days)
			}
		}
		if v.cond.InPlace == "" {
			return true, "" // its own windows keep to its hours already
		}
		return v.cond.Schedule == nil || insideOne(a.open[v], w, v.cond.Edge == permit.CutAtEdge), "outside its hours"
	}
	return false, "not in force"
}

func insideOne(open []calendar.Span, w calendar.Span, part bool) bool {
	for _, o := range open {
		if o.Contains(w) || part && !o.Overlap(w).Empty() {
			return true
		}
	}
	return false
}
