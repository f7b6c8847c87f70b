package app

import (
	"context"
	"fmt"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
)

// Pack is a handover pack made from this book.
type Pack struct {
	Entry       book.ID // the entry that says it was made
	Seq         int64   // last entry it holds
	At          time.Time
	Name        string
	Bytes       int64
	SHA256      string
	Fingerprint string
	MadeBy      string
	MadeAt      time.Time
}

// Preview says what a pack made now would hold and what is missing.
type Preview struct {
	At      time.Time
	Seq     int64
	Holds   []Holding
	Missing []Gap
}

// Holding is one thing a pack holds.
type Holding struct {
	What  string
	Count int
	Bytes int64
}

// Gap is one thing missing, why it matters, and what to do.
type Gap struct{ What, Why, Remedy string }

// Preview answers what a pack made now would hold.
func (s *Service) Preview(ctx context.Context, who Actor) (*Preview, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	p := &Preview{At: snap.At, Seq: snap.Info.Seq}
	files := map[book.Hash]bool{}
	byKind := map[string]int{}
	for _, e := range snap.Entries {
		byKind[e.Kind]++
		for _, f := range e.Files {
			files[f] = true
		}
	}
	p.Holds = append(p.Holds, Holding{What: "judgements", Count: len(snap.Report.Judgements)}, Holding{What: "original files", Count: len(files)})
	var kinds []string
	for k := range byKind {
		kinds = append(kinds, k)
	}
	sort.Strings(kinds)
	for _, k := range kinds {
		title := k
		if kind := s.Kinds.Named(k); kind != nil {
			title = kind.Title
		}
		p.Holds = append(p.Holds, Holding{What: "entries: " + title, Count: byKind[k]})
	}
	notices, err := snap.notices()
	if err != nil {
		return nil, internal("reading the notices", err)
	}
	p.Missing = append(clauseGaps(notices), judgementGaps(snap.Report)...)
	return p, nil
}

func clauseGaps(notices []*permit.Notice) []Gap {
	var out []Gap
	for _, n := range notices {
		for _, c := range n.Clauses {
			if c.Treated == permit.NotEntered {
				out = append(out, Gap{What: fmt.Sprintf("clause %s of %s", c.Number, n.Reference), Why: "it is not yet entered", Remedy: "enter its condition, or say who attests it"})
			}
		}
	}
	return out
}

// aside tells judgements that are no breach whatever they find.
func aside(j *judge.Judgement) bool {
	return j.Severity == "action level" || j.Severity == "information"
}

func judgementGaps(r *judge.Report) []Gap {
	var out []Gap
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Verdict != judge.CannotBeJudged || aside(j) {
			continue
		}
		what := fmt.Sprintf("clause %s, %s", j.Clause, j.Title)
		if j.Place != "" {
			what += " at " + j.Place
		}
		out = append(out, Gap{What: what, Why: j.Sentence, Remedy: j.Remedy})
	}
	return out
}
