package store

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

// Restore makes a data directory of a backup. The directory must be empty or
// not be there; nothing is ever overwritten. Everything is checked before the
// directory gets its name: each member against its sum, then all that Verify
// checks. The epoch of each site goes up by one, so that devices offer again
// what they sent after the backup, and every session ends.
func Restore(ctx context.Context, file, dir string, o VerifyOptions) (*BackupInfo, error) {
	if names, err := os.ReadDir(dir); err == nil && len(names) > 0 {
		return nil, fmt.Errorf("%w: %s holds %s; a backup is restored into an empty or new directory", ErrNotEmpty, dir, names[0].Name())
	} else if err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("%s: %w", dir, err)
	}
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o700); err != nil {
		return nil, fmt.Errorf("%s: %w", parent, err)
	}
	room, err := os.MkdirTemp(parent, ".swardbook-restore-")
	if err != nil {
		return nil, fmt.Errorf("restoring: %w", err)
	}
	defer os.RemoveAll(room) //nolint:errcheck // gone when it got its name
	info, err := readBackup(file, &room)
	if err != nil {
		return nil, fmt.Errorf("reading %s: %w", file, err)
	}
	if err := settle(ctx, room, info, o); err != nil {
		return nil, fmt.Errorf("restoring %s: %w", file, err)
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("restoring into %s: %w", dir, err)
	}
	if err := os.Rename(room, dir); err != nil {
		return nil, fmt.Errorf("restoring into %s: %w", dir, err)
	}
	return info, syncFolder(parent)
}

// settle opens what was unpacked, verifies it all, and raises the epochs.
func settle(ctx context.Context, room string, info *BackupInfo, o VerifyOptions) error {
	if err := os.MkdirAll(filepath.Join(room, FilesName), 0o700); err != nil {
		return err
	}
	s, err := Open(room, Options{})
	if err != nil {
		return err
	}
	return errors.Join(s.settle(ctx, info, o), s.Close())
}

func (s *Store) settle(ctx context.Context, info *BackupInfo, o VerifyOptions) error {
	for i := range info.Sites {
		told := &info.Sites[i]
		report, err := s.Verify(ctx, told.ID, o)
		if err != nil {
			return err
		}
		if !report.Sound() {
			return damaged("%s: %d faults, the first: %s", told.ID, len(report.Faults), report.Faults[0])
		}
		if report.Site.Seq != told.Seq || report.Site.Head.String() != told.Head {
			return damaged("%s: its book ends at entry %d, %s says %d", told.ID, report.Site.Seq, aboutName, told.Seq)
		}
		told.Epoch = report.Site.Epoch + 1
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `UPDATE site SET epoch = epoch + 1`); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM login`)
		return err
	})
}

// ReadBackup checks a backup from end to end, without unpacking it: its form,
// the order of its members, and each against its sum.
func ReadBackup(file string) (*BackupInfo, error) { return readBackup(file, nil) }

// readBackup reads a backup and, when into is given, unpacks it there.
func readBackup(file string, into *string) (*BackupInfo, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	u := unpacker{tar: tar.NewReader(f), into: into}
	for {
		header, err := u.tar.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, damaged("not a whole backup: %w", err)
		}
		if err := u.take(header); err != nil {
			return nil, err
		}
	}
	if !u.ended {
		return nil, damaged("not a whole backup: %s is missing at its end", sumsName)
	}
	if rest, err := io.Copy(io.Discard, f); err != nil || rest > 0 {
		return nil, damaged("%d bytes follow the end of the backup", rest)
	}
	return &u.info, nil
}

type unpacker struct {
	tar   *tar.Reader
	into  *string
	info  BackupInfo
	names []string
	list  bytes.Buffer // sums as found
	ended bool
}

// mostAbout bounds the members that are read into memory.
const mostAbout = 64 << 20

func (u *unpacker) take(h *tar.Header) error {
	if h.Typeflag != tar.TypeReg || u.ended {
		return damaged("%q does not belong in a backup", h.Name)
	}
	for key := range h.PAXRecords {
		if strings.HasPrefix(key, "GNU.sparse.") { // a few bytes could unpack to fill the disk
			return damaged("%q is a sparse member; a backup has none", h.Name)
		}
	}
	if err := u.inOrder(h.Name); err != nil {
		return err
	}
	u.names = append(u.names, h.Name)
	switch h.Name {
	case sumsName:
		return u.sums(h)
	case aboutName:
		return u.about(h)
	}
	sum, err := u.unpack(h)
	if err != nil {
		return err
	}
	if name, isFile := strings.CutPrefix(h.Name, FilesName+"/"); isFile && name[3:] != sum.String() {
		return damaged("%s is not what its name says", h.Name)
	}
	u.note(sum, h.Name)
	return nil
}

func (u *unpacker) note(sum book.Hash, name string) {
	fmt.Fprintf(&u.list, "%s  %s\n", sum, name)
}

// inOrder holds members to the names and the order Backup writes, so that no
// member can stand outside the directory or hide another.
func (u *unpacker) inOrder(name string) error {
	switch n := len(u.names); {
	case n == 0 && name == aboutName, n == 1 && name == DatabaseName, n >= 2 && name == sumsName:
		return nil
	case n >= 2:
		base := name[strings.LastIndexByte(name, '/')+1:]
		h, err := book.ParseHash(base)
		if err == nil && name == memberOf(h) && (n == 2 || name > u.names[n-1]) {
			return nil
		}
	}
	return damaged("%q does not stand where a backup has it", name)
}

func (u *unpacker) unpack(h *tar.Header) (book.Hash, error) {
	sum := sha256.New()
	if u.into == nil {
		if _, err := io.Copy(sum, u.tar); err != nil {
			return book.Hash{}, damaged("%s: %w", h.Name, err)
		}
		return book.Hash(sum.Sum(nil)), nil
	}
	to := filepath.Join(*u.into, filepath.FromSlash(h.Name))
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return book.Hash{}, err
	}
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return book.Hash{}, err
	}
	if _, err := io.Copy(io.MultiWriter(f, sum), u.tar); err != nil {
		return book.Hash{}, errors.Join(damaged("%s: %w", h.Name, err), f.Close())
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return book.Hash{}, fmt.Errorf("%s: %w", h.Name, err)
	}
	return book.Hash(sum.Sum(nil)), syncFolder(filepath.Dir(to))
}

func (u *unpacker) small(h *tar.Header) ([]byte, error) {
	if h.Size > mostAbout {
		return nil, damaged("%s is too large", h.Name)
	}
	b, err := io.ReadAll(u.tar)
	if err != nil {
		return nil, damaged("%s: %w", h.Name, err)
	}
	return b, nil
}

func (u *unpacker) about(h *tar.Header) error {
	b, err := u.small(h)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(b, &u.info); err != nil {
		return damaged("%s: %w", h.Name, err)
	}
	if u.info.Format != BackupFormat {
		return damaged("%s: the form is %q, this program reads %q", h.Name, u.info.Format, BackupFormat)
	}
	u.note(sha256.Sum256(b), h.Name)
	return nil
}

func (u *unpacker) sums(h *tar.Header) error {
	b, err := u.small(h)
	if err != nil {
		return err
	}
	if !bytes.Equal(b, u.list.Bytes()) {
		return damaged("%s does not fit what the backup holds: %s", sumsName, firstDifference(b, u.list.Bytes()))
	}
	if files := len(u.names) - 3; files != u.info.Files {
		return damaged("%d files, %s says %d", files, aboutName, u.info.Files)
	}
	u.ended = true
	return nil
}

func firstDifference(told, found []byte) string {
	t, f := strings.Split(string(told), "\n"), strings.Split(string(found), "\n")
	for i := range f {
		if i >= len(t) || t[i] != f[i] {
			_, name, _ := strings.Cut(f[i], "  ")
			return name
		}
	}
	return "it names more"
}
