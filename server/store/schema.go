package store

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"strings"
	"sync"

	"github.com/pressly/goose/v3"
)

//go:embed migrations/sqlite/*.sql
var migrations embed.FS

// schema is what a database is made of: the text of each table, index and
// trigger by name, and the version.
type schema struct {
	version int64
	objects map[string]string
	names   []string // in order
}

// migrate brings a database up to the newest schema.
func migrate(ctx context.Context, db *sql.DB) error {
	folder, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, folder)
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// wanted is the schema this program writes, made once in memory from the
// migrations, so that every text is as the engine keeps it.
var wanted = sync.OnceValues(func() (*schema, error) {
	ctx := context.Background()
	_, db, err := openDB(memory, scratch)
	if err != nil {
		return nil, err
	}
	defer db.Close()
	if err := migrate(ctx, db); err != nil {
		return nil, err
	}
	return readSchema(ctx, db)
})

func readSchema(ctx context.Context, db *sql.DB) (*schema, error) {
	s := &schema{objects: map[string]string{}}
	err := db.QueryRowContext(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&s.version)
	if err != nil && !strings.Contains(err.Error(), "no such table") {
		return nil, err
	}
	rows, err := db.QueryContext(ctx, `SELECT type || ' ' || name, coalesce(sql, '') FROM sqlite_master
		WHERE name NOT LIKE 'sqlite\_%' ESCAPE '\' AND tbl_name <> 'goose_db_version' ORDER BY 1`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			return nil, err
		}
		s.objects[name] = text
		s.names = append(s.names, name)
	}
	return s, rows.Err()
}

// checkVersion refuses a schema this program does not know, and, for a
// database that may not be changed, one it would first have to bring up.
func checkVersion(have, want *schema, readOnly bool) error {
	switch {
	case have.version > want.version:
		return fmt.Errorf("%w: its schema is %d, this program knows %d; use the newer program", ErrNewerSchema, have.version, want.version)
	case have.version < want.version && readOnly:
		return fmt.Errorf("%w: its schema is %d, this program writes %d; make a backup and open it once for writing", ErrOlderSchema, have.version, want.version)
	}
	return nil
}

// schemaFaults lists every table, index and trigger that is not, word for
// word, what the migrations made.
func schemaFaults(have, want *schema) []string {
	var faults []string
	for _, name := range want.names {
		text, there := have.objects[name]
		switch {
		case !there:
			faults = append(faults, name+" is missing")
		case text != want.objects[name]:
			faults = append(faults, name+" is not what this program made")
		}
	}
	for _, name := range have.names {
		if _, known := want.objects[name]; !known {
			faults = append(faults, name+" was added by something else")
		}
	}
	return faults
}
