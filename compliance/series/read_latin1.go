package series

import (
	"io"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// latin1 turns ISO 8859-1 into UTF-8 as it is read.
type latin1 struct {
	r    io.Reader
	buf  [4096]byte
	rest []byte // turned, not yet taken
	err  error
}

// Read implements io.Reader.
func (l *latin1) Read(p []byte) (int, error) {
	for len(l.rest) == 0 {
		if l.err != nil {
			return 0, l.err
		}
		var n int
		n, l.err = l.r.Read(l.buf[:])
		l.rest = l.rest[:0]
		for _, c := range l.buf[:n] {
			l.rest = append(l.rest, string(rune(c))...)
		}
	}
	n := copy(p, l.rest)
	l.rest = l.rest[n:]
	return n, nil
}

// tail remembers the last byte that was read.
type tail struct {
	r    io.Reader
	last byte
	any  bool
}

// Read implements io.Reader.
func (t *tail) Read(p []byte) (int, error) {
	n, err := t.r.Read(p)
	if n > 0 {
		t.last, t.any = p[n-1], true
	}
	return n, err
}

// daySpan returns the length of the local day that begins at start, ms.
func (d *reading) daySpan(start int64) (int64, bool) {
	loc := d.clock.loc
	day := calendar.DateOf(time.UnixMilli(start), loc)
	if day.Start(loc).UnixMilli() != start {
		return 0, false
	}
	return day.AddDays(1).Start(loc).UnixMilli() - start, true
}

// same tells whether two cells hold the same number and mark, whatever the
// zeros they were written with.
func (c cell) same(o cell) bool {
	if c.mark != o.mark {
		return false
	}
	return decimal(c.coefficient, c.places).Cmp(decimal(o.coefficient, o.places)) == 0
}
