package app

import (
	"context"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
)

// Changed is a window whose verdict would be, or is, another.
type Changed struct {
	Condition, Place string
	Window           judge.Window
	Before, After    string // verdicts; "" = there was, or is, no such window
	Sentence         string // of the verdict after
}

// Tried is a condition judged on the site's record without being saved.
type Tried struct {
	*Edited
	At         time.Time
	Judgements []judge.Judgement // roll-ups, each with its last windows
	Changed    []Changed         // the first mostChanged
	Changes    int
}

// Most windows of a roll-up and most changes that a try-out lists.
const (
	mostTried   = 24
	mostChanged = 200
)

// Amendment is what an edit of a condition is.
type Amendment struct {
	Edit
	Kind AmendmentKind
	// Of a variation: what the authority's notice says of itself.
	Reference, IssuedBy string
	Granted, Effective  calendar.Date
	ClauseText          string      // the clause as it reads now; "" = as before
	Files               []book.Hash // the notice as issued
	Reason              string      // of a correction
	Settles             book.ID     // the application that it grants; "" = none
}

// AmendmentKind says which change an amendment is.
type AmendmentKind string

// The kinds of change there are.
const (
	Added         AmendmentKind = "condition added" // to a clause of a notice on file
	PermitChanged AmendmentKind = "the permit changed"
	WeHadItWrong  AmendmentKind = "we had it wrong"
)

// Try judges a condition as written on the site's record, beside what is in
// force, and lists what would change. Nothing is saved.
func (s *Service) Try(ctx context.Context, who Actor, c Amendment) (*Tried, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	edited, err := s.edited(snap, c.Edit)
	if err != nil {
		return nil, err
	}
	if len(edited.Faults) > 0 {
		return &Tried{Edited: edited, At: snap.At}, nil
	}
	if c.Kind == PermitChanged && c.Reference == "" {
		c.Reference = "as tried"
	}
	d, err := s.noticeDraft(edited, c, snap.Record.Site().Zone)
	if err != nil {
		return nil, err
	}
	return s.tried(ctx, snap, edited, c, d)
}

// tried judges the record with a draft in it.
func (s *Service) tried(ctx context.Context, snap *Snapshot, edited *Edited, c Amendment, d book.Draft) (*Tried, error) {
	last := snap.Entries[len(snap.Entries)-1]
	if d.ID == "" {
		d.ID = book.RowID("as tried", d.Kind, "", "")
	}
	e := &book.Entry{Envelope: d.Envelope(last.Site, last.Seq+1, later(snap.At, last.Recorded)), Body: d.Body}
	e.BodyHash = book.HashBody(nil, d.Body)
	record, err := snap.Record.With([]*book.Entry{e}, sources{ctx, s.Book})
	if err != nil {
		return nil, internal("trying the condition", err)
	}
	out := &Tried{Edited: edited, At: snap.At}
	report, err := judge.All(record, s.Quantities, judge.Options{At: snap.At, Permit: c.Permit, Windows: true, Clause: edited.Condition.Clause})
	if err != nil {
		return nil, internal("judging", err)
	}
	before, err := judge.All(snap.Record, s.Quantities, judge.Options{At: snap.At, Permit: c.Permit, Windows: true, Clause: edited.Condition.Clause})
	if err != nil {
		return nil, internal("judging", err)
	}
	id := savedID(edited, c)
	for i := range report.Judgements {
		j := report.Judgements[i]
		if !ofCondition(&j, id) {
			continue
		}
		out.compare(windowsOf(before, &j), &j)
		j.Windows = j.Windows[max(0, len(j.Windows)-mostTried):]
		out.Judgements = append(out.Judgements, j)
	}
	for i := range before.Judgements {
		j := &before.Judgements[i]
		if ofCondition(j, id) && windowsOf(report, j) == nil && len(j.Windows) > 0 {
			gone := *j
			gone.Windows = nil
			out.compare(j.Windows, &gone)
		}
	}
	return out, nil
}

// savedID is the id that the condition has in its notice.
func savedID(edited *Edited, c Amendment) string {
	switch {
	case c.Replaces != "":
		return c.Replaces
	case edited.Condition.ID != "":
		return edited.Condition.ID
	}
	for _, one := range edited.notice.Conditions {
		if edited.in.notice.Condition(one.ID) == nil && !strings.HasSuffix(one.ID, "/action") {
			return one.ID
		}
	}
	return ""
}

func ofCondition(j *judge.Judgement, id string) bool {
	return j.Condition == id || strings.HasPrefix(j.Condition, id+"/")
}

// windowsOf returns the windows of the same condition and place in a report.
func windowsOf(r *judge.Report, j *judge.Judgement) []judge.Judgement {
	for i := range r.Judgements {
		if one := &r.Judgements[i]; one.Condition == j.Condition && one.Place == j.Place {
			return one.Windows
		}
	}
	return nil
}

// compare lists the windows whose verdict differs, both lists being in order
// of time.
func (t *Tried) compare(before []judge.Judgement, after *judge.Judgement) {
	now := after.Windows
	for i, k := 0, 0; i < len(before) || k < len(now); {
		c := Changed{Condition: after.Condition, Place: after.Place}
		switch {
		case k == len(now) || i < len(before) && earlierWindow(&before[i], &now[k]):
			c.Window, c.Before = before[i].Window, before[i].Verdict.String()
			i++
		case i == len(before) || earlierWindow(&now[k], &before[i]):
			c.Window, c.After, c.Sentence = now[k].Window, now[k].Verdict.String(), now[k].Sentence
			k++
		default:
			c.Window, c.Before, c.After, c.Sentence = now[k].Window, before[i].Verdict.String(), now[k].Verdict.String(), now[k].Sentence
			i, k = i+1, k+1
		}
		if c.Before == c.After {
			continue
		}
		if t.Changes++; len(t.Changed) < mostChanged {
			t.Changed = append(t.Changed, c)
		}
	}
}

func earlierWindow(a, b *judge.Judgement) bool {
	if !a.Window.From.Equal(b.Window.From) {
		return a.Window.From.Before(b.Window.From)
	}
	return a.Window.To.Before(b.Window.To)
}

// noticeDraft is the entry that a change makes: a variation, or the notice's
// entry corrected.
func (s *Service) noticeDraft(edited *Edited, c Amendment, zone *time.Location) (book.Draft, error) {
	e := edited.in.entry
	switch c.Kind {
	case Added, WeHadItWrong:
		d := book.Draft{Kind: e.Kind, At: e.At, Until: e.Until, Precision: e.Precision, Offset: e.Offset, Supersedes: e.ID,
			Reason: c.Reason, Files: append(append([]book.Hash{}, e.Files...), c.Files...), Body: permit.ToObject(edited.notice)}
		if c.Kind == Added && d.Reason == "" {
			d.Reason = "condition entered for clause " + edited.Condition.Clause
		}
		return d, nil
	case PermitChanged:
		return variationDraft(edited, c, zone)
	}
	return book.Draft{}, fault(Invalid, "say whether the permit changed or we had it wrong")
}

func variationDraft(edited *Edited, c Amendment, zone *time.Location) (book.Draft, error) {
	in := edited.in.notice
	var lacks []book.Fault
	if strings.TrimSpace(c.Reference) == "" {
		lacks = append(lacks, book.Fault{Field: "reference", Reason: "the variation's reference is missing", Remedy: "write it as the authority's notice has it"})
	}
	if c.Effective.IsZero() {
		lacks = append(lacks, book.Fault{Field: "effective", Reason: "its legal date is missing", Remedy: "write the date from the authority's notice"})
	}
	if len(lacks) > 0 {
		return book.Draft{}, &Error{Code: Invalid, Words: "the variation lacks what its notice says", Faults: lacks}
	}
	if c.Granted.IsZero() {
		c.Granted = c.Effective
	}
	one, action := *edited.Condition, edited.Action
	if c.Replaces != "" {
		one.ID = c.Replaces
	} else if one.ID == "" {
		one.ID = savedID(edited, c)
	}
	n := &permit.Notice{Reference: c.Reference, Type: "variation", IssuedBy: c.IssuedBy, Varies: c.Permit, Granted: c.Granted, Effective: c.Effective, Zone: in.Zone, Holidays: in.Holidays}
	if n.IssuedBy == "" {
		n.IssuedBy = in.IssuedBy
	}
	clause := permit.Clause{Number: one.Clause, Treated: permit.Judged, Text: c.ClauseText}
	if one.Kind == permit.Stated {
		clause.Treated, clause.Role = permit.Attested, one.Role
	}
	for _, k := range in.Clauses {
		if k.Number == one.Clause && clause.Text == "" {
			clause.Text = k.Text
		}
	}
	n.Clauses = []permit.Clause{clause}
	n = n.Replaced("", &one, action)
	at := c.Effective.Start(zone)
	return book.Draft{Kind: "variation.1", At: at.UTC(), Precision: book.ToDay, Offset: at.Format("-07:00"), Files: c.Files, Body: permit.ToObject(n)}, nil
}
