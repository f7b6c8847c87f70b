package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// Fault is one thing wrong with what is kept.
type Fault struct {
	Where string // "entry 12", "file ab12…", "database"
	What  string
}

// String returns the fault as a line.
func (f Fault) String() string { return f.Where + ": " + f.What }

// Report is what Verify found.
type Report struct {
	Site     Site
	Entries  int
	Erased   int // entries whose body a redaction erased
	Files    int // files named and held
	Bytes    int64
	Imports  int // entries with readings
	Chunks   int
	Readings int64
	Faults   []Fault // none = whole
}

// Sound tells whether nothing is wrong.
func (r *Report) Sound() bool { return len(r.Faults) == 0 }

// VerifyOptions add to what the store can check of itself.
type VerifyOptions struct {
	// Readings, when set, sees every entry with the readings kept for it, by
	// channel (nil when there are none), and returns what is wrong: an import
	// commits in its body to the count and digest of each channel.
	Readings func(e *book.Entry, readings map[string][]*series.Block) []string
}

// Verify checks everything kept of a site and lists every fault: the
// database's own consistency, schema and triggers word for word, the whole
// chain with every body against its hash, the lines of corrections, the head,
// the columns and indexes against the envelopes, erasures against their
// redactions, each file's presence and SHA-256, each chunk's SHA-256, form and
// order. An error means the checking itself could not go on.
func (s *Store) Verify(ctx context.Context, site string, o VerifyOptions) (*Report, error) {
	tx, err := s.reader.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, fmt.Errorf("opening the book to verify it: %w", err)
	}
	defer tx.Rollback() //nolint:errcheck // it read only
	v := &verifying{ctx: ctx, s: s, tx: tx, site: site, o: o, report: &Report{}}
	if v.report.Site, err = siteOf(ctx, tx, site); err != nil {
		return nil, err
	}
	for _, step := range []func() error{v.database, v.chain, v.places, v.fileIndex, v.erasures, v.files, v.readings} {
		if err := step(); err != nil {
			return nil, fmt.Errorf("verifying %s: %w", site, err)
		}
	}
	return v.report, nil
}

type verifying struct {
	ctx     context.Context
	s       *Store
	tx      *sql.Tx
	site    string
	o       VerifyOptions
	report  *Report
	entries []*book.Entry // those that can be read
	bySeq   map[int64]*book.Entry
}

func (v *verifying) fault(where, format string, args ...any) {
	v.report.Faults = append(v.report.Faults, Fault{where, fmt.Sprintf(format, args...)})
}

func (v *verifying) entryFault(seq int64, format string, args ...any) {
	v.fault(fmt.Sprintf("entry %d", seq), format, args...)
}

// each runs a query and hands each row to take.
func (v *verifying) each(take func(*sql.Rows) error, query string, args ...any) error {
	rows, err := v.tx.QueryContext(v.ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := take(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (v *verifying) database() error {
	want, err := wanted()
	if err != nil {
		return err
	}
	have, err := readSchema(v.ctx, v.s.reader)
	if err != nil {
		return err
	}
	for _, f := range schemaFaults(have, want) {
		v.fault("database", "%s", f)
	}
	if err := quickCheck(v.ctx, v.s.reader, "integrity_check"); err != nil {
		if !errors.Is(err, ErrDamaged) {
			return err
		}
		v.fault("database", "%s", err)
	}
	return v.each(func(rows *sql.Rows) error {
		var table, parent string
		var row, key *int64
		if err := rows.Scan(&table, &row, &parent, &key); err != nil {
			return err
		}
		v.fault("database", "a row of %s names no row of %s", table, parent)
		return nil
	}, `PRAGMA foreign_key_check`)
}

func (v *verifying) chain() error {
	v.bySeq = map[int64]*book.Entry{}
	site := v.report.Site
	var prev *book.Entry
	err := v.each(func(rows *sql.Rows) error {
		var row entryRow
		if err := rows.Scan(row.scan()...); err != nil {
			return err
		}
		v.report.Entries++
		e, err := row.entry()
		if err != nil {
			v.entryFault(row.Seq, "%s", err)
		} else {
			if err := book.CheckLink(site.Genesis(), prev, e); err != nil {
				v.entryFault(row.Seq, "%s", err)
			}
			v.entries = append(v.entries, e)
			v.bySeq[e.Seq] = e
		}
		prev = row.asPrevious()
		return nil
	}, `SELECT `+entryColumns+` FROM entry WHERE site = ? ORDER BY seq`, v.site)
	if err != nil {
		return err
	}
	seq, hash := int64(0), site.Genesis()
	if prev != nil {
		seq, hash = prev.Seq, prev.Hash
	}
	if seq != site.Seq || hash != site.Head {
		v.fault("head", "the book ends at entry %d (%.8s…), the head says %d (%.8s…): entries were cut off or added", seq, hash, site.Seq, site.Head)
	}
	if v.report.Sound() {
		if _, err := book.NewView(v.entries); err != nil {
			v.fault("corrections", "%s", err)
		}
	}
	return nil
}

func (v *verifying) places() error {
	kept := map[int64][]string{}
	err := v.each(func(rows *sql.Rows) error {
		var seq int64
		var place string
		if err := rows.Scan(&seq, &place); err != nil {
			return err
		}
		kept[seq] = append(kept[seq], place)
		return nil
	}, `SELECT seq, place FROM entry_place WHERE site = ? ORDER BY seq, place`, v.site)
	if err != nil {
		return err
	}
	for _, e := range v.entries {
		want := distinct(e.Places)
		slices.Sort(want)
		if !slices.Equal(want, kept[e.Seq]) {
			v.entryFault(e.Seq, "the index of places says %q, the envelope %q", kept[e.Seq], want)
		}
	}
	return nil
}

func (v *verifying) fileIndex() error {
	kept := map[int64][]book.Hash{}
	err := v.each(func(rows *sql.Rows) error {
		var seq int64
		var sum []byte
		if err := rows.Scan(&seq, &sum); err != nil {
			return err
		}
		var h book.Hash
		copy(h[:], sum)
		kept[seq] = append(kept[seq], h)
		return nil
	}, `SELECT seq, sha256 FROM entry_file WHERE site = ? ORDER BY seq, n`, v.site)
	if err != nil {
		return err
	}
	for _, e := range v.entries {
		if !slices.Equal(e.Files, kept[e.Seq]) {
			v.entryFault(e.Seq, "the index of files differs from the envelope")
		}
	}
	return nil
}

func (v *verifying) erasures() error {
	for _, e := range v.entries {
		if e.ErasedBy == 0 {
			continue
		}
		v.report.Erased++
		by := v.bySeq[e.ErasedBy]
		if by == nil || by.Seq <= e.Seq || !strings.HasPrefix(by.Kind, redactionKind) {
			v.entryFault(e.Seq, "it is said to be erased by entry %d, which is no later redaction", e.ErasedBy)
		}
	}
	return nil
}

func (v *verifying) files() error {
	return v.each(func(rows *sql.Rows) error {
		var sum []byte
		var size int64
		var site *string
		var seq *int64
		if err := rows.Scan(&sum, &size, &site, &seq); err != nil {
			return err
		}
		var h book.Hash
		copy(h[:], sum)
		if seq != nil {
			return v.erasedFile(h, *site, *seq)
		}
		return v.file(h, size)
	}, `SELECT sha256, bytes, erased_site, erased_by FROM file
		WHERE sha256 IN (SELECT sha256 FROM entry_file WHERE site = ?) ORDER BY sha256`, v.site)
}

func (v *verifying) erasedFile(h book.Hash, site string, seq int64) error {
	var n int
	err := v.tx.QueryRowContext(v.ctx, `SELECT count(*) FROM entry WHERE site = ? AND seq = ? AND kind GLOB 'redaction.*'`, site, seq).Scan(&n)
	if err == nil && n == 0 {
		v.fault("file "+h.String(), "it is said to be erased by entry %d of %s, which is no redaction", seq, site)
	}
	return err
}

func (v *verifying) file(h book.Hash, size int64) error {
	where := "file " + filepath.ToSlash(filepath.Join(FilesName, h.String()[:2], h.String()))
	f, err := os.Open(v.s.filePath(h))
	if errors.Is(err, os.ErrNotExist) {
		v.fault(where, "missing")
		return nil
	}
	if err != nil {
		v.fault(where, "cannot be read: %s", err)
		return nil
	}
	defer f.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, f)
	switch {
	case err != nil:
		v.fault(where, "cannot be read: %s", err)
	case n != size || book.Hash(sum.Sum(nil)) != h:
		v.fault(where, "it is not what was kept")
	default:
		v.report.Files++
		v.report.Bytes += n
	}
	return nil
}
