package app

import (
	"context"
	"fmt"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// againstBook leaves out rows, in time order, that the book holds with the same
// figures, and refuses those it holds with others. blocks are the rows as read.
// Rows after everything on file, as nearly all are, cost nothing.
func (l *Loggers) againstBook(ctx context.Context, sp *spool, rows []sentRow, blocks [][]*series.Block) (fresh []sentRow, already int, faults []book.Fault, err error) {
	snap, err := l.App.currentFor(ctx, sp.logger.Person)
	if err != nil {
		return nil, 0, nil, err
	}
	sp.look(snap)
	if rows[0].begin >= sp.onEnd {
		return rows, 0, nil, nil
	}
	last := rows[len(rows)-1]
	from, to := time.UnixMilli(rows[0].begin).UTC(), time.UnixMilli(last.begin+max(last.span, 1)).UTC()
	state := make([]rowState, len(rows))
	for i, v := range sp.logger.Mapping.Values {
		held, err := snap.Record.AsReceived(v.Channel, from, to)
		if err != nil {
			return nil, 0, nil, internal("reading the channel", err)
		}
		compareRows(state, rows, blocks[i], held, v.Column)
	}
	for i := range rows {
		switch s := &state[i]; {
		case s.other != "":
			faults = append(faults, book.Fault{Field: inLine(rows[i].line, s.column), Reason: s.other, Remedy: "what is in the book stands; bring a correction in as a file"})
		case s.same == len(blocks):
			already++
		default:
			fresh = append(fresh, rows[i])
		}
	}
	return fresh, already, faults, nil
}

// rowState is what the book holds of a row.
type rowState struct {
	same          int // channels with the same figure
	other, column string
}

// compareRows compares the readings of one channel with those on file; rows,
// readings and what is held are in time order.
func compareRows(state []rowState, rows []sentRow, sent, held []*series.Block, column string) {
	type reading struct {
		begin, end int64
		value      unit.Decimal
		mark       series.Mark
	}
	flat := func(list []*series.Block) []reading {
		var out []reading
		for _, b := range list {
			for i, at := range b.Start {
				out = append(out, reading{at, at + max(b.Span, 1), unit.Decimal{Coefficient: b.Coefficient[i], Places: b.Places}, b.Mark[i]})
			}
		}
		return out
	}
	on := flat(held)
	k := 0
	for i, r := range flat(sent) {
		for k < len(on) && on[k].end <= r.begin {
			k++
		}
		if k == len(on) || on[k].begin >= r.end {
			continue
		}
		switch o := on[k]; {
		case o.begin == r.begin && o.end == r.end && o.mark == r.mark && o.value.Cmp(r.value) == 0:
			state[i].same++
		case o.begin == r.begin:
			state[i].other, state[i].column = fmt.Sprintf("the book has another figure for %s", instantOf(rows[i].begin)), column
		default:
			state[i].other, state[i].column = fmt.Sprintf("the book has a reading of %s that overlaps it", instantOf(o.begin)), column
		}
	}
}

// look notes how far the readings of the logger's channels reach in the book.
func (sp *spool) look(snap *Snapshot) {
	for i := len(snap.Entries) - 1; i >= 0 && snap.Entries[i].Seq > sp.upto; i-- {
		e := snap.Entries[i]
		if e.Kind != monitoring.ImportKind || e.Body == nil {
			continue
		}
		for _, c := range e.Body.Objects("channels") {
			if sp.logger.sends(c.Text("channel")) {
				sp.onEnd = max(sp.onEnd, e.Until.UnixMilli())
			}
		}
	}
	sp.upto = max(sp.upto, snap.Info.Seq)
}
