package judge

import (
	"sort"
	"time"

	"github.com/swardbook/swardbook/geo/plan"
)

// Features returns every feature of the plan in force at t, by code; nil when
// no plan is in force or it cannot be read.
func (r *Record) Features(t time.Time) []*plan.Feature {
	if _, _, err := r.feature("", t); err != nil {
		return nil
	}
	var list []*plan.Feature
	for _, p := range r.plans {
		if p.entry.At.After(t) {
			continue
		}
		p.once.Do(func() { p.features, p.err = r.readPlan(p.entry) })
		list = list[:0]
		for _, f := range p.features {
			list = append(list, f)
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Code < list[j].Code })
	return list
}
