package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
)

// statements are those of an append, prepared once on the writing connection.
type statements struct {
	site, head, byID, bySeq, successor, fileHeld     *sql.Stmt
	entry, place, file, dirty, moveHead, show, chunk *sql.Stmt
	all                                              []*sql.Stmt
}

func prepare(ctx context.Context, db *sql.DB) (*statements, error) {
	p := &statements{}
	for _, one := range []struct {
		to   **sql.Stmt
		text string
	}{
		{&p.site, `SELECT created FROM site WHERE id = ?`},
		{&p.head, `SELECT h.seq, h.hash, coalesce(e.recorded, 0) FROM head AS h LEFT JOIN entry AS e ON e.site = h.site AND e.seq = h.seq WHERE h.site = ?`},
		{&p.byID, `SELECT ` + entryColumns + ` FROM entry WHERE site = ? AND id = ?`},
		{&p.bySeq, `SELECT ` + entryColumns + ` FROM entry WHERE site = ? AND seq = ?`},
		{&p.successor, `SELECT id FROM entry WHERE site = ? AND supersedes = ?`},
		{&p.fileHeld, `SELECT coalesce(erased_by, 0), coalesce(erased_site, '') FROM file WHERE sha256 = ?`},
		{&p.entry, `INSERT INTO entry (` + entryColumns + `) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,NULL)`},
		{&p.place, `INSERT INTO entry_place (site, place, seq) VALUES (?, ?, ?)`},
		{&p.file, `INSERT INTO entry_file (site, seq, n, sha256) VALUES (?, ?, ?, ?)`},
		{&p.dirty, `INSERT INTO dirty (site, seq, kind, place, since, till) VALUES (?, ?, ?, ?, ?, ?)`},
		{&p.moveHead, `UPDATE head SET seq = ?, hash = ? WHERE site = ?`},
		{&p.show, `UPDATE staging SET seq = ? WHERE id = ? AND site = ? AND seq IS NULL`},
		{&p.chunk, `INSERT INTO chunk (staging, channel, k, t0, t1, readings, sha256, data) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`},
	} {
		stmt, err := db.PrepareContext(ctx, one.text)
		if err != nil {
			return nil, errors.Join(fmt.Errorf("preparing %q: %w", one.text, err), p.close())
		}
		*one.to = stmt
		p.all = append(p.all, stmt)
	}
	return p, nil
}

func (p *statements) close() error {
	var faults []error
	for _, stmt := range p.all {
		faults = append(faults, stmt.Close())
	}
	return errors.Join(faults...)
}

// held answers questions inside a transaction.
type held struct {
	ctx  context.Context
	tx   *sql.Tx
	put  *statements
	site string
}

// entryOf returns the entry a statement finds, nil when there is none.
func (h *held) entryOf(stmt *sql.Stmt, args ...any) (*book.Entry, error) {
	var row entryRow
	err := h.tx.StmtContext(h.ctx, stmt).QueryRowContext(h.ctx, args...).Scan(row.scan()...)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return row.entry()
}

func (h *held) byID(id book.ID) (*book.Entry, error) {
	return h.entryOf(h.put.byID, h.site, string(id))
}

// lineHead returns the head of the line that an entry stands on.
func (h *held) lineHead(id book.ID) (*book.Entry, error) {
	for {
		var next string
		err := h.tx.StmtContext(h.ctx, h.put.successor).QueryRowContext(h.ctx, h.site, string(id)).Scan(&next)
		if errors.Is(err, sql.ErrNoRows) {
			return h.byID(id)
		}
		if err != nil {
			return nil, err
		}
		id = book.ID(next)
	}
}

func (h *held) exec(stmt *sql.Stmt, args ...any) error {
	_, err := h.tx.StmtContext(h.ctx, stmt).ExecContext(h.ctx, args...)
	return err
}
