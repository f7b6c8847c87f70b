package handover

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// judged is the record of a pack opened for judging, and its roll-ups.
type judged struct {
	record   *judge.Record
	list     *quantity.List
	report   *judge.Report // without windows
	notices  []*permit.Notice
	versions []permit.Version
}

// judge opens the record and judges it, roll-ups only.
func (p *packed) judge(src judge.Sources, list *quantity.List, opts judge.Options) (*judged, error) {
	record, err := judge.NewRecord(p.entries, src)
	if err != nil {
		return nil, fmt.Errorf("judging: %w", err)
	}
	report, err := judge.All(record, list, opts)
	if err != nil {
		return nil, fmt.Errorf("judging: %w", err)
	}
	j := &judged{record: record, list: list, report: report}
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

// each calls do for every roll-up with its windows, in the order of the report.
// Windows are judged clause by clause, so that memory holds those of one clause
// and not of the whole site.
func (j *judged) each(do func(*judge.Judgement) error) error {
	list := j.report.Judgements
	for i := 0; i < len(list); {
		n := i + 1
		for n < len(list) && list[n].Permit == list[i].Permit && list[n].Clause == list[i].Clause && list[i].Clause != "" {
			n++
		}
		if err := j.clause(list[i:n], do); err != nil {
			return err
		}
		i = n
	}
	return nil
}

// clause judges the roll-ups of one clause again with their windows.
func (j *judged) clause(rollups []judge.Judgement, do func(*judge.Judgement) error) error {
	first := &rollups[0]
	if first.Condition == "" {
		return do(first) // a notice that cannot be read has no windows
	}
	opts := judge.Options{At: j.report.At, Permit: first.Permit, Clause: first.Clause, Windows: true}
	if first.Clause == "" {
		opts.Condition = first.Condition
	}
	again, err := judge.All(j.record, j.list, opts)
	if err != nil {
		return fmt.Errorf("judging clause %s of %s: %w", first.Clause, first.Permit, err)
	}
	byKey := map[judgementKey]*judge.Judgement{}
	for i := range again.Judgements {
		byKey[keyOf(&again.Judgements[i])] = &again.Judgements[i]
	}
	for i := range rollups {
		one := byKey[keyOf(&rollups[i])]
		if one == nil {
			return fmt.Errorf("condition %s of %s is judged as part of the whole and not by itself", rollups[i].Condition, rollups[i].Permit)
		}
		if err := do(one); err != nil {
			return err
		}
	}
	return nil
}
