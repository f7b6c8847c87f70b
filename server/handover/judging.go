package handover

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// judged is the record of a pack opened for judging.
type judged struct {
	record   *judge.Record
	list     *quantity.List
	opts     judge.Options
	report   *judge.Report // roll-ups without windows; whole once each has run
	notices  []*permit.Notice
	versions []permit.Version
}

// open opens the record for judging.
func (p *packed) open(src judge.Sources, list *quantity.List, opts judge.Options) (*judged, error) {
	record, err := judge.NewRecord(p.entries, src)
	if err != nil {
		return nil, fmt.Errorf("judging: %w", err)
	}
	j := &judged{record: record, list: list, opts: opts}
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, e := range record.Entries(kind) {
			n, err := permit.FromObject(e.Body)
			if err != nil {
				continue // a judgement says that it cannot be read
			}
			j.notices = append(j.notices, n)
		}
	}
	j.versions = permit.InForce(j.notices, record.Site().Zone)
	return j, nil
}

// judgementKey names a roll-up.
type judgementKey struct{ permit, condition, place string }

func keyOf(j *judge.Judgement) judgementKey {
	return judgementKey{j.Permit, j.Condition, j.Place}
}

// clauses returns what is judged at a time: the conditions of one clause of
// one notice, in the order of the whole report.
func (j *judged) clauses() []judge.Options {
	var out []judge.Options
	seen := map[[2]string]bool{}
	for i := range j.versions {
		v := &j.versions[i]
		opts := j.opts
		opts.Permit, opts.Clause, opts.Windows = v.Permit, v.Condition.Clause, true
		if opts.Clause == "" {
			opts.Condition = v.Condition.ID
		}
		key := [2]string{opts.Permit, opts.Clause + "\x00" + opts.Condition}
		if !seen[key] {
			seen[key] = true
			out = append(out, opts)
		}
	}
	if len(out) == 0 {
		out = append(out, j.opts) // there may be notices that cannot be read
	}
	return out
}

// ahead is how many clauses are judged before the one in hand is done with.
const ahead = 2

// each calls do for every roll-up with its windows: notice by notice, clause by
// clause, so that memory holds the windows of a few clauses and not of the
// whole site.
func (j *judged) each(do func(*judge.Judgement) error) error {
	type result struct {
		report *judge.Report
		err    error
	}
	clauses := j.clauses()
	running := make([]chan result, len(clauses))
	begun := 0
	begin := func(upto int) {
		for ; begun < min(upto, len(clauses)); begun++ {
			done, opts := make(chan result, 1), clauses[begun]
			running[begun] = done
			go func() {
				r, err := judge.All(j.record, j.list, opts)
				done <- result{r, err}
			}()
		}
	}
	defer func() {
		for _, c := range running[:begun] { // leave nothing running
			if c != nil {
				<-c
			}
		}
	}()
	for i := range clauses {
		begin(i + 1 + ahead)
		got := <-running[i]
		running[i] = nil
		if got.err != nil {
			return fmt.Errorf("judging: %w", got.err)
		}
		if err := j.take(got.report, i == 0, do); err != nil {
			return err
		}
	}
	return nil
}

// take hands over the judgements of one clause and keeps their roll-ups. What
// is said of notices that cannot be read comes with every clause and is taken
// with the first.
func (j *judged) take(r *judge.Report, first bool, do func(*judge.Judgement) error) error {
	if first {
		whole := *r
		whole.Judgements = nil
		j.report = &whole
	}
	for i := range r.Judgements {
		one := &r.Judgements[i]
		if one.Condition == "" && !first {
			continue
		}
		if err := do(one); err != nil {
			return err
		}
		rollup := *one
		rollup.Windows = nil
		j.report.Judgements = append(j.report.Judgements, rollup)
	}
	return nil
}
