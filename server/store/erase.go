package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// redactionKind opens the name of every kind that may erase.
const redactionKind = "redaction."

// Erased says what a redaction did.
type Erased struct {
	Entry *book.Entry // the redaction
	Files []book.Hash // files erased
	Kept  []book.Hash // files of the erased entry that another entry still names
}

// Erase appends a redaction and, in the same transaction, erases the body and
// salt of the entry with that seq; its chain still verifies. With files, also
// the files it names and no other entry with a body does. Readings of an import
// stay: they are not personal. Asking again with the same redaction is no fault.
//
// It returns what Append returns, ErrNotFound when there is no such entry,
// ErrErased when another redaction erased it, ErrUnsound when there is nothing
// to erase or the draft is no redaction.
func (s *Store) Erase(ctx context.Context, site string, redaction book.Draft, seq int64, files bool, o AppendOptions) (Erased, error) {
	if s.writer == nil {
		return Erased{}, ErrReadOnly
	}
	if err := sound(&redaction); err != nil {
		return Erased{}, &DraftError{redaction, err}
	}
	if !strings.HasPrefix(redaction.Kind, redactionKind) || redaction.Body == nil {
		return Erased{}, &DraftError{redaction, unsound("only a redaction erases; this is %s", redaction.Kind)}
	}
	var out Erased
	err := s.write(ctx, func(tx *sql.Tx) error {
		a, err := s.begin(ctx, tx, site, o)
		if err != nil {
			return err
		}
		if err := a.take(&redaction); err != nil {
			return err
		}
		if err := a.moveHead(); err != nil {
			return err
		}
		if out.Entry, err = a.byID(redaction.ID); err != nil {
			return err
		}
		return a.erase(&out, seq, files)
	})
	if err != nil {
		return Erased{}, err
	}
	// The write-ahead log still holds the page as it was.
	if err := s.Checkpoint(ctx); err != nil {
		return out, err
	}
	return out, s.unlink(out.Files)
}

func (a *appending) erase(out *Erased, seq int64, files bool) error {
	target, err := a.entryOf(a.put.bySeq, a.site, seq)
	switch {
	case err != nil:
		return err
	case target == nil:
		return fmt.Errorf("%w: there is no entry %d to erase", ErrNotFound, seq)
	case target.ErasedBy == out.Entry.Seq:
	case target.ErasedBy != 0:
		return fmt.Errorf("%w: entry %d, by entry %d", ErrErased, seq, target.ErasedBy)
	case target.Body == nil:
		return unsound("entry %d is a withdrawal and has no body to erase", seq)
	case len(a.result.Entries) == 0:
		return unsound("redaction %s is in the book and erased another entry; give this one an id of its own", out.Entry.ID)
	case target.Seq >= out.Entry.Seq:
		return unsound("a redaction cannot erase itself")
	default:
		_, err := a.tx.ExecContext(a.ctx, `UPDATE entry SET body = NULL, salt = NULL, erased_by = ? WHERE site = ? AND seq = ?`,
			out.Entry.Seq, a.site, seq)
		if err != nil {
			return fmt.Errorf("erasing entry %d: %w", seq, err)
		}
		if err := a.mark(out.Entry, target); err != nil {
			return err
		}
	}
	if !files {
		return nil
	}
	return a.eraseFiles(out, target)
}

func (a *appending) eraseFiles(out *Erased, target *book.Entry) error {
	for _, h := range target.Files {
		var others int
		err := a.tx.QueryRowContext(a.ctx, `SELECT count(*) FROM entry_file AS f JOIN entry AS e ON e.site = f.site AND e.seq = f.seq
			WHERE f.sha256 = ? AND NOT (f.site = ? AND f.seq = ?) AND e.erased_by IS NULL`, h[:], a.site, target.Seq).Scan(&others)
		if err != nil {
			return fmt.Errorf("looking for what names file %s: %w", h, err)
		}
		if others > 0 {
			out.Kept = append(out.Kept, h)
			continue
		}
		_, err = a.tx.ExecContext(a.ctx, `UPDATE file SET erased_site = ?, erased_by = ? WHERE sha256 = ? AND erased_by IS NULL`,
			a.site, out.Entry.Seq, h[:])
		if err != nil {
			return fmt.Errorf("erasing file %s: %w", h, err)
		}
		out.Files = append(out.Files, h)
	}
	return nil
}

// unlink takes erased files off the disk; what cannot be taken now the next
// start takes.
func (s *Store) unlink(files []book.Hash) error {
	var faults []error
	for _, h := range files {
		if err := os.Remove(s.filePath(h)); err != nil && !errors.Is(err, os.ErrNotExist) {
			faults = append(faults, fmt.Errorf("file %s is erased in the book and still on the disk; the next start removes it: %w", h, err))
		}
	}
	return errors.Join(faults...)
}
