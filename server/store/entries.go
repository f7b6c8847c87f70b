package store

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"github.com/swardbook/swardbook/compliance/book"
)

// pageOf is how many entries are read at a time when a whole book is walked:
// no read lasts long enough to hold up the log's emptying.
const pageOf = 2000

// MostEntries is the most entries one call of Entries or Page returns.
const MostEntries = 5000

// Entries returns up to limit entries after a seq, in order; limit 0 or above
// MostEntries means MostEntries.
func (s *Store) Entries(ctx context.Context, site string, after int64, limit int) ([]*book.Entry, error) {
	rows, err := s.entryRows(ctx, site, after, bounded(limit))
	if err != nil {
		return nil, err
	}
	return entriesOf(rows)
}

// Walk calls do for every entry of a site in order, up to the head there is
// when it begins; an error of do ends it. It returns ErrNoSite for an unknown site and ErrDamaged for a row that cannot be
// read, a broken chain, or a book that ends before its head.
func (s *Store) Walk(ctx context.Context, site string, do func(*book.Entry) error) error {
	info, err := s.Site(ctx, site)
	if err != nil {
		return err
	}
	return s.walk(ctx, info, nil, do)
}

// After returns every entry of a site that follows one, in order, the chain
// checked from it on as Walk does.
func (s *Store) After(ctx context.Context, site string, last *book.Entry) ([]*book.Entry, error) {
	info, err := s.Site(ctx, site)
	if err != nil {
		return nil, err
	}
	var out []*book.Entry
	err = s.walk(ctx, info, last, func(e *book.Entry) error {
		out = append(out, e)
		return nil
	})
	return out, err
}

// walk calls do for every entry after prev, nil for all, up to the head.
func (s *Store) walk(ctx context.Context, info Site, prev *book.Entry, do func(*book.Entry) error) error {
	site, after := info.ID, int64(0)
	if prev != nil {
		after = prev.Seq
	}
	err := s.walkFrom(ctx, site, after, info.Seq, func(e *book.Entry) error {
		if err := book.CheckLink(info.Genesis(), prev, e); err != nil {
			return damaged("%s: %w", site, err)
		}
		prev = e
		return do(e)
	})
	if err == nil && info.Seq > 0 && (prev == nil || prev.Hash != info.Head) {
		return damaged("%s: the book does not end with its head, entry %d", site, info.Seq)
	}
	return err
}

// All returns every entry of a site in order, the chain checked as Walk does.
func (s *Store) All(ctx context.Context, site string) ([]*book.Entry, error) {
	var all []*book.Entry
	err := s.Walk(ctx, site, func(e *book.Entry) error {
		all = append(all, e)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return all, nil
}

// ByID returns the entry of a site with that id, or ErrNotFound.
func (s *Store) ByID(ctx context.Context, site string, id book.ID) (*book.Entry, error) {
	return s.one(ctx, "id "+string(id), "site = ? AND id = ?", site, string(id))
}

// BySeq returns the entry of a site with that seq, or ErrNotFound.
func (s *Store) BySeq(ctx context.Context, site string, seq int64) (*book.Entry, error) {
	return s.one(ctx, fmt.Sprintf("entry %d", seq), "site = ? AND seq = ?", site, seq)
}

func (s *Store) one(ctx context.Context, what, where string, args ...any) (*book.Entry, error) {
	var row entryRow
	if err := s.registry.WithContext(ctx).Where(where, args...).Take(&row).Error; err != nil {
		if errors.Is(err, gorm.ErrRecordNotFound) {
			return nil, fmt.Errorf("%w: %s", ErrNotFound, what)
		}
		return nil, fmt.Errorf("reading %s: %w", what, err)
	}
	return row.entry()
}

// Filter narrows a page. Zero members do not narrow.
type Filter struct {
	Kind   string
	Place  string
	By     string
	Before int64 // only entries with a smaller seq
	Limit  int   // 0 = 50
}

// Page returns entries newest received first. To go on, ask with Before set to
// the seq of the last one.
func (s *Store) Page(ctx context.Context, site string, f Filter) ([]*book.Entry, error) {
	g := s.registry.WithContext(ctx).Where("entry.site = ?", site)
	if f.Kind != "" {
		g = g.Where("entry.kind = ?", f.Kind)
	}
	if f.Place != "" {
		g = g.Joins("JOIN entry_place AS p ON p.site = entry.site AND p.seq = entry.seq").Where("p.place = ?", f.Place)
	}
	if f.By != "" {
		g = g.Where("entry.by_person = ?", f.By)
	}
	if f.Before > 0 {
		g = g.Where("entry.seq < ?", f.Before)
	}
	if f.Limit <= 0 {
		f.Limit = 50
	}
	var rows []entryRow
	if err := g.Order("entry.seq DESC").Limit(bounded(f.Limit)).Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("reading a page of %s: %w", site, err)
	}
	return entriesOf(rows)
}

func bounded(limit int) int {
	if limit <= 0 || limit > MostEntries {
		return MostEntries
	}
	return limit
}

func (s *Store) entryRows(ctx context.Context, site string, after int64, limit int) ([]entryRow, error) {
	rows := make([]entryRow, 0, min(limit, pageOf))
	err := s.registry.WithContext(ctx).Where("site = ? AND seq > ?", site, after).Order("seq").Limit(limit).Find(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("reading %s after entry %d: %w", site, after, err)
	}
	return rows, nil
}

// walkFrom reads the entries after one seq up to and with another.
func (s *Store) walkFrom(ctx context.Context, site string, after, last int64, do func(*book.Entry) error) error {
	for {
		rows, err := s.entryRows(ctx, site, after, pageOf)
		if err != nil {
			return err
		}
		for i := range rows {
			after = rows[i].Seq
			if after > last {
				return nil
			}
			e, err := rows[i].entry()
			if err != nil {
				return err
			}
			if err := do(e); err != nil {
				return err
			}
		}
		if len(rows) < pageOf {
			return nil
		}
	}
}

func entriesOf(rows []entryRow) ([]*book.Entry, error) {
	entries := make([]*book.Entry, 0, len(rows))
	for i := range rows {
		e, err := rows[i].entry()
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	return entries, nil
}
