package app

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
)

// mostLoggerFile is the largest file taken from a logger, in bytes.
const mostLoggerFile = 256 << 20

// Names lists the loggers in use, each once.
func (l *Loggers) Names() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []string
	for _, sp := range l.list {
		if sp.logger.Ended.IsZero() {
			out = append(out, sp.logger.Name)
		}
	}
	return slices.Compact(out)
}

// BringFile brings a file in that a logger left, as its files are read. It
// returns the entry; fresh is false when the same bytes were in the book.
func (l *Loggers) BringFile(ctx context.Context, logger, name string, r io.Reader) (e *book.Entry, fresh bool, err error) {
	var sp *spool
	l.mu.Lock()
	for _, one := range l.list {
		if one.logger.Name == logger && one.logger.Ended.IsZero() {
			sp = one
		}
	}
	l.mu.Unlock()
	if sp == nil {
		return nil, false, fault(NotFound, "no logger in use is called %q", logger)
	}
	e, fresh, err = l.bringFile(ctx, &sp.logger, name, r)
	sp.mu.Lock()
	defer sp.mu.Unlock()
	sp.heard = l.App.now()
	if err != nil {
		sp.refused, sp.why = sp.heard, name+": "+err.Error()
	} else {
		sp.sealed = sp.heard
	}
	return e, fresh, err
}

func (l *Loggers) bringFile(ctx context.Context, one *Logger, name string, r io.Reader) (*book.Entry, bool, error) {
	sum, _, err := l.App.Book.PutFile(ctx, r, mostLoggerFile)
	if err != nil {
		return nil, false, err
	}
	who := Actor{Person: one.Person, Role: one.Role}
	snap, err := l.App.importing(ctx, who)
	if err != nil {
		return nil, false, err
	}
	if e := importedAs(snap, sum, one.Mapping.Values...); e != nil {
		return e, false, nil
	}
	id := book.RowID(snap.Info.ID, monitoring.ImportKind, "left by "+one.ID, sum.String())
	e, fresh, t, err := l.App.KeepImport(ctx, who, id, Import{File: sum, Name: name, Mapping: one.Mapping, Of: one.Of})
	if err != nil && t != nil && t.BadCount > 0 {
		err = errors.Join(err, t.badLines(name))
	}
	return e, fresh, err
}

// badLines says which lines of a file cannot be read.
func (t *Trial) badLines(name string) error {
	f := series.BadFile{Name: name, Lines: t.Bad, Count: t.BadCount}
	return errors.New(strings.TrimSpace(f.Error()))
}
