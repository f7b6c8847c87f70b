package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"sort"
	"sync"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// mostInDay is how many readings of one channel a chunk of a UTC day holds;
// a denser block is cut by UTC hour.
const mostInDay = 10_000

// Staging holds the readings of one import until Append makes them visible
// with the import's entry. It is safe for concurrent use.
type Staging struct {
	store *Store
	site  string
	id    int64

	mu    sync.Mutex
	next  map[string]int // channel → k of its next chunk
	last  map[string]int64
	spent bool
}

// Stage begins the readings of an import. Nothing of it is visible, and it is
// gone with the process, until Append names it.
func (s *Store) Stage(ctx context.Context, site string) (*Staging, error) {
	st := &Staging{store: s, site: site, next: map[string]int{}, last: map[string]int64{}}
	err := s.write(ctx, func(tx *sql.Tx) error {
		var n int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM site WHERE id = ?`, site).Scan(&n); err != nil {
			return err
		}
		if n == 0 {
			return fmt.Errorf("%w: %q", ErrNoSite, site)
		}
		r, err := tx.ExecContext(ctx, `INSERT INTO staging (site) VALUES (?)`, site)
		if err != nil {
			return fmt.Errorf("staging an import: %w", err)
		}
		st.id, err = r.LastInsertId()
		return err
	})
	if err != nil {
		return nil, err
	}
	return st, nil
}

// Put stages blocks of one channel, kept by UTC day (by UTC hour when dense).
// Blocks of a channel come in time order, over all calls.
func (st *Staging) Put(ctx context.Context, channel string, blocks ...*series.Block) error {
	st.mu.Lock()
	defer st.mu.Unlock()
	if st.spent {
		return fmt.Errorf("%w: they were appended or dropped", ErrStaging)
	}
	k, last := st.next[channel], st.last[channel]
	err := st.store.write(ctx, func(tx *sql.Tx) error {
		h := held{ctx, tx, st.store.put, st.site}
		for _, whole := range blocks {
			if err := checkBlock(whole, k > 0, last); err != nil {
				return fmt.Errorf("%w: channel %s: %w", ErrStaging, channel, err)
			}
			for _, b := range cut(whole) {
				data := series.Encode(b)
				sum := sha256.Sum256(data)
				last = b.Start[b.Len()-1]
				if err := h.exec(st.store.put.chunk, st.id, channel, k, b.Start[0], end(b), b.Len(), sum[:], data); err != nil {
					return fmt.Errorf("staging channel %s: %w", channel, err)
				}
				k++
			}
		}
		return nil
	})
	if err == nil {
		st.next[channel], st.last[channel] = k, last
	}
	return err
}

// Drop gives the staged readings up.
func (st *Staging) Drop(ctx context.Context) error {
	st.mu.Lock()
	defer st.mu.Unlock()
	if st.spent {
		return nil
	}
	st.spent = true
	return st.store.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM chunk WHERE staging = ?`, st.id); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM staging WHERE id = ?`, st.id)
		return err
	})
}

func (st *Staging) isSpent() bool {
	st.mu.Lock()
	defer st.mu.Unlock()
	return st.spent
}

func (st *Staging) setSpent() {
	st.mu.Lock()
	defer st.mu.Unlock()
	st.spent = true
}

// show makes the staged readings of a draft those of its entry.
func (a *appending) show(d *book.Draft, e *book.Entry) error {
	st := a.o.Import[d.ID]
	if st == nil {
		return nil
	}
	if st.isSpent() || st.site != a.site {
		return &DraftError{*d, fmt.Errorf("%w: they were appended or dropped already, or are another site's", ErrStaging)}
	}
	r, err := a.tx.StmtContext(a.ctx, a.put.show).ExecContext(a.ctx, e.Seq, st.id, a.site)
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n != 1 {
		return &DraftError{*d, errors.Join(fmt.Errorf("%w: they are gone", ErrStaging), err)}
	}
	a.shown = append(a.shown, st)
	return nil
}

// checkBlock refuses a block whose columns do not fit or whose starts do not
// rise.
func checkBlock(b *series.Block, more bool, last int64) error {
	if b == nil || b.Len() == 0 {
		return errors.New("a block holds no reading")
	}
	if len(b.Coefficient) != b.Len() || len(b.Mark) != b.Len() {
		return errors.New("a block's columns differ in length")
	}
	for _, t := range b.Start {
		if more && t <= last {
			return fmt.Errorf("the reading at %s does not come after the one before it", time.UnixMilli(t).UTC().Format(book.InstantLayout))
		}
		last, more = t, true
	}
	return nil
}

// end is the first instant after a block: half-open, so an instant reading
// reaches one millisecond.
func end(b *series.Block) int64 { return b.Start[b.Len()-1] + max(b.Span, 1) }

const hourMs, dayMs = 3_600_000, 24 * 3_600_000

// cut parts a block by UTC day, and by UTC hour a day that is dense.
func cut(b *series.Block) []*series.Block {
	var out []*series.Block
	for _, day := range cutBy(b, dayMs) {
		if day.Len() > mostInDay {
			out = append(out, cutBy(day, hourMs)...)
			continue
		}
		out = append(out, day)
	}
	return out
}

func cutBy(b *series.Block, ms int64) []*series.Block {
	var out []*series.Block
	for from := 0; from < b.Len(); {
		stop := (floorDiv(b.Start[from], ms) + 1) * ms
		rest := b.Start[from:]
		to := from + sort.Search(len(rest), func(i int) bool { return rest[i] >= stop })
		out = append(out, &series.Block{
			Start: b.Start[from:to], Span: b.Span, Places: b.Places,
			Coefficient: b.Coefficient[from:to], Mark: b.Mark[from:to], Import: b.Import,
		})
		from = to
	}
	return out
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}
