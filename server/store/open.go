package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/gofrs/flock"
	"gorm.io/gorm"
)

// What a data directory holds. KeysName is the folder for signing keys: the
// store neither reads nor copies it.
const (
	DatabaseName = "swardbook.db"
	FilesName    = "files"
	KeysName     = "keys"
	lockName     = "swardbook.lock"
)

// orphanAge is how long a file that no entry names is kept, so that a form
// half filled in survives a restart of the server.
const orphanAge = 24 * time.Hour

// Options say how a data directory is opened.
type Options struct {
	Create    bool             // make the directory and its database when there is none
	ReadOnly  bool             // change nothing; needs no lock, so a server may run beside
	OrphanAge time.Duration    // how long files no entry names are kept; 0 = 24 h, negative = not at all
	Now       func() time.Time // clock for the age of files; nil = the system's
}

// Store is an open data directory. It is safe for concurrent use.
type Store struct {
	dir      string
	options  Options
	lock     *flock.Flock
	writer   *sql.DB // nil when opened to read only
	reader   *sql.DB
	registry *gorm.DB // over reader
	desk     *gorm.DB // over writer; nil when opened to read only
	put      *statements
	// trace, when set, is told where an append stands: "begun", "sealed",
	// "committed". Tests kill the process between them.
	trace func(stage string)
}

// Open opens the data directory and checks it: the version of its schema, that
// schema word for word, the database's own consistency, and the chain of each
// site from where it was last checked. Opened for writing it takes the lock,
// brings an older schema up, and sweeps what a killed process left.
//
// It returns ErrNoData, ErrNotEmpty, ErrInUse, ErrNewerSchema, ErrOlderSchema
// or ErrDamaged.
func Open(dir string, o Options) (*Store, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.OrphanAge == 0 {
		o.OrphanAge = orphanAge
	}
	s := &Store{dir: dir, options: o}
	if err := s.open(context.Background()); err != nil {
		s.release()
		return nil, err
	}
	return s, nil
}

func (s *Store) open(ctx context.Context) error {
	if err := s.prepareFolder(); err != nil {
		return err
	}
	want, err := wanted()
	if err != nil {
		return fmt.Errorf("the program's own schema: %w", err)
	}
	if !s.options.ReadOnly {
		if err := s.openWriter(ctx, want); err != nil {
			return err
		}
	}
	if s.registry, s.reader, err = openDB(s.database(), reading); err != nil {
		return s.unreadable(err)
	}
	if err := s.checkSchema(ctx, want); err != nil {
		return err
	}
	return s.start(ctx)
}

func (s *Store) openWriter(ctx context.Context, want *schema) (err error) {
	if s.lock, err = lock(s.dir); err != nil {
		return err
	}
	if s.desk, s.writer, err = openDB(s.database(), writing); err != nil {
		return s.unreadable(err)
	}
	have, err := readSchema(ctx, s.writer)
	if err != nil {
		return s.unreadable(err)
	}
	if err := checkVersion(have, want, false); err != nil {
		return fmt.Errorf("%s: %w", s.dir, err)
	}
	if have.version < want.version {
		if err := migrate(ctx, s.writer); err != nil {
			return fmt.Errorf("%s: bringing the schema from %d to %d: %w", s.dir, have.version, want.version, err)
		}
	}
	s.put, err = prepare(ctx, s.writer)
	return err
}

// unreadable tells a database that is not one from other trouble.
func (s *Store) unreadable(err error) error {
	if strings.Contains(err.Error(), "not a database") || strings.Contains(err.Error(), "malformed") {
		return damaged("%s cannot be read (%w); restore a backup", s.database(), err)
	}
	return err
}

func (s *Store) checkSchema(ctx context.Context, want *schema) error {
	have, err := readSchema(ctx, s.reader)
	if err != nil {
		return s.unreadable(err)
	}
	if err := checkVersion(have, want, true); err != nil {
		return fmt.Errorf("%s: %w", s.dir, err)
	}
	if faults := schemaFaults(have, want); len(faults) > 0 {
		return damaged("%s: %s; something other than this program changed it: restore a backup", s.database(), strings.Join(faults, "; "))
	}
	return nil
}

// prepareFolder sees that there is a data directory, or makes one when asked.
func (s *Store) prepareFolder() error {
	if _, err := os.Stat(s.database()); err == nil {
		return nil
	} else if !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: %w", s.dir, err)
	}
	if !s.options.Create || s.options.ReadOnly {
		return fmt.Errorf("%w: %s holds no %s; import a site folder into it first", ErrNoData, s.dir, DatabaseName)
	}
	names, err := os.ReadDir(s.dir)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: %w", s.dir, err)
	}
	for _, n := range names {
		switch n.Name() {
		case lockName, FilesName, KeysName:
		default:
			return fmt.Errorf("%w: %s holds %s and no data of ours; name an empty or new directory", ErrNotEmpty, s.dir, n.Name())
		}
	}
	return os.MkdirAll(filepath.Join(s.dir, FilesName), 0o700)
}

func (s *Store) database() string { return filepath.Join(s.dir, DatabaseName) }

// Dir returns the data directory.
func (s *Store) Dir() string { return s.dir }

// Close empties the write-ahead log, closes the database and gives the lock
// back.
func (s *Store) Close() error {
	if s.writer != nil {
		_ = s.Checkpoint(context.Background()) // a log that stays is read at the next opening
	}
	return s.release()
}

// Checkpoint moves what is in the write-ahead log into the database file and
// empties the log. A server calls it every few minutes.
func (s *Store) Checkpoint(ctx context.Context) error {
	if s.writer == nil {
		return ErrReadOnly
	}
	var busy, frames, moved int
	if err := s.writer.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &frames, &moved); err != nil {
		return fmt.Errorf("emptying the write-ahead log: %w", err)
	}
	return nil
}

func (s *Store) release() error {
	var faults []error
	if s.put != nil {
		faults = append(faults, s.put.close())
	}
	for _, db := range []*sql.DB{s.reader, s.writer} {
		if db != nil {
			faults = append(faults, db.Close())
		}
	}
	if s.lock != nil {
		faults = append(faults, s.lock.Close())
	}
	return errors.Join(faults...)
}

// write runs do in one immediate transaction: all of it or nothing.
func (s *Store) write(ctx context.Context, do func(tx *sql.Tx) error) error {
	if s.writer == nil {
		return ErrReadOnly
	}
	tx, err := s.writer.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("taking the book for writing: %w", err)
	}
	defer tx.Rollback() //nolint:errcheck // after Commit there is nothing to undo
	if err := do(tx); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("writing the book: %w", err)
	}
	return nil
}

func (s *Store) tell(stage string) {
	if s.trace != nil {
		s.trace(stage)
	}
}
