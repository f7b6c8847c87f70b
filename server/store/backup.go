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
	"path"
	"path/filepath"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// BackupFormat names the form of a backup: a tar whose members stand in this
// order: backup.json, swardbook.db, files/… by name, SHA256SUMS. Nothing in it
// is compressed, dated or owned.
const BackupFormat = "swardbook/backup/1"

// KeyNotice is what to tell whoever makes or restores a backup.
const KeyNotice = "The key that signs handover packs is not in the backup. Keep a copy of it apart; without it a restored site signs with a new key, and says so in its book."

const (
	aboutName = "backup.json"
	sumsName  = "SHA256SUMS"
)

// BackupInfo tells what a backup holds.
type BackupInfo struct {
	Format string       `json:"format"`
	Schema int64        `json:"schema"`
	Sites  []BackupSite `json:"sites"`
	Files  int          `json:"files"`
	Bytes  int64        `json:"bytes"` // of the database and the files together
	Notice string       `json:"notice"`
}

// BackupSite tells how far a site's book reaches in a backup.
type BackupSite struct {
	ID      string `json:"id"`
	Created string `json:"created"`
	Epoch   int64  `json:"epoch"`
	Seq     int64  `json:"seq"`
	Head    string `json:"head"`
}

// Backup writes the data directory to one file while it stays in use: the
// database copied in one step and checked (its own consistency, its schema,
// that each book reaches at least the head there was when it began), then the
// originals, each checked against its SHA-256. The file is read back before it
// gets its name, which must be free. Signing keys are left out: see KeyNotice.
func (s *Store) Backup(ctx context.Context, out string) (*BackupInfo, error) {
	if _, err := os.Lstat(out); err == nil {
		return nil, fmt.Errorf("%s is there already; name a file that is not", out)
	}
	room, err := os.MkdirTemp(filepath.Dir(out), ".swardbook-backup-")
	if err != nil {
		return nil, fmt.Errorf("making a backup: %w", err)
	}
	defer os.RemoveAll(room) //nolint:errcheck // a temporary folder
	sites, err := s.Sites(ctx)
	if err != nil {
		return nil, err
	}
	copied := filepath.Join(room, DatabaseName)
	if err := s.copyDatabase(ctx, copied); err != nil {
		return nil, fmt.Errorf("copying the database: %w", err)
	}
	info, files, err := checkCopy(ctx, copied, sites)
	if err != nil {
		return nil, fmt.Errorf("checking the copy of the database: %w", err)
	}
	whole := filepath.Join(room, "whole")
	if err := s.pack(whole, copied, info, files); err != nil {
		return nil, fmt.Errorf("writing the backup: %w", err)
	}
	if _, err := readBackup(whole, nil); err != nil {
		return nil, fmt.Errorf("reading the backup back: %w", err)
	}
	if err := os.Rename(whole, out); err != nil {
		return nil, fmt.Errorf("naming the backup: %w", err)
	}
	return info, syncFolder(filepath.Dir(out))
}

func (s *Store) copyDatabase(ctx context.Context, to string) error {
	_, db, err := openDB(s.database(), copying)
	if err != nil {
		return err
	}
	defer db.Close()
	if _, err := db.ExecContext(ctx, `VACUUM INTO ?`, to); err != nil {
		return err
	}
	return nil
}

// checkCopy opens the copy of a database, checks it, and returns what it holds:
// the facts of its sites and the size of each file it needs.
func checkCopy(ctx context.Context, file string, atLeast []Site) (*BackupInfo, map[book.Hash]int64, error) {
	g, db, err := openDB(file, reading)
	if err != nil {
		return nil, nil, err
	}
	defer db.Close()
	if err := quickCheck(ctx, db, "integrity_check"); err != nil {
		return nil, nil, err
	}
	copied := &Store{reader: db, registry: g}
	want, err := wanted()
	if err != nil {
		return nil, nil, err
	}
	if err := copied.checkSchema(ctx, want); err != nil {
		return nil, nil, err
	}
	if err := noLooseRows(ctx, db); err != nil {
		return nil, nil, err
	}
	info := &BackupInfo{Format: BackupFormat, Schema: want.version, Notice: KeyNotice, Sites: []BackupSite{}}
	for _, live := range atLeast {
		if live.Seq == 0 {
			continue
		}
		e, err := copied.BySeq(ctx, live.ID, live.Seq)
		if err != nil {
			return nil, nil, err
		}
		if e.Hash != live.Head {
			return nil, nil, damaged("%s: entry %d of the copy is not the head there was", live.ID, live.Seq)
		}
	}
	sites, err := copied.Sites(ctx)
	if err != nil {
		return nil, nil, err
	}
	for _, site := range sites {
		info.Sites = append(info.Sites, BackupSite{site.ID, book.FormatInstant(site.Created), site.Epoch, site.Seq, site.Head.String()})
	}
	files, err := copied.filesHeld(ctx)
	return info, files, err
}

func noLooseRows(ctx context.Context, db *sql.DB) error {
	rows, err := db.QueryContext(ctx, `PRAGMA foreign_key_check`)
	if err != nil {
		return err
	}
	defer rows.Close()
	if rows.Next() {
		return damaged("rows name other rows that are not there")
	}
	return rows.Err()
}

// pack writes the archive.
func (s *Store) pack(to, database string, info *BackupInfo, files map[book.Hash]int64) (err error) {
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	stat, err := os.Stat(database)
	if err != nil {
		return err
	}
	info.Files, info.Bytes = len(files), stat.Size()
	sums := make([]book.Hash, 0, len(files))
	for h, size := range files {
		sums = append(sums, h)
		info.Bytes += size
	}
	sort.Slice(sums, func(i, j int) bool { return bytes.Compare(sums[i][:], sums[j][:]) < 0 })
	about, err := json.MarshalIndent(info, "", "  ")
	if err != nil {
		return err
	}
	w := &packer{tar: tar.NewWriter(f)}
	w.add(aboutName, int64(len(about)), bytes.NewReader(about), nil)
	w.addFile(DatabaseName, database, stat.Size(), nil)
	for _, h := range sums {
		w.addFile(memberOf(h), s.filePath(h), files[h], &h)
	}
	list := w.list.Bytes()
	w.add(sumsName, int64(len(list)), bytes.NewReader(list), nil)
	if w.err != nil {
		return w.err
	}
	return errors.Join(w.tar.Close(), f.Sync())
}

// memberOf is the name of an original in the archive.
func memberOf(h book.Hash) string {
	return path.Join(FilesName, h.String()[:2], h.String())
}

// packer writes members and the list of their sums; the first fault stays.
type packer struct {
	tar  *tar.Writer
	list bytes.Buffer
	err  error
}

func (w *packer) addFile(name, from string, size int64, sum *book.Hash) {
	if w.err != nil {
		return
	}
	f, err := os.Open(from)
	if err != nil {
		w.err = fmt.Errorf("%s: %w", name, err)
		return
	}
	defer f.Close()
	w.add(name, size, f, sum)
}

func (w *packer) add(name string, size int64, r io.Reader, want *book.Hash) {
	if w.err != nil {
		return
	}
	if w.err = w.tar.WriteHeader(memberHeader(name, size)); w.err != nil {
		return
	}
	h := sha256.New()
	n, err := io.Copy(io.MultiWriter(w.tar, h), io.LimitReader(r, size)) // one that grew fails by its sum
	sum := book.Hash(h.Sum(nil))
	switch {
	case err != nil:
		w.err = fmt.Errorf("%s: %w", name, err)
	case n != size:
		w.err = damaged("%s has %d bytes, %d belong to it", name, n, size)
	case want != nil && sum != *want:
		w.err = damaged("%s is not what was kept; restore it from an earlier backup", name)
	}
	fmt.Fprintf(&w.list, "%s  %s\n", sum, name)
}

func memberHeader(name string, size int64) *tar.Header {
	return &tar.Header{Typeflag: tar.TypeReg, Name: name, Size: size, Mode: 0o600, ModTime: time.Unix(0, 0), Format: tar.FormatPAX}
}
