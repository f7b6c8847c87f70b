package app

import (
	"bytes"
	"context"
	"crypto/subtle"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Pushed says what became of what a logger sent. Already are rows that are in
// the spool or in the book with the same figures.
type Pushed struct{ Kept, Already int }

// Most rows taken at once, and how far ahead of the server's clock a reading
// may begin.
const (
	mostPushed = 20_000
	mostAhead  = 5 * time.Minute
)

// Push takes rows from the logger whose token is given: all of them or none.
// They are on the disk when it returns. JSON lines when lines is true, else CSV
// with commas, decimal points and the names of the columns in line 1. The same
// rows again add nothing; another figure for a time that has one is a Conflict.
func (l *Loggers) Push(ctx context.Context, token string, lines bool, body []byte) (Pushed, error) {
	sp := l.byToken(token)
	if sp == nil {
		return Pushed{}, fault(SignedOut, "no logger in use has this token")
	}
	sp.pushing.Lock()
	defer sp.pushing.Unlock()
	done, err := l.push(ctx, sp, lines, body)
	sp.mu.Lock()
	defer sp.mu.Unlock()
	sp.heard = l.App.now()
	if err != nil {
		sp.refused, sp.why = sp.heard, err.Error()
	}
	return done, err
}

func (l *Loggers) byToken(token string) *spool {
	hash := []byte(hashToken(token))
	l.mu.Lock()
	defer l.mu.Unlock()
	var found *spool
	for _, sp := range l.list {
		if subtle.ConstantTimeCompare([]byte(sp.logger.TokenHash), hash) == 1 && sp.logger.Ended.IsZero() {
			found = sp
		}
	}
	return found
}

func (l *Loggers) push(ctx context.Context, sp *spool, lines bool, body []byte) (Pushed, error) {
	if sp.logger.sent == nil {
		return Pushed{}, fault(Invalid, "the columns of this logger have no names, so it can leave files in its folder, and send nothing; set it up with names")
	}
	read := rowsOfCSV
	if lines {
		read = rowsOfLines
	}
	rows, faults := read(body, sp.logger.Columns())
	if len(faults) == 0 && len(rows) == 0 {
		faults = append(faults, book.Fault{Field: "body", Reason: "it holds no reading", Remedy: "send at least one row below the names of the columns"})
	}
	for i := range rows {
		if slices.ContainsFunc(rows[i].cells, func(c string) bool { return strings.ContainsAny(c, "\r\n") }) {
			faults = append(faults, book.Fault{Field: inLine(rows[i].line, ""), Reason: "a cell runs over several lines", Remedy: "send each cell in one line"})
		}
	}
	if len(rows) > mostPushed {
		return Pushed{}, fault(TooLarge, "%d rows at once; send at most %d", len(rows), mostPushed)
	}
	if len(faults) == 0 {
		faults = sp.dated(rows, l.App.now())
	}
	if len(faults) > 0 {
		return Pushed{}, notTaken(Invalid, faults)
	}
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].begin < rows[j].begin })
	fresh, already, faults := sp.fresh(rows)
	if len(faults) > 0 {
		return Pushed{}, notTaken(Conflict, faults)
	}
	if len(fresh) == 0 {
		return Pushed{Already: already}, nil
	}
	blocks, err := sp.read(fresh)
	var bad *series.BadFile
	switch {
	case errors.As(err, &bad):
		for _, b := range bad.Lines {
			faults = append(faults, book.Fault{Field: inLine(fresh[b.Line-2].line, b.Column), Reason: b.Why, Remedy: "correct it and send all again"})
		}
		return Pushed{}, notTaken(Invalid, faults)
	case err != nil:
		return Pushed{}, internal("reading what was sent", err)
	}
	fresh, known, faults, err := l.againstBook(ctx, sp, fresh, blocks)
	if err != nil {
		return Pushed{}, err
	}
	if len(faults) > 0 {
		return Pushed{}, notTaken(Conflict, faults)
	}
	already += known
	if len(fresh) == 0 {
		return Pushed{Already: already}, nil
	}
	received := l.App.now()
	n, err := l.Store.Spool(ctx, sp.logger.ID, received, cellsOnly(fresh))
	if err != nil {
		return Pushed{}, internal("keeping what was sent", err)
	}
	for i := range fresh {
		fresh[i].n, fresh[i].received = n, received
	}
	if err := sp.take(fresh); err != nil {
		return Pushed{}, internal("reading what was kept", err)
	}
	l.changed()
	return Pushed{Kept: len(fresh), Already: already}, nil
}

func notTaken(code Code, faults []book.Fault) error {
	const most = 50
	words := "nothing of it was taken: something needs attention"
	if len(faults) > most {
		words = fmt.Sprintf("nothing of it was taken: %d things need attention, of which these are the first", len(faults))
		faults = faults[:most]
	}
	return &Error{Code: code, Words: words, Faults: faults}
}

func inLine(line int, column string) string {
	if column == "" {
		return fmt.Sprintf("line %d", line)
	}
	return fmt.Sprintf("line %d, %s", line, column)
}

// rowsOfCSV parts a CSV body whose columns may stand in any order.
func rowsOfCSV(body []byte, columns []string) ([]sentRow, []book.Fault) {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(body, []byte("\xef\xbb\xbf"))))
	r.FieldsPerRecord = -1
	var rows []sentRow
	var faults []book.Fault
	say := func(line int, column, reason, remedy string) {
		faults = append(faults, book.Fault{Field: inLine(line, column), Reason: reason, Remedy: remedy})
	}
	header, err := r.Read()
	if err != nil {
		say(1, "", "the names of the columns are missing", "put them in line 1: "+strings.Join(columns, ","))
		return nil, faults
	}
	for i := range header {
		header[i] = strings.TrimSpace(header[i])
	}
	place := make([]int, len(columns))
	for i, c := range columns {
		if place[i] = slices.Index(header, c); place[i] < 0 {
			say(1, c, "the column is missing", "send "+strings.Join(columns, ","))
		}
	}
	for i, c := range header {
		if !slices.Contains(columns, c) {
			say(1, c, "this logger was not set up with such a column", "leave it out, or set the logger up anew with it")
		} else if slices.Index(header, c) != i {
			say(1, c, "the column stands twice", "send it once")
		}
	}
	for len(faults) == 0 {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var syntax *csv.ParseError
		if errors.As(err, &syntax) {
			say(syntax.StartLine, "", syntax.Err.Error(), "write the line as RFC 4180 has it")
			break
		}
		line, _ := r.FieldPos(0)
		if len(cells) != len(header) {
			say(line, "", fmt.Sprintf("%d cells, and %d columns in line 1", len(cells), len(header)), "write as many")
			break
		}
		row := sentRow{line: line, cells: make([]string, len(columns))}
		for i, at := range place {
			row.cells[i] = strings.TrimSpace(cells[at])
		}
		rows = append(rows, row)
	}
	return rows, faults
}

// rowsOfLines parts JSON lines: an object a line, a member for each column; a
// column without a member, or with null, is blank.
func rowsOfLines(body []byte, columns []string) ([]sentRow, []book.Fault) {
	var rows []sentRow
	var faults []book.Fault
	say := func(line int, column, reason, remedy string) {
		faults = append(faults, book.Fault{Field: inLine(line, column), Reason: reason, Remedy: remedy})
	}
	for i, text := range bytes.Split(body, []byte("\n")) {
		if text = bytes.TrimSpace(text); len(text) == 0 {
			continue
		}
		d := json.NewDecoder(bytes.NewReader(text))
		d.UseNumber()
		row := sentRow{line: i + 1, cells: make([]string, len(columns))}
		members, err := membersOf(d)
		if err != nil {
			say(i+1, "", err.Error(), "write one object a line, such as {\""+columns[0]+"\": …}")
			continue
		}
		for _, m := range members {
			at := slices.Index(columns, m.name)
			if at < 0 {
				say(i+1, m.name, "this logger was not set up with such a column", "leave it out, or set the logger up anew with it")
				continue
			}
			switch v := m.value.(type) {
			case nil:
			case string:
				row.cells[at] = strings.TrimSpace(v)
			case json.Number:
				row.cells[at] = v.String()
			default:
				say(i+1, m.name, "it is no number and no text", "send a number, or a text such as <0.5")
			}
		}
		rows = append(rows, row)
	}
	return rows, faults
}

type member struct {
	name  string
	value any
}

var errNoObject = errors.New("it is no JSON object")

// membersOf reads one flat object; a name that stands twice is an error.
func membersOf(d *json.Decoder) ([]member, error) {
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, errNoObject
	}
	var out []member
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return nil, errNoObject
		}
		m := member{name: name.(string)} // in an object the odd tokens are names
		if slices.ContainsFunc(out, func(o member) bool { return o.name == m.name }) {
			return nil, fmt.Errorf("%q stands twice", m.name)
		}
		if err := d.Decode(&m.value); err != nil {
			return nil, errNoObject
		}
		out = append(out, m)
	}
	if _, err := d.Token(); err != nil {
		return nil, errNoObject
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("something follows the object")
	}
	return out, nil
}

// dated gives each row its time, and refuses those of times to come: they tell
// of a clock that is wrong, and then every time of the logger is.
func (sp *spool) dated(rows []sentRow, now time.Time) []book.Fault {
	times := make([][]string, len(rows))
	for i := range rows {
		times[i] = rows[i].cells[:len(sp.logger.Mapping.Time.Columns)]
	}
	var faults []book.Fault
	begin, span, err := sp.logger.sent.Begins(times)
	var bad *series.BadFile
	if errors.As(err, &bad) {
		for _, b := range bad.Lines {
			faults = append(faults, book.Fault{Field: inLine(rows[b.Line-1].line, b.Column), Reason: b.Why, Remedy: "send the time as the logger was set up to"})
		}
		return faults
	}
	limit := now.Add(mostAhead).UnixMilli()
	for i := range rows {
		rows[i].begin, rows[i].span = begin[i], span[i]
		if begin[i] > limit {
			faults = append(faults, book.Fault{Field: inLine(rows[i].line, sp.logger.Mapping.Time.Columns[0]),
				Reason: fmt.Sprintf("it is %s, %s ahead of the server's clock", instantOf(begin[i]), time.UnixMilli(begin[i]).Sub(now).Round(time.Second)),
				Remedy: "set the logger's clock and check its zone"})
		}
	}
	return faults
}

// fresh leaves out rows, in time order, that are spooled already or stand twice,
// and refuses those that are spooled with other figures.
func (sp *spool) fresh(rows []sentRow) (fresh []sentRow, already int, faults []book.Fault) {
	say := func(r *sentRow, reason, remedy string) {
		faults = append(faults, book.Fault{Field: inLine(r.line, sp.logger.Mapping.Time.Columns[0]), Reason: reason, Remedy: remedy})
	}
	k := len(sp.logger.Mapping.Time.Columns)
	spooled := sp.current()
	for i := range rows {
		r := &rows[i]
		old := spooled.at(r.begin)
		if n := len(fresh); old == nil && n > 0 {
			switch last := &fresh[n-1]; {
			case last.begin == r.begin:
				old = last
			case last.begin+last.span > r.begin:
				say(r, fmt.Sprintf("the reading before it, of %s, lasts into it", instantOf(last.begin)), "send readings as far apart as the interval says")
				continue
			}
		}
		switch {
		case old != nil && sameCells(old.cells[k:], r.cells[k:]):
			already++
		case old != nil:
			say(r, fmt.Sprintf("the reading of %s was sent before with other figures", instantOf(r.begin)), "what was sent first stands; bring a correction in as a file")
		default:
			if words := spooled.crosses(r); words != "" {
				say(r, words, "send readings as far apart as the interval says")
				continue
			}
			fresh = append(fresh, *r)
		}
	}
	return fresh, already, faults
}

// sameCells tells whether two rows say the same, 54.30 being 54.3.
func sameCells(a, b []string) bool {
	return slices.EqualFunc(a, b, func(x, y string) bool {
		if x == y {
			return true
		}
		p, err1 := unit.ParseDecimal(x)
		q, err2 := unit.ParseDecimal(y)
		return err1 == nil && err2 == nil && p.Cmp(q) == 0
	})
}
