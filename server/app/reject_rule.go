package app

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// RejectionKind is the kind of entry that takes readings out.
const RejectionKind = "rejection.1"

// RejectRule takes readings of a channel out wherever another channel read more
// than a value: noise in the wind.
type RejectRule struct {
	Channel  string
	By       string // the other channel
	Above    unit.Decimal
	Reason   string
	From, To time.Time
}

// RejectTrial is what a rule would take out, and what that would change.
type RejectTrial struct {
	Spans    []calendar.Span
	Readings int // of the channel that count now and would not
	All      int // that count now, in the time asked for
	Effects  []RejectEffect
}

// RejectEffect is a condition judged as it is and as it would be.
type RejectEffect struct{ Before, After judge.Judgement }

// mostSpans is how many rejections one rule may make.
const mostSpans = 500

// Channels lists the channels on file.
func (s *Service) Channels(ctx context.Context, who Actor) ([]series.Channel, error) {
	snap, err := s.on(ctx, who, When{})
	if err != nil {
		return nil, err
	}
	return snap.Record.Channels("", ""), nil
}

// TryReject says what a rule would take out and what would be judged otherwise.
// Nothing is saved.
func (s *Service) TryReject(ctx context.Context, who Actor, r RejectRule) (*RejectTrial, error) {
	snap, t, drafts, err := s.rejecting(ctx, who, "00000000000000000000000000000000", r)
	if err != nil || len(drafts) == 0 || len(snap.Entries) == 0 {
		return t, err
	}
	last := snap.Entries[len(snap.Entries)-1]
	var entries []*book.Entry
	for i := range drafts {
		d := &drafts[i]
		e := &book.Entry{Envelope: d.Envelope(last.Site, last.Seq+1+int64(i), later(snap.At, last.Recorded)), Body: d.Body}
		e.BodyHash = book.HashBody(nil, d.Body)
		entries = append(entries, e)
	}
	record, err := snap.Record.With(entries, sources{ctx, s.Book})
	if err != nil {
		return nil, internal("trying the rule", err)
	}
	type place struct{ permit, condition, place string }
	again := map[[2]string]bool{}
	was := map[place]*judge.Judgement{}
	for i := range snap.Report.Judgements {
		j := &snap.Report.Judgements[i]
		if j.Reads != nil && slices.Contains(j.Reads.Channels, r.Channel) {
			was[place{j.Permit, j.Condition, j.Place}] = j
			again[[2]string{j.Permit, j.Condition}] = true
		}
	}
	for _, of := range slices.SortedFunc(maps.Keys(again), func(a, b [2]string) int { return slices.Compare(a[:], b[:]) }) {
		after, err := judge.All(record, s.Quantities, judge.Options{At: snap.At, Permit: of[0], Condition: of[1]})
		if err != nil {
			return nil, internal("judging by the rule", err)
		}
		for k := range after.Judgements {
			a := &after.Judgements[k]
			j := was[place{a.Permit, a.Condition, a.Place}]
			if j != nil && (a.Verdict != j.Verdict || a.Counts != j.Counts || a.Sentence != j.Sentence) {
				t.Effects = append(t.Effects, RejectEffect{brief(j), brief(a)})
			}
		}
	}
	return t, nil
}

// RejectByRule takes the readings out, an entry for each span, all or none. The
// same id again adds nothing.
func (s *Service) RejectByRule(ctx context.Context, who Actor, id book.ID, r RejectRule) (added int, t *RejectTrial, err error) {
	snap, t, drafts, err := s.rejecting(ctx, who, id, r)
	if err != nil {
		return 0, t, err
	}
	if snap.View.Head(ruled(snap, id, 0)) != nil {
		return 0, t, nil
	}
	if len(drafts) == 0 {
		return 0, t, fault(Invalid, "the rule takes nothing out in that time")
	}
	added, err = s.appendAll(ctx, who, "rejecting", drafts)
	return added, t, err
}

// UndoReject takes back what one rule took out, visibly: every entry of it is
// withdrawn that nobody changed or withdrew since. The same again adds nothing.
func (s *Service) UndoReject(ctx context.Context, who Actor, id book.ID, reason string) (taken int, err error) {
	snap, err := s.rejecters(ctx, who)
	if err != nil {
		return 0, err
	}
	var drafts []book.Draft
	n := 0
	for ; n < mostSpans; n++ {
		of := ruled(snap, id, n)
		head := snap.View.Head(of)
		if head == nil {
			break
		}
		if head.ID != of {
			continue
		}
		drafts = append(drafts, book.Draft{ID: book.RowID(snap.Info.ID, RejectionKind, "taken back", string(of)), Kind: RejectionKind, At: head.At, Until: head.Until, Precision: head.Precision,
			Supersedes: of, Reason: strings.TrimSpace(reason), By: who.Person, Role: string(who.Role)})
	}
	if n == 0 {
		return 0, fault(NotFound, "no rule of that id took anything out")
	}
	return s.appendAll(ctx, who, "taking back", drafts)
}

// ruled is the id of the nth entry a rule makes.
func ruled(snap *Snapshot, id book.ID, n int) book.ID {
	return book.RowID(snap.Info.ID, RejectionKind, "by a rule", fmt.Sprintf("%s %d", id, n))
}

// appendAll checks drafts and adds all or none.
func (s *Service) appendAll(ctx context.Context, who Actor, doing string, drafts []book.Draft) (int, error) {
	for i := range drafts {
		if faults := s.Kinds.Check(&drafts[i]); len(faults) > 0 {
			return 0, &Error{Code: Invalid, Words: "nothing was changed: something needs attention", Faults: faults}
		}
	}
	if len(drafts) == 0 {
		return 0, nil
	}
	done, err := s.Book.Append(ctx, drafts, nil)
	if err != nil {
		return 0, internal(doing, err)
	}
	for _, e := range done.Entries {
		s.saw(ctx, who.Person, e.Seq)
	}
	return len(done.Entries), nil
}

// rejecters is the book as it stands, for those who may take readings out.
func (s *Service) rejecters(ctx context.Context, who Actor) (*Snapshot, error) {
	if kind := s.Kinds.Named(RejectionKind); !who.Role.MayEnter(kind.Register) {
		return nil, fault(Forbidden, "the role %q does not reject readings", who.Role)
	}
	return s.on(ctx, who, When{})
}

// rejecting works a rule out into drafts.
func (s *Service) rejecting(ctx context.Context, who Actor, id book.ID, r RejectRule) (*Snapshot, *RejectTrial, []book.Draft, error) {
	snap, err := s.rejecters(ctx, who)
	if err != nil {
		return nil, nil, nil, err
	}
	t := &RejectTrial{}
	if err := ruleFaults(snap, s.Kinds.Named(RejectionKind), &r); err != nil {
		return nil, nil, nil, err
	}
	by, err := snap.Record.Readings(r.By, r.From, r.To)
	if err != nil {
		return nil, nil, nil, internal("reading "+r.By, err)
	}
	own, err := snap.Record.Readings(r.Channel, r.From, r.To)
	if err != nil {
		return nil, nil, nil, internal("reading "+r.Channel, err)
	}
	over := calendar.Span{From: r.From, To: r.To}
	for _, span := range spansAbove(by, r.Above) {
		span = span.Overlap(over)
		if n := countIn(own, span); n > 0 && span.From.Before(span.To) {
			t.Spans = append(t.Spans, span)
			t.Readings += n
		}
	}
	t.All = countIn(own, over)
	if len(t.Spans) > mostSpans {
		return nil, nil, nil, fault(Invalid, "the rule makes %d spans of that time, %d at most are taken at once; choose a shorter time or a higher value", len(t.Spans), mostSpans)
	}
	note := fmt.Sprintf("%s above %s", r.By, r.Above)
	var drafts []book.Draft
	for i, span := range t.Spans {
		drafts = append(drafts, book.Draft{
			ID: ruled(snap, id, i), Kind: RejectionKind, At: span.From.UTC(), Until: span.To.UTC(),
			Precision: book.ToMillisecond, By: who.Person, Role: string(who.Role), Body: book.Object{"channel": r.Channel, "reason": r.Reason, "note": note},
		})
	}
	return snap, t, drafts, nil
}

func ruleFaults(snap *Snapshot, kind *book.Kind, r *RejectRule) error {
	var faults []book.Fault
	say := func(field, reason, remedy string) {
		faults = append(faults, book.Fault{Field: field, Reason: reason, Remedy: remedy})
	}
	known := func(code string) bool {
		return slices.ContainsFunc(snap.Record.Channels("", ""), func(c series.Channel) bool { return c.Code == code })
	}
	if !known(r.Channel) {
		say("channel", fmt.Sprintf("there is no channel %q", r.Channel), "choose the channel whose readings are to be taken out")
	}
	if !known(r.By) || r.By == r.Channel {
		say("by", fmt.Sprintf("%q is no other channel", r.By), "choose the channel that the rule goes by, such as the wind's")
	}
	if !r.From.Before(r.To) {
		say("to", "the time ends before it begins", "give an end after the beginning")
	}
	for _, f := range kind.Fields {
		if f.Name == "reason" && !slices.Contains(f.Options, r.Reason) {
			say("reason", fmt.Sprintf("%q is no reason to reject readings", r.Reason), "choose one of "+strings.Join(f.Options, ", "))
		}
	}
	if len(faults) > 0 {
		return &Error{Code: Invalid, Words: "the rule cannot be used: something needs attention", Faults: faults}
	}
	return nil
}

// spansAbove joins the readings above a value into spans.
func spansAbove(blocks []*series.Block, above unit.Decimal) []calendar.Span {
	var out []calendar.Span
	for _, b := range blocks {
		for i, at := range b.Start {
			if !b.Mark[i].Counts() || (unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}).Cmp(above) <= 0 {
				continue
			}
			from, to := time.UnixMilli(at).UTC(), time.UnixMilli(at+max(b.Span, 1)).UTC()
			if n := len(out); n > 0 && !from.After(out[n-1].To) {
				out[n-1].To = later(out[n-1].To, to)
				continue
			}
			out = append(out, calendar.Span{From: from, To: to})
		}
	}
	return out
}

// countIn counts the readings that count and reach into a span.
func countIn(blocks []*series.Block, span calendar.Span) int {
	n := 0
	for _, b := range blocks {
		for i, at := range b.Start {
			if b.Mark[i].Counts() && at < span.To.UnixMilli() && at+max(b.Span, 1) > span.From.UnixMilli() {
				n++
			}
		}
	}
	return n
}
