package app

import (
	"context"

	"github.com/swardbook/swardbook/compliance/judge"
)

// Day is what Today shows.
type Day struct {
	Snapshot    *Snapshot
	Counts      judge.Counts      // of roll-ups by verdict; Due is their number
	NotComplied []judge.Judgement // without their windows
	Cannot      []Cause
	Last        []Line
}

// Cause groups what cannot be judged for the same reason.
type Cause struct {
	Cause, Remedy string
	Judgements    []judge.Judgement
}

// Today answers what stands, and what cannot be judged and why.
// Action levels and information stand apart: they are no breach.
func (s *Service) Today(ctx context.Context, who Actor) (*Day, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	d := &Day{Snapshot: snap}
	causes := map[string]int{}
	for i := range snap.Report.Judgements {
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
	}
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
