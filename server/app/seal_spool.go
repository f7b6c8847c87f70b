package app

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
)

// hourOf is the UTC hour an instant lies in.
func hourOf(t time.Time) time.Time { return t.UTC().Truncate(time.Hour) }

// Seal makes what was received in the UTC hours that are over original files
// with an import entry each. What cannot be sealed stays in the spool, counts on,
// and is said with the logger.
func (l *Loggers) Seal(ctx context.Context) error {
	now := hourOf(l.App.now())
	return l.seal(ctx, func(sp *spool, received time.Time) bool { return hourOf(received).Before(now) })
}

// SealAll makes everything received so far part of the book: before a pack is
// made, which holds nothing else.
func (l *Loggers) SealAll(ctx context.Context) error {
	return l.seal(ctx, func(*spool, time.Time) bool { return true })
}

// SealChannels does so for the loggers that send one of the channels: before a
// file is brought in, so that what was received first stands first.
func (l *Loggers) SealChannels(ctx context.Context, values []series.ValueColumn) error {
	return l.seal(ctx, func(sp *spool, _ time.Time) bool {
		for _, v := range values {
			if sp.logger.sends(v.Channel) {
				return true
			}
		}
		return false
	})
}

func (l *Loggers) seal(ctx context.Context, due func(sp *spool, received time.Time) bool) error {
	l.sealing.Lock()
	defer l.sealing.Unlock()
	l.mu.Lock()
	list := append([]*spool(nil), l.list...)
	l.mu.Unlock()
	var errs []error
	for _, sp := range list {
		for _, rows := range sp.due(due) {
			if err := l.sealRows(ctx, sp, rows); err != nil {
				errs = append(errs, fmt.Errorf("logger %s: %w", sp.logger.Name, err))
				break
			}
		}
	}
	return errors.Join(errs...)
}

// due returns the rows to be sealed: batches that follow one another and were
// received in one hour together, their rows in time order.
func (sp *spool) due(due func(*spool, time.Time) bool) [][]sentRow {
	sp.mu.Lock()
	defer sp.mu.Unlock()
	rows := slices.Clone(sp.rows)
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].n < rows[j].n })
	var out [][]sentRow
	for from := 0; from < len(rows); {
		hour := hourOf(rows[from].received)
		to := from
		for to < len(rows) && hourOf(rows[to].received).Equal(hour) {
			to++
		}
		if run := rows[from:to:to]; due(sp, run[0].received) {
			sort.SliceStable(run, func(i, j int) bool { return run[i].begin < run[j].begin })
			out = append(out, run)
		}
		from = to
	}
	return out
}

// sealRows makes rows an original file and an import entry, then takes them out
// of the spool. The entry's id follows from the batches, so that doing it again
// after a crash adds nothing.
func (l *Loggers) sealRows(ctx context.Context, sp *spool, rows []sentRow) error {
	n, m := rows[0].n, rows[0].n
	for _, r := range rows {
		n, m = min(n, r.n), max(m, r.n)
	}
	err := l.bringIn(ctx, sp, rows, n, m)
	sp.mu.Lock()
	sp.stuck = ""
	if err != nil {
		sp.stuck = err.Error()
	} else {
		sp.sealed = l.App.now()
	}
	sp.mu.Unlock()
	if err != nil {
		return err
	}
	if err := l.Store.Unspool(ctx, sp.logger.ID, n, m); err != nil {
		return err
	}
	if err := sp.drop(n, m); err != nil {
		return err
	}
	l.changed()
	return nil
}

func (l *Loggers) bringIn(ctx context.Context, sp *spool, rows []sentRow, n, m int64) error {
	text := sp.logger.file(rows)
	sum, _, err := l.App.Book.PutFile(ctx, strings.NewReader(text), int64(len(text)))
	if err != nil {
		return err
	}
	hour := hourOf(rows[0].received)
	in := Import{File: sum, Mapping: *sp.logger.sent, Of: sp.logger.Of,
		Name: fmt.Sprintf("%s, received %s UTC.csv", sp.logger.Name, hour.Format("2006-01-02 15 h"))}
	info, err := l.App.Book.Info(ctx)
	if err != nil {
		return err
	}
	id := book.RowID(info.ID, monitoring.ImportKind, "logger "+sp.logger.ID, fmt.Sprintf("%d to %d", n, m))
	_, _, _, err = l.App.keepImport(ctx, Actor{Person: sp.logger.Person, Role: sp.logger.Role}, id, in)
	return err
}
