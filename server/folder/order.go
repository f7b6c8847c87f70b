package folder

import (
	"fmt"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// order puts the drafts in the order of their kinds: the site, its people and
// notices before what happened on it. Within a kind they stay as they were
// read, by file and row.
func (l *loader) order() {
	rank := map[string]int{}
	for i, k := range l.kinds.All() {
		rank[k.Name] = i
	}
	rank["calendar.1"] = rank["role.1"] // lists and plans come before the notices that name them
	slices.SortStableFunc(l.out.Drafts, func(a, b book.Draft) int { return rank[a.Kind] - rank[b.Kind] })
}

// settleReceipts gives every draft its time of receipt, when the tables tell
// it. What stands in no table was received when it began to hold, or with the
// site.
func (l *loader) settleReceipts() {
	if len(l.receipt.at) == 0 {
		return
	}
	for _, file := range l.receipt.without {
		with := "another file"
		if len(l.receipt.with) > 0 {
			with = l.receipt.with[0]
		}
		l.say(file, 1, "recorded", fmt.Sprintf("no row says when it was received, while %s does", with), "add a recorded column, or take it out of the other files")
	}
	l.out.Recorded = map[book.ID]time.Time{}
	for i := range l.out.Drafts {
		d := &l.out.Drafts[i]
		at, told := l.receipt.at[d.ID]
		if !told {
			at = l.site.Created
			if d.At.After(at) && (d.Kind == "plan.1" || d.Kind == "permit.1" || d.Kind == "variation.1") {
				at = d.At
			}
		}
		l.out.Recorded[d.ID] = at
	}
	for i := range l.out.Drafts {
		d := &l.out.Drafts[i]
		if d.Supersedes == "" {
			continue
		}
		if of, there := l.out.Recorded[d.Supersedes]; there && l.out.Recorded[d.ID].Before(of) {
			l.say(d.Source, 0, "recorded", fmt.Sprintf("the correction was received %s, before what it corrects, %s",
				book.FormatInstant(l.out.Recorded[d.ID]), book.FormatInstant(of)), "check both times")
		}
	}
}
