package store

import (
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"runtime"
	"strings"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
	engine "modernc.org/sqlite" // registers itself under the name "sqlite"
	codes "modernc.org/sqlite/lib"
)

// pool says what the connections of a pool are for.
type pool struct {
	connections int
	txlock      string
	pragmas     []string
}

var (
	// writing: one connection, so that writers queue fairly in this process and
	// never see "locked". FULL, because an entry acknowledged is evidence.
	// secure_delete, so that an erased body does not stay in free pages.
	writing = pool{1, "immediate", []string{
		"journal_mode(WAL)", "synchronous(FULL)", "secure_delete(1)",
		"journal_size_limit(67108864)", "cache_size(-65536)",
	}}
	reading = pool{6, "deferred", []string{"query_only(1)", "cache_size(-16384)"}}
	// copying makes a backup; it may not change what it copies but must be able
	// to write the copy, which query_only would refuse.
	copying = pool{1, "deferred", nil}
	// scratch is a database in memory.
	scratch = pool{1, "immediate", nil}
)

// openDB opens a pool on a database file. It is the only place that knows the
// engine: every setting stands in the data source name, because a PRAGMA
// executed later would reach one connection of the pool only.
func openDB(file string, p pool) (*gorm.DB, *sql.DB, error) {
	settings := url.Values{"_txlock": {p.txlock}, "_time_format": {"sqlite"}}
	for _, pragma := range append([]string{"busy_timeout(5000)", "foreign_keys(1)", "trusted_schema(0)"}, p.pragmas...) {
		settings.Add("_pragma", pragma)
	}
	name, err := fileURI(file)
	if err != nil {
		return nil, nil, err
	}
	g, err := gorm.Open(&sqlite.Dialector{DriverName: "sqlite", DSN: name + "?" + settings.Encode()},
		&gorm.Config{SkipDefaultTransaction: true, PrepareStmt: true, Logger: logger.Discard})
	if err != nil {
		return nil, nil, fmt.Errorf("opening %s: %w", file, err)
	}
	db, err := g.DB()
	if err != nil {
		return nil, nil, fmt.Errorf("opening %s: %w", file, err)
	}
	db.SetMaxOpenConns(p.connections)
	db.SetMaxIdleConns(p.connections)
	return g, db, nil
}

// memory is the file name of a database kept in memory only.
const memory = ":memory:"

// fileURI writes a path as the engine takes it, with ? % and # escaped.
func fileURI(file string) (string, error) {
	if file == memory {
		return "file::memory:", nil
	}
	abs, err := filepath.Abs(file)
	if err != nil {
		return "", fmt.Errorf("%s: %w", file, err)
	}
	path := filepath.ToSlash(abs)
	if runtime.GOOS == "windows" && !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath(), nil
}

// isUnique tells whether a write was refused because a value that must be
// unique stands already.
func isUnique(err error) bool {
	var refused *engine.Error
	if !errors.As(err, &refused) {
		return false
	}
	return refused.Code() == codes.SQLITE_CONSTRAINT_UNIQUE || refused.Code() == codes.SQLITE_CONSTRAINT_PRIMARYKEY
}
