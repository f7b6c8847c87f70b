package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"
)

// Logger is a device that sends its readings itself, kept by the hash of its
// token.
type Logger struct {
	ID, Name  string
	TokenHash string
	Person    string // who set it up, and in which role: its imports stand under them
	Role      string
	Reading   string    // how its rows are read, as the use cases wrote it
	Made      time.Time // UTC ms
	Ended     time.Time // zero: in use
}

// Spooled is one batch of rows that a logger sent and no entry holds yet.
type Spooled struct {
	N        int64 // rises, and is never used again
	Logger   string
	Received time.Time // UTC ms
	Rows     string
}

type loggerRow struct {
	ID, Site, Name, TokenHash, Person, Role, Reading string
	Made                                             int64
	Ended                                            *int64
}

// TableName is for gorm.
func (loggerRow) TableName() string { return "logger" }

// Loggers returns the loggers of a site, by name and then by when they were made.
func (s *Store) Loggers(ctx context.Context, site string) ([]Logger, error) {
	var rows []loggerRow
	if err := s.registry.WithContext(ctx).Where("site = ?", site).Order("name, made, id").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("reading the loggers: %w", err)
	}
	out := make([]Logger, len(rows))
	for i, r := range rows {
		out[i] = Logger{ID: r.ID, Name: r.Name, TokenHash: r.TokenHash, Person: r.Person, Role: r.Role, Reading: r.Reading, Made: time.UnixMilli(r.Made).UTC()}
		if r.Ended != nil {
			out[i].Ended = time.UnixMilli(*r.Ended).UTC()
		}
	}
	return out, nil
}

// SaveLogger keeps a new logger; ErrConflict when one in use has the name.
func (s *Store) SaveLogger(ctx context.Context, site string, l Logger) error {
	if s.desk == nil {
		return ErrReadOnly
	}
	row := loggerRow{ID: l.ID, Site: site, Name: l.Name, TokenHash: l.TokenHash, Person: l.Person, Role: l.Role, Reading: l.Reading, Made: l.Made.UnixMilli()}
	err := s.desk.WithContext(ctx).Create(&row).Error
	if isUnique(err) {
		return fmt.Errorf("%w: a logger is called %q already", ErrConflict, l.Name)
	}
	if err != nil {
		return fmt.Errorf("keeping a logger: %w", err)
	}
	return nil
}

// EndLogger notes that a logger's token counts no longer.
func (s *Store) EndLogger(ctx context.Context, id string, at time.Time) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE logger SET ended = ? WHERE id = ? AND ended IS NULL`, at.UnixMilli(), id)
		return err
	})
}

// Spool keeps a batch of rows; it is on the disk when Spool returns.
func (s *Store) Spool(ctx context.Context, logger string, received time.Time, rows string) (n int64, err error) {
	err = s.write(ctx, func(tx *sql.Tx) error {
		done, err := tx.ExecContext(ctx, `INSERT INTO spool (logger, received, rows) VALUES (?, ?, ?)`, logger, received.UnixMilli(), rows)
		if err != nil {
			return fmt.Errorf("spooling: %w", err)
		}
		n, err = done.LastInsertId()
		return err
	})
	return n, err
}

// Spooled returns what the loggers of a site sent and no entry holds, in order
// of receipt.
func (s *Store) Spooled(ctx context.Context, site string) ([]Spooled, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT s.n, s.logger, s.received, s.rows FROM spool AS s JOIN logger AS l ON l.id = s.logger
		WHERE l.site = ? ORDER BY s.n`, site)
	if err != nil {
		return nil, fmt.Errorf("reading the spool: %w", err)
	}
	defer rows.Close()
	var out []Spooled
	for rows.Next() {
		var one Spooled
		var received int64
		if err := rows.Scan(&one.N, &one.Logger, &received, &one.Rows); err != nil {
			return nil, fmt.Errorf("reading the spool: %w", err)
		}
		one.Received = time.UnixMilli(received).UTC()
		out = append(out, one)
	}
	return out, rows.Err()
}

// Unspool removes the batches of a logger from n to m, which an entry holds now.
func (s *Store) Unspool(ctx context.Context, logger string, n, m int64) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM spool WHERE logger = ? AND n BETWEEN ? AND ?`, logger, n, m)
		return err
	})
}
