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
		next := nextDue(&snap.Report.Judgements[i], snap.At)
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
func nextDue(j *judge.Judgement, at time.Time) *Due {
	if len(j.Windows) > 60 {
		return nil
	}
	for i := range j.Windows {
		w := &j.Windows[i]
		if w.Verdict == judge.NotYetDue && w.Window.To.After(at) && w.Window.To.Before(at.Add(ahead)) {
			return &Due{By: w.Window.To}
		}
	}
	return nil
}
