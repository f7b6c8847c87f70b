package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// tempPrefix opens the name of a file not yet whole.
const tempPrefix = "part-"

// PutFile keeps what r holds, up to most bytes, under its SHA-256, and returns
// that and its size. The file and its folder are on the disk when it returns.
// The same content again is no fault. It returns ErrTooLarge, or ErrErased for
// content that a redaction erased.
func (s *Store) PutFile(ctx context.Context, r io.Reader, most int64) (book.Hash, int64, error) {
	if s.writer == nil {
		return book.Hash{}, 0, ErrReadOnly
	}
	temp, sum, size, err := s.receive(r, most)
	if err != nil {
		return sum, 0, err
	}
	defer os.Remove(temp) //nolint:errcheck // gone when it was put in place
	if err := s.refuseErased(ctx, s.reader, sum); err != nil {
		return sum, 0, err
	}
	if err := s.place(temp, sum, size); err != nil {
		return sum, 0, err
	}
	err = s.write(ctx, func(tx *sql.Tx) error {
		if err := s.refuseErased(ctx, tx, sum); err != nil {
			return errors.Join(err, os.Remove(s.filePath(sum)))
		}
		kept := s.options.Now().UnixMilli()
		done, err := tx.ExecContext(ctx, `UPDATE file SET kept = ? WHERE sha256 = ?`, kept, sum[:])
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n == 1 {
			return err
		}
		_, err = tx.ExecContext(ctx, `INSERT INTO file (sha256, bytes, kept) VALUES (?, ?, ?)`, sum[:], size, kept)
		return err
	})
	return sum, size, err
}

// receive writes r to a temporary file, on the disk when it returns.
func (s *Store) receive(r io.Reader, most int64) (name string, sum book.Hash, size int64, err error) {
	f, err := os.CreateTemp(filepath.Join(s.dir, FilesName), tempPrefix)
	if err != nil {
		return "", sum, 0, fmt.Errorf("keeping a file: %w", err)
	}
	defer func() {
		if cerr := f.Close(); err == nil && cerr != nil {
			err = fmt.Errorf("keeping a file: %w", cerr)
		}
		if err != nil {
			_ = os.Remove(f.Name()) // else the next start sweeps it
		}
	}()
	h := sha256.New()
	size, err = io.Copy(io.MultiWriter(f, h), io.LimitReader(r, most+1))
	switch {
	case err != nil:
		return "", sum, 0, fmt.Errorf("receiving a file: %w", err)
	case size > most:
		return "", sum, 0, fmt.Errorf("%w: more than %d bytes", ErrTooLarge, most)
	}
	if err := f.Sync(); err != nil {
		return "", sum, 0, fmt.Errorf("keeping a file: %w", err)
	}
	return f.Name(), book.Hash(h.Sum(nil)), size, nil
}

// place moves a received file to its name, unless it stands there already.
func (s *Store) place(temp string, sum book.Hash, size int64) error {
	path := s.filePath(sum)
	if info, err := os.Stat(path); err == nil && info.Size() == size {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("keeping file %s: %w", sum, err)
	}
	if err := os.Rename(temp, path); err != nil {
		return fmt.Errorf("keeping file %s: %w", sum, err)
	}
	if err := errors.Join(syncFolder(filepath.Dir(path)), syncFolder(filepath.Join(s.dir, FilesName))); err != nil {
		return fmt.Errorf("keeping file %s: %w", sum, err)
	}
	return nil
}

func (s *Store) filePath(sum book.Hash) string {
	name := sum.String()
	return filepath.Join(s.dir, FilesName, name[:2], name)
}

// syncFolder brings a folder's names to the disk. Windows knows no such thing
// and keeps names itself.
func syncFolder(path string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// asker is a pool or a transaction.
type asker interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func (s *Store) refuseErased(ctx context.Context, db asker, sum book.Hash) error {
	_, err := s.fileSize(ctx, db, sum)
	if errors.Is(err, ErrNoFile) {
		return nil
	}
	return err
}

// fileSize returns the size of a file that is held; ErrNoFile or ErrErased.
func (s *Store) fileSize(ctx context.Context, db asker, sum book.Hash) (int64, error) {
	var size int64
	var site *string
	var seq *int64
	err := db.QueryRowContext(ctx, `SELECT bytes, erased_site, erased_by FROM file WHERE sha256 = ?`, sum[:]).Scan(&size, &site, &seq)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, fmt.Errorf("%w: %s", ErrNoFile, sum)
	case err != nil:
		return 0, fmt.Errorf("looking for file %s: %w", sum, err)
	case seq != nil:
		return 0, fmt.Errorf("%w: file %s, entry %d of %s", ErrErased, sum, *seq, *site)
	}
	return size, nil
}

// FileSize returns the size in bytes of a file that is held; ErrNoFile or
// ErrErased.
func (s *Store) FileSize(ctx context.Context, sum book.Hash) (int64, error) {
	return s.fileSize(ctx, s.reader, sum)
}

// OpenFile opens a file that is held; ErrNoFile, ErrErased, or ErrDamaged when
// it is gone from the disk. Read to its end, it gives ErrDamaged in place of
// io.EOF when its SHA-256 does not fit.
func (s *Store) OpenFile(ctx context.Context, sum book.Hash) (io.ReadCloser, error) {
	size, err := s.fileSize(ctx, s.reader, sum)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(s.filePath(sum))
	if errors.Is(err, os.ErrNotExist) {
		return nil, damaged("file %s is gone from the disk; restore a backup", sum)
	}
	if err != nil {
		return nil, fmt.Errorf("opening file %s: %w", sum, err)
	}
	return &checkedFile{File: f, sum: sum, left: size, hash: sha256.New()}, nil
}

// checkedFile hashes what is read of it.
type checkedFile struct {
	*os.File
	sum  book.Hash
	left int64
	hash hash.Hash
}

// Read reads on, and judges the whole at its end.
func (f *checkedFile) Read(p []byte) (int, error) {
	n, err := f.File.Read(p)
	f.hash.Write(p[:n])
	f.left -= int64(n)
	if err == io.EOF && (f.left != 0 || book.Hash(f.hash.Sum(nil)) != f.sum) {
		return n, damaged("file %s is not what was kept; restore a backup", f.sum)
	}
	return n, err
}

// WriteTo hides the file's own, which would pass the hashing by.
func (f *checkedFile) WriteTo(w io.Writer) (int64, error) {
	return io.Copy(w, struct{ io.Reader }{f})
}

// sweepFiles removes files not yet whole, files no entry names that have grown
// old, and files erased that a killed process left.
func (s *Store) sweepFiles(ctx context.Context) error {
	old := s.options.Now().Add(-max(s.options.OrphanAge, 0)).UnixMilli()
	_, err := s.writer.ExecContext(ctx, `DELETE FROM file WHERE erased_by IS NULL AND kept <= ?
		AND NOT EXISTS (SELECT 1 FROM entry_file AS e WHERE e.sha256 = file.sha256)`, old)
	if err != nil {
		return fmt.Errorf("sweeping files: %w", err)
	}
	stay, err := s.filesHeld(ctx)
	if err != nil {
		return err
	}
	root := filepath.Join(s.dir, FilesName)
	err = filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		sum, err := book.ParseHash(d.Name())
		if _, held := stay[sum]; err == nil && held {
			return nil
		}
		if err != nil && !strings.HasPrefix(d.Name(), tempPrefix) {
			return nil // not ours to remove
		}
		return os.Remove(path)
	})
	if err != nil {
		return fmt.Errorf("sweeping files: %w", err)
	}
	return nil
}

// filesHeld returns the size of every file that is held.
func (s *Store) filesHeld(ctx context.Context) (map[book.Hash]int64, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT sha256, bytes FROM file WHERE erased_by IS NULL`)
	if err != nil {
		return nil, fmt.Errorf("reading the files held: %w", err)
	}
	defer rows.Close()
	sizes := map[book.Hash]int64{}
	for rows.Next() {
		var sum []byte
		var size int64
		if err := rows.Scan(&sum, &size); err != nil {
			return nil, fmt.Errorf("reading the files held: %w", err)
		}
		sizes[book.Hash(sum)] = size
	}
	return sizes, rows.Err()
}
