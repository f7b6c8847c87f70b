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
	l.out.Drafts = correctedFirst(l.out.Drafts)
}

// correctedFirst moves what an entry corrects before it, and leaves all else
// as it stands.
func correctedFirst(drafts []book.Draft) []book.Draft {
	at := make(map[book.ID]int, len(drafts))
	for i := range drafts {
		at[drafts[i].ID] = i
	}
	out := make([]book.Draft, 0, len(drafts))
	done := make([]bool, len(drafts))
	for i := range drafts {
		var chain []int
		for k, there := i, true; there && !done[k]; k, there = at[drafts[k].Supersedes], drafts[k].Supersedes != "" && inFolder(at, drafts[k].Supersedes) {
			done[k] = true // a ring of corrections ends here; sealing refuses it
			chain = append(chain, k)
		}
		for k := len(chain) - 1; k >= 0; k-- {
			out = append(out, drafts[chain[k]])
		}
	}
	return out
}

func inFolder(at map[book.ID]int, id book.ID) bool {
	_, there := at[id]
	return there
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
