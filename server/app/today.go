package app

import (
	"context"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/judge"
)

// Day is what Today shows.
type Day struct {
	Snapshot    *Snapshot
	Counts      judge.Counts      // of roll-ups by verdict; Due is their number
	NotComplied []judge.Judgement // without their windows
	Cannot      []Cause
	Due         []Due
	Last        []Line
}

// Cause groups what cannot be judged for the same reason.
type Cause struct {
	Cause, Remedy string
	Judgements    []judge.Judgement
}

// Due is something that falls due soon, or is overdue.
type Due struct {
	Judgement judge.Judgement
	By        time.Time
	Overdue   bool
}

// ahead is how far Today looks.
const ahead = 7 * 24 * time.Hour

// Today answers what stands, what cannot be judged and why, what is due.
// Action levels and information stand apart: they are no breach.
func (s *Service) Today(ctx context.Context, who Actor) (*Day, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	d := &Day{Snapshot: snap}
	causes := map[string]int{}
	for i := range snap.Report.Judgements {
		next, err := s.nextDue(snap, &snap.Report.Judgements[i])
		if err != nil {
			return nil, err
		}
		j := brief(&snap.Report.Judgements[i])
		if aside(&j) {
			continue
		}
		count(&d.Counts, j.Verdict)
		switch j.Verdict {
		case judge.NotComplied:
			d.NotComplied = append(d.NotComplied, j)
		case judge.CannotBeJudged:
			at, known := causes[j.Cause]
			if !known {
				at = len(d.Cannot)
				causes[j.Cause] = at
				d.Cannot = append(d.Cannot, Cause{Cause: j.Cause, Remedy: j.Remedy})
			}
			d.Cannot[at].Judgements = append(d.Cannot[at].Judgements, j)
		}
		if next != nil {
			next.Judgement = j
			d.Due = append(d.Due, *next)
		}
	}
	sort.SliceStable(d.Due, func(i, k int) bool { return d.Due[i].By.Before(d.Due[k].By) })
	d.Last, _ = s.list(snap, who, Filter{Limit: 8})
	return d, nil
}

func count(c *judge.Counts, v judge.Verdict) {
	c.Due++
	switch v {
	case judge.Complied:
		c.Complied++
	case judge.NotComplied:
		c.NotComplied++
	case judge.CannotBeJudged:
		c.CannotBeJudged++
	case judge.NotApplicable:
		c.NotApplicable++
	case judge.NotYetDue:
		c.NotYetDue++
	}
}

// nextDue finds a deadline within the days ahead among a condition's windows
// still to come: one-off things to do, not the running windows of a measurement.
func (s *Service) nextDue(snap *Snapshot, j *judge.Judgement) (*Due, error) {
	c, end := &j.Counts, snap.At.Add(ahead)
	if c.NotYetDue == 0 || c.Due+c.NotYetDue+c.NotApplicable > 60 || j.Recheck == nil || !j.Recheck.Before(end) {
		return nil, nil
	}
	report, err := s.windowed(snap, j.Permit, j.Condition)
	if err != nil {
		return nil, err
	}
	for i := range report.Judgements {
		one := &report.Judgements[i]
		if one.Condition != j.Condition || one.Place != j.Place {
			continue
		}
		for k := range one.Windows {
			w := &one.Windows[k]
			if w.Verdict == judge.NotYetDue && w.Window.To.After(snap.At) && w.Window.To.Before(end) {
				return &Due{By: w.Window.To}, nil
			}
		}
	}
	return nil, nil
}
