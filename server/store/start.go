package store

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// start does what every opening does once the schema is known to be right.
func (s *Store) start(ctx context.Context) error {
	if err := quickCheck(ctx, s.reader, "quick_check"); err != nil {
		return fmt.Errorf("%s: %w", s.database(), err)
	}
	var sites []siteRow
	if err := s.registry.WithContext(ctx).Order("id").Find(&sites).Error; err != nil {
		return fmt.Errorf("reading the sites: %w", err)
	}
	for _, site := range sites {
		if err := s.checkOn(ctx, site); err != nil {
			return err
		}
	}
	if s.options.ReadOnly {
		return nil
	}
	return s.sweep(ctx)
}

// quickCheck runs quick_check or integrity_check.
func quickCheck(ctx context.Context, db *sql.DB, check string) error {
	rows, err := db.QueryContext(ctx, "PRAGMA "+check+"(20)")
	if err != nil {
		return damaged("%s: %w", check, err)
	}
	defer rows.Close()
	var faults []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			return err
		}
		if line != "ok" {
			faults = append(faults, line)
		}
	}
	if err := rows.Err(); err != nil {
		return damaged("%s: %w", check, err)
	}
	if len(faults) > 0 {
		return damaged("%s; restore a backup", strings.Join(faults, "; "))
	}
	return nil
}

// checkOn checks a site's chain from the entry checked last to the head.
func (s *Store) checkOn(ctx context.Context, row siteRow) error {
	site, err := s.Site(ctx, row.ID)
	if err != nil {
		return err
	}
	var prev *book.Entry
	if row.CheckedSeq > 0 {
		prev, err = s.BySeq(ctx, site.ID, row.CheckedSeq)
		if err != nil {
			return damaged("%s: entry %d was checked before and is not to be read now: %w", site.ID, row.CheckedSeq, err)
		}
		if string(prev.Hash[:]) != string(row.CheckedHash) {
			return damaged("%s: entry %d is another than the one checked before; restore a backup", site.ID, row.CheckedSeq)
		}
	}
	seq, hash := int64(0), site.Genesis()
	if prev != nil {
		seq, hash = prev.Seq, prev.Hash
	}
	last := int64(math.MaxInt64)
	if s.options.ReadOnly { // another process may be adding to it
		last = site.Seq
	}
	err = s.walkFrom(ctx, site.ID, row.CheckedSeq, last, func(e *book.Entry) error {
		if err := book.CheckLink(site.Genesis(), prev, e); err != nil {
			return damaged("%s: %w; restore a backup", site.ID, err)
		}
		prev, seq, hash = e, e.Seq, e.Hash
		return nil
	})
	if err != nil {
		return err
	}
	if seq != site.Seq || hash != site.Head {
		return damaged("%s: the book ends at entry %d (%.8s…), its head says %d (%.8s…): entries were cut off or added; restore a backup",
			site.ID, seq, hash, site.Seq, site.Head)
	}
	if s.options.ReadOnly || seq == row.CheckedSeq {
		return nil
	}
	if _, err := s.writer.ExecContext(ctx, `UPDATE site SET checked_seq = ?, checked_hash = ? WHERE id = ?`, seq, hash[:], site.ID); err != nil {
		return fmt.Errorf("%s: noting how far the chain was checked: %w", site.ID, err)
	}
	return nil
}

// sweep removes what no entry will ever name: chunks staged by a process that
// ended before their import entry, files likewise, and sessions that are over.
func (s *Store) sweep(ctx context.Context) error {
	err := s.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM chunk WHERE staging IN (SELECT id FROM staging WHERE seq IS NULL)`); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM staging WHERE seq IS NULL`); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM login WHERE expires <= ?`, s.options.Now().UnixMilli())
		return err
	})
	if err != nil {
		return fmt.Errorf("sweeping what was staged: %w", err)
	}
	return s.sweepFiles(ctx)
}
