package app

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/geo/plan"
)

// Edit is a condition as somebody is writing it: as text, or as a form holds
// it.
type Edit struct {
	Permit   string      // reference of the notice first granted
	Replaces string      // id of the condition it changes; "" = a new one
	Text     string      // YAML or JSON of the condition; "" = Form holds it
	Form     book.Object // the keys of the language
}

// EditFault is one thing wrong with a condition as written.
type EditFault struct {
	Field        string // path within the condition, "schedule[0].days"; "" = the whole
	Line, Column int    // in Text; 0 when not known
	Reason       string
	Remedy       string
}

// Edited is what the program understood of a condition as written.
type Edited struct {
	Condition *permit.Condition // nil while it cannot be read
	Action    *permit.Condition // its action level; nil = none
	Sentence  string
	Text      string      // as YAML
	Form      book.Object // in the keys that people write
	Faults    []EditFault // nothing can be saved while there are any
	Doubts    []string    // what will keep it from being judged, as things stand

	in       *filed         // notice that it changes or is added to
	notice   *permit.Notice // that notice with the condition in it
	standing *permit.Condition
}

// filed is a notice with the entry it stands in.
type filed struct {
	notice *permit.Notice
	entry  *book.Entry
}

// filed reads the notices in force, in the book's order.
func (h *Snapshot) filed() ([]*filed, error) {
	var out []*filed
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, e := range h.View.Current(kind) {
			if e.Body == nil {
				continue
			}
			n, err := permit.FromObject(e.Body)
			if err != nil {
				return nil, internal("reading the notices", err)
			}
			out = append(out, &filed{n, e})
		}
	}
	return out, nil
}

// CheckCondition says what it understands of a condition as written, and what
// is wrong with it. Nothing is saved.
func (s *Service) CheckCondition(ctx context.Context, who Actor, e Edit) (*Edited, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	return s.edited(snap, e)
}

func (s *Service) edited(snap *Snapshot, e Edit) (*Edited, error) {
	list, err := snap.filed()
	if err != nil {
		return nil, err
	}
	out := &Edited{Faults: []EditFault{}, Doubts: []string{}}
	var root *filed
	notices := make([]*permit.Notice, len(list))
	for i, f := range list {
		notices[i] = f.notice
		if f.notice.Reference == e.Permit {
			root = f
		}
	}
	if root == nil {
		return nil, fault(NotFound, "no notice %q is on file", e.Permit)
	}
	out.in = root
	if e.Replaces != "" {
		for _, v := range permit.InForce(notices, snap.Record.Site().Zone) {
			if v.Permit != e.Permit || v.Condition.ID != e.Replaces {
				continue
			}
			out.standing = v.Condition
			for _, f := range list {
				if f.notice == v.In {
					out.in = f
				}
			}
		}
		if out.standing == nil {
			return nil, fault(NotFound, "no condition %q of %q is on file", e.Replaces, e.Permit)
		}
	}
	zone := out.in.notice.Zone
	if e.Text != "" {
		out.Condition, out.Action, err = permit.ReadCondition(strings.NewReader(e.Text), "", zone)
	} else {
		out.Condition, out.Action, err = permit.ConditionOf(e.Form, zone)
	}
	var faults permit.Faults
	switch {
	case errors.As(err, &faults):
		out.blame(faults)
		return out, nil
	case err != nil:
		return nil, internal("reading the condition", err)
	}
	return out, s.understood(snap, e, out, root, zone)
}

// understood fills in what follows from a condition that can be read.
func (s *Service) understood(snap *Snapshot, e Edit, out *Edited, root *filed, zone string) error {
	c := out.Condition
	out.Sentence = permit.Sentence(c, s.Quantities)
	var text bytes.Buffer
	if err := permit.WriteCondition(&text, c, out.Action, zone); err != nil {
		return internal("writing the condition", err)
	}
	out.Text, out.Form = text.String(), permit.Short(c, out.Action, zone)
	out.notice = out.in.notice.Replaced(e.Replaces, c, out.Action)
	clause := false
	for _, n := range []*permit.Notice{out.notice, root.notice} {
		for _, k := range n.Clauses {
			clause = clause || k.Number == c.Clause
		}
	}
	if !clause {
		out.Faults = append(out.Faults, EditFault{Field: "clause", Reason: fmt.Sprintf("clause %s is not listed in the notice", c.Clause), Remedy: "choose a clause of the notice, or add the clause first"})
	}
	if e.Replaces != "" && c.ID != "" && c.ID != e.Replaces {
		out.Faults = append(out.Faults, EditFault{Field: "id", Reason: "the id of a condition does not change", Remedy: "write " + e.Replaces + ", or add a new condition"})
	}
	at := later(snap.At, c.From)
	place := func(code string) bool { return snap.Record.Feature(code, at) != nil }
	if len(snap.View.Current("plan.1")) == 0 {
		place = nil
	}
	mine := map[string]bool{}
	for i, one := range out.notice.Conditions {
		if id := c.ID; one.ID == id || one.ID == id+"/action" || id == "" && (one.ID == e.Replaces || e.Replaces == "" && out.in.notice.Condition(one.ID) == nil) {
			mine[fmt.Sprintf("conditions[%d]", i)] = true
		}
	}
	var faults permit.Faults
	for _, f := range permit.Check(out.notice, s.Quantities, place) {
		if whole, _, _ := strings.Cut(f.Field, "."); mine[whole] {
			faults = append(faults, f)
		}
	}
	out.blame(faults)
	out.Doubts = append(out.Doubts, s.doubts(snap, c, out.in.notice)...)
	return nil
}

func (out *Edited) blame(faults permit.Faults) {
	for _, f := range faults {
		out.Faults = append(out.Faults, EditFault{f.Without(), f.Line, f.Column, f.Reason, f.Remedy})
	}
}

// doubts says what will keep a condition from being judged as things stand.
func (s *Service) doubts(snap *Snapshot, c *permit.Condition, n *permit.Notice) []string {
	var out []string
	if heedsHolidays(c.Schedule) {
		switch list := snap.Record.Holidays(n.Holidays); {
		case n.Holidays == "":
			out = append(out, "The hours close on holidays and the notice names no holiday list: windows cannot be judged until it does.")
		case list == nil:
			out = append(out, fmt.Sprintf("The holiday list %s is not on file: windows cannot be judged until it is.", n.Holidays))
		case c.To.IsZero() || c.To.Year() > list.ToYear:
			out = append(out, fmt.Sprintf("The holiday list %s goes to %d: later years cannot be judged until it is added to.", n.Holidays, list.ToYear))
		}
	}
	q := s.Quantities.Named(c.Subject)
	if q == nil || q.Form != quantity.Series || q.Observe != nil {
		return out
	}
	for _, place := range c.Place.Codes {
		if len(snap.Record.Channels(c.Subject, place)) == 0 {
			out = append(out, fmt.Sprintf("No channel of %s is on file for %s yet.", q.Title, place))
		}
	}
	return out
}

func heedsHolidays(s *calendar.Schedule) bool {
	if s == nil {
		return false
	}
	for _, slot := range s.Slots {
		if slot.Holidays != calendar.Ignored {
			return true
		}
	}
	return false
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// Written returns a condition in force as text and as a form holds it.
func (s *Service) Written(ctx context.Context, who Actor, reference, id string) (*Edited, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	list, err := snap.notices()
	if err != nil {
		return nil, internal("reading the notices", err)
	}
	var found *permit.Version
	for _, v := range permit.InForce(list, snap.Record.Site().Zone) {
		if v.Permit == reference && v.Condition.ID == id {
			found = &v
		}
	}
	if found == nil {
		return nil, fault(NotFound, "no condition %q of %q is on file", id, reference)
	}
	form := permit.Short(found.Condition, found.In.Action(id), found.In.Zone)
	return s.edited(snap, Edit{Permit: reference, Replaces: id, Form: form})
}

// Places returns the features of the plan in force, by code.
func (s *Service) Places(ctx context.Context, who Actor) ([]*plan.Feature, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	return snap.Record.Features(snap.At), nil
}
