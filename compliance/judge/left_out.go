package judge

import (
	"fmt"
	"maps"
	"math"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// LeftOut is a condition at a place judged with and without what people took
// out of its readings.
type LeftOut struct {
	With    Judgement     // as it is judged: what was rejected does not count
	Without Judgement     // as it would be if nothing had been rejected
	Entries []*book.Entry // rejections of its channels in its time, in order
	Busy    BusyDays
}

// BusyDays tells whether what was left out lies on days with work.
type BusyDays struct {
	Days     int     // of the time judged
	Worked   int     // of them with work on record
	LeftOut  int     // of them with something left out
	Both     int     // with both
	Chance   float64 // of so many or more in common, if the one had nothing to do with the other
	Sentence string
}

// unlikely is the chance under which days in common are called out: common
// practice, one in twenty.
const unlikely = 0.05

// LeaveNothingOut judges a condition at a place as it is, and as if no reading
// had been rejected. A nil answer says that there is no such condition.
func LeaveNothingOut(rec *Record, list *quantity.List, opts Options, place string) (*LeftOut, error) {
	opts.Windows, opts.Working = false, false
	find := func(r *Record) (*Judgement, error) {
		report, err := All(r, list, opts)
		if err != nil {
			return nil, err
		}
		for i := range report.Judgements {
			if j := &report.Judgements[i]; j.Condition == opts.Condition && j.Place == place {
				return j, nil
			}
		}
		return nil, nil
	}
	with, err := find(rec)
	if err != nil || with == nil {
		return nil, err
	}
	without, err := find(rec.unrejected())
	if err != nil || without == nil {
		return nil, err
	}
	out := &LeftOut{With: *with, Without: *without}
	span := calendar.Span{From: with.Window.From, To: earlier(with.Window.To, opts.At)}
	for _, code := range with.Reads.Channels {
		out.Entries = append(out.Entries, rec.rejectionEntries(code, span)...)
	}
	out.Entries = bySeq(out.Entries)
	out.Busy, err = rec.busyDays(list, out.Entries, span)
	return out, err
}

// unrejected is the record as if nothing had been rejected.
func (r *Record) unrejected() *Record {
	r.mu.Lock()
	defer r.mu.Unlock()
	out := &Record{
		site: r.site, siteErr: r.siteErr, view: r.view, src: r.src, current: maps.Clone(r.current), erased: r.erased,
		channels: r.channels, imports: r.imports, named: r.named, rejects: map[string][]rejection{}, plans: r.plans, pending: r.pending,
		surfaces: r.surfaces, lists: maps.Clone(r.lists),
	}
	delete(out.current, "rejection.1")
	return out
}

// busyDays counts the local days of a span with work on record, with something
// left out, and with both.
func (r *Record) busyDays(list *quantity.List, rejected []*book.Entry, span calendar.Span) (BusyDays, error) {
	var b BusyDays
	q := list.Named(actQuantity)
	if len(rejected) == 0 || q == nil || q.Observe == nil {
		return b, nil
	}
	acts, err := q.Observe(r, quantity.Ask{From: span.From, To: span.To})
	if err != nil {
		return b, err
	}
	zone := r.site.Zone
	worked, out := map[calendar.Date]bool{}, map[calendar.Date]bool{}
	mark := func(days map[calendar.Date]bool, from, to time.Time) {
		from, to = later(from, span.From), earlier(later(to, from.Add(time.Millisecond)), span.To)
		for d := calendar.DateOf(from, zone); d.Start(zone).Before(to); d = d.AddDays(1) {
			days[d] = true
		}
	}
	for i := range acts {
		mark(worked, acts[i].From, acts[i].To)
	}
	for _, e := range rejected {
		from, to := e.Span()
		mark(out, from, to)
	}
	for d := calendar.DateOf(span.From, zone); d.Start(zone).Before(span.To); d = d.AddDays(1) {
		b.Days++
		if worked[d] {
			b.Worked++
		}
		if out[d] {
			b.LeftOut++
		}
		if worked[d] && out[d] {
			b.Both++
		}
	}
	b.Chance = inCommon(b.Days, b.Worked, b.LeftOut, b.Both)
	b.Sentence = fmt.Sprintf("Of %s with something left out, %d had work on record; of all %d days, %d had.", plural(b.LeftOut, "day", "days"), b.Both, b.Days, b.Worked)
	if b.Chance < unlikely {
		b.Sentence += fmt.Sprintf(" By chance alone so many in common would come about %.2g %% of the time: what was left out falls on days with work.", 100*b.Chance)
	} else {
		b.Sentence += " That is no more than chance explains."
	}
	return b, nil
}

// inCommon is the chance that two sets of days, of sizes a and b out of n, have
// k or more in common when one is drawn without regard to the other: the upper
// tail of the hypergeometric distribution, Fisher's exact test one-sided.
func inCommon(n, a, b, k int) float64 {
	choose := func(n, k int) float64 {
		x, _ := math.Lgamma(float64(n + 1))
		y, _ := math.Lgamma(float64(k + 1))
		z, _ := math.Lgamma(float64(n - k + 1))
		return x - y - z
	}
	sum := 0.0
	for i := max(k, a+b-n, 0); i <= min(a, b); i++ {
		sum += math.Exp(choose(a, i) + choose(n-a, b-i) - choose(n, b))
	}
	return math.Min(sum, 1)
}

// Differs tells whether it makes a difference that anything was left out.
func (l *LeftOut) Differs() bool {
	a, b := &l.With, &l.Without
	return a.Verdict != b.Verdict || a.Counts != b.Counts || !strings.EqualFold(a.Shown, b.Shown) || (a.Value == nil) != (b.Value == nil) || a.Value != nil && *a.Value != *b.Value
}
