package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"regexp"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// Site is what is kept of one site beside its entries.
type Site struct {
	ID      string
	Created time.Time // UTC ms; part of the genesis hash
	Epoch   int64     // 1, and one more at each restore
	Seq     int64     // of the newest entry; 0 when the book is empty
	Head    book.Hash // hash of the newest entry, or the genesis
}

// Genesis returns the hash the site's first entry links to.
func (s Site) Genesis() book.Hash { return book.Genesis(s.ID, s.Created) }

var siteForm = regexp.MustCompile(`^[a-z0-9]([a-z0-9._-]{0,62}[a-z0-9])?$`)

// CreateSite opens the book of a new site. Created is cut to milliseconds. It
// returns ErrSiteExists when the data directory holds the site already, and
// an error for an id that is not 1 to 64 of a-z, 0-9, dot, dash, underscore.
func (s *Store) CreateSite(ctx context.Context, id string, created time.Time) (Site, error) {
	if !siteForm.MatchString(id) {
		return Site{}, fmt.Errorf("site id %q: use 1 to 64 of a-z, 0-9, dot, dash and underscore, with a letter or digit at both ends", id)
	}
	made := Site{ID: id, Created: created.UTC().Truncate(time.Millisecond), Epoch: 1}
	if year := made.Created.Year(); year < 1 || year > 9999 {
		return Site{}, fmt.Errorf("site %s: the year %d of its creation is not one of 1 to 9999", id, year)
	}
	made.Head = made.Genesis()
	err := s.write(ctx, func(tx *sql.Tx) error {
		var n int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM site WHERE id = ?`, id).Scan(&n); err != nil {
			return err
		}
		if n > 0 {
			return fmt.Errorf("%w: %s", ErrSiteExists, id)
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO site (id, created, epoch, checked_seq, checked_hash) VALUES (?, ?, ?, 0, ?)`,
			id, made.Created.UnixMilli(), made.Epoch, made.Head[:]); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO head (site, seq, hash) VALUES (?, 0, ?)`, id, made.Head[:])
		return err
	})
	return made, err
}

// Sites returns every site of the data directory, by id.
func (s *Store) Sites(ctx context.Context) ([]Site, error) {
	var rows []siteRow
	if err := s.registry.WithContext(ctx).Order("id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("reading the sites: %w", err)
	}
	sites := make([]Site, 0, len(rows))
	for _, r := range rows {
		site, err := s.Site(ctx, r.ID)
		if err != nil {
			return nil, err
		}
		sites = append(sites, site)
	}
	return sites, nil
}

// Site returns one site; ErrNoSite when there is none of that id.
func (s *Store) Site(ctx context.Context, id string) (Site, error) {
	return siteOf(ctx, s.reader, id)
}

// siteOf reads a site from a pool or inside a transaction.
func siteOf(ctx context.Context, db asker, id string) (Site, error) {
	site := Site{ID: id}
	var created int64
	var hash []byte
	err := db.QueryRowContext(ctx, `SELECT s.created, s.epoch, h.seq, h.hash FROM site AS s JOIN head AS h ON h.site = s.id WHERE s.id = ?`, id).
		Scan(&created, &site.Epoch, &site.Seq, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		return site, fmt.Errorf("%w: %q", ErrNoSite, id)
	}
	if err != nil {
		return site, fmt.Errorf("reading site %s: %w", id, err)
	}
	if len(hash) != len(site.Head) {
		return site, damaged("site %s: the hash of its head has not its length", id)
	}
	site.Created = time.UnixMilli(created).UTC()
	copy(site.Head[:], hash)
	return site, nil
}

// Head returns seq and hash of the newest entry of a site; 0 and the genesis
// when its book is empty.
func (s *Store) Head(ctx context.Context, site string) (int64, book.Hash, error) {
	info, err := s.Site(ctx, site)
	return info.Seq, info.Head, err
}
