package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/folder"
)

// Asked narrows a judging.
type Asked struct {
	At, KnownAt      *time.Time // nil: the folder's judge_at or now; all that is known
	Clause           string     // "" = all, and so the next two
	Permit           string
	Condition        string
	Windows, Working bool
}

func (a *Asked) options(at time.Time) judge.Options {
	return judge.Options{At: at, Clause: a.Clause, Permit: a.Permit, Condition: a.Condition, Windows: a.Windows, Working: a.Working}
}

// ErrNoReceipts says that a folder cannot be judged as known at a time.
var ErrNoReceipts = errors.New("the folder does not say when its rows were received, so it cannot be judged as known at a time; give its registers a recorded column, or import it and ask the kept book")

// JudgeFolder judges a site folder without a database.
func JudgeFolder(fsys fs.FS, a Asked, now func() time.Time) (*judge.Report, error) {
	record, quantities, at, err := openFolder(fsys, a.At, a.KnownAt, now)
	if err != nil {
		return nil, err
	}
	report, err := judge.All(record, quantities, a.options(at))
	if err != nil {
		return nil, err
	}
	report.KnownAt = a.KnownAt
	return report, nil
}

// MayIInFolder answers a question before acting from a site folder, as at an
// instant (nil: the folder's judge_at, else now).
func MayIInFolder(fsys fs.FS, q judge.Question, at *time.Time, now func() time.Time) (*judge.Answer, error) {
	record, quantities, when, err := openFolder(fsys, at, nil, now)
	if err != nil {
		return nil, err
	}
	return judge.MayI(record, quantities, startingNow(q, when), when)
}

// startingNow gives a question without a beginning that of its asking.
func startingNow(q judge.Question, at time.Time) judge.Question {
	if q.From.IsZero() {
		q.From = at
	}
	return q
}

// openFolder reads a folder as a record for judging, and the instant to judge to.
func openFolder(fsys fs.FS, asked, knownAt *time.Time, now func() time.Time) (*judge.Record, *quantity.List, time.Time, error) {
	fail := func(err error) (*judge.Record, *quantity.List, time.Time, error) { return nil, nil, time.Time{}, err }
	kinds, quantities, err := lists()
	if err != nil {
		return fail(err)
	}
	c, err := folder.Read(fsys, kinds, quantities)
	if err != nil {
		return fail(err)
	}
	if knownAt != nil && !c.HasReceipts() {
		return fail(ErrNoReceipts)
	}
	at := now().UTC().Truncate(time.Millisecond)
	switch {
	case asked != nil:
		at = *asked
	case !c.Site.JudgeAt.IsZero():
		at = c.Site.JudgeAt
	}
	entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		return fail(err)
	}
	if knownAt != nil {
		entries = book.KnownAt(entries, *knownAt)
	}
	record, err := judge.NewRecord(entries, plain{c})
	if err != nil {
		return fail(err)
	}
	return record, quantities, at, nil
}

// plain lets the judge read a folder's own files.
type plain struct{ c *folder.Contents }

func (p plain) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	blocks, ok := p.c.Parsed[e.ID][channel]
	if !ok {
		return nil, fmt.Errorf("entry %d brings no channel %s", e.Seq, channel)
	}
	a, b := from.UnixMilli(), to.UnixMilli()
	var out []*series.Block
	for _, one := range blocks {
		if n := one.Len(); n > 0 && one.Start[0] < b && one.Start[n-1]+max(one.Span, 1) > a {
			out = append(out, one)
		}
	}
	return out, nil
}

func (p plain) File(h book.Hash) (io.ReadCloser, error) { return p.c.OpenFile(h) }

// Judge judges the kept book.
func (h *House) Judge(ctx context.Context, a Asked) (*judge.Report, error) {
	at := h.App.Now().UTC().Truncate(time.Millisecond)
	if a.At != nil {
		at = *a.At
	}
	record, _, err := h.App.Record(ctx, a.KnownAt)
	if err != nil {
		return nil, err
	}
	report, err := judge.All(record, h.App.Quantities, a.options(at))
	if err != nil {
		return nil, err
	}
	report.KnownAt = a.KnownAt
	return report, nil
}

// MayI answers a question before acting from the kept book, as at an instant
// (nil: now).
func (h *House) MayI(ctx context.Context, q judge.Question, at *time.Time) (*judge.Answer, error) {
	when := h.App.Now().UTC().Truncate(time.Millisecond)
	if at != nil {
		when = *at
	}
	record, _, err := h.App.Record(ctx, nil)
	if err != nil {
		return nil, err
	}
	return judge.MayI(record, h.App.Quantities, startingNow(q, when), when)
}
