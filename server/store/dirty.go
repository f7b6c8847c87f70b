package store

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// Mark says that what was derived for a place over a span has to be derived
// again, because of one entry. A correction marks its old place and span and
// its new ones.
type Mark struct {
	N        int64 // number of the mark; later marks have greater ones
	Seq      int64 // the entry
	Kind     string
	Place    string // "" = the site as a whole
	From, To time.Time
}

// mark notes that an entry makes stale what was derived where and when the
// others stand; nil ones are passed over.
func (a *appending) mark(e *book.Entry, others ...*book.Entry) error {
	for _, one := range others {
		if one == nil {
			continue
		}
		from, to := one.Span()
		places := distinct(one.Places)
		if len(places) == 0 {
			places = []string{""}
		}
		for _, p := range places {
			if err := a.exec(a.put.dirty, e.Site, e.Seq, e.Kind, p, from.UnixMilli(), to.UnixMilli()); err != nil {
				return err
			}
		}
	}
	return nil
}

// Dirty returns the oldest marks of a site, at most limit (0 = no limit).
func (s *Store) Dirty(ctx context.Context, site string, limit int) ([]Mark, error) {
	if limit <= 0 {
		limit = math.MaxInt32
	}
	rows, err := s.reader.QueryContext(ctx, `SELECT n, seq, kind, place, since, till FROM dirty WHERE site = ? ORDER BY n LIMIT ?`, site, limit)
	if err != nil {
		return nil, fmt.Errorf("reading what is to be derived again: %w", err)
	}
	defer rows.Close()
	var marks []Mark
	for rows.Next() {
		var m Mark
		var from, to int64
		if err := rows.Scan(&m.N, &m.Seq, &m.Kind, &m.Place, &from, &to); err != nil {
			return nil, fmt.Errorf("reading what is to be derived again: %w", err)
		}
		m.From, m.To = time.UnixMilli(from).UTC(), time.UnixMilli(to).UTC()
		marks = append(marks, m)
	}
	return marks, rows.Err()
}

// ClearDirty drops the marks of a site up to and with number n, once what they
// name has been derived again.
func (s *Store) ClearDirty(ctx context.Context, site string, n int64) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM dirty WHERE site = ? AND n <= ?`, site, n)
		return err
	})
}
