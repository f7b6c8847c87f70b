package series

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Parsed is what a file holds.
type Parsed struct {
	Name         string
	Rows         int  // rows of data read, without those dropped
	Duplicates   int  // rows dropped because they repeat the row before
	DayPrecision bool // every stamp is a date alone
	Channels     []ParsedChannel
	Decisions    []Decision // what was done to rows, in order of the first row of each
}

// ParsedChannel is one channel of a file.
type ParsedChannel struct {
	ValueColumn
	Blocks []*Block // by UTC day, in time order
	Count  int64    // readings of whatever mark, as Digest counts them
	Valid  int64    // readings whose mark counts
	Digest [32]byte
}

// Decision is one thing done to rows in reading them: blank cells, texts that
// a flag explains, repeated rows dropped, rows left out.
type Decision struct {
	From, To int    // first and last line
	Column   string // "" for whole rows
	What     string
	Rows     int // rows it concerns
}

// ReadDelimited reads a logger file by its mapping. name stands in messages.
// Values are kept exactly as entered, with up to 18 digits; a blank cell is a
// reading with the mark Blank. A row that repeats the time and every value of
// the row before is dropped and counted; one with the same time and another
// value, a time that runs backwards, readings that overlap, a local time that
// the clock shows twice or never, and anything that is no number and not
// named in the mapping make the file bad. All bad lines are in the *BadFile
// error, and then nothing is returned.
//
// It reads r once from front to end; memory is that of the readings.
func ReadDelimited(r io.Reader, name string, m Mapping) (*Parsed, error) {
	p, err := m.plan()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	end := &tail{r: r}
	d := &reading{plan: p, bad: &BadFile{Name: name}, out: &Parsed{Name: name, DayPrecision: true}, run: map[runKey]int{}}
	if err := d.open(end); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := d.rows(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if end.any && end.last != '\n' {
		d.decide(d.line, "", "last line has no line end; the file may be cut off there")
	}
	return d.finish()
}

// reading is one file being read.
type reading struct {
	*plan
	csv    *csv.Reader
	before int // lines passed before the csv reader begins
	out    *Parsed
	bad    *BadFile

	width   int   // cells in a row; 0 = not known yet
	times   []int // columns
	values  []int
	flagged []int // qualifier columns, -1 = none
	build   []builder
	cells   []cell

	held []row // the last FooterRows rows, not yet taken
	last int64 // start of the row before
	end  int64 // and where its readings end
	any  bool
	run  map[runKey]int // last decision of its sort
	line int            // of the row in hand
}

type row struct {
	line  int
	cells []string
}

type runKey struct{ column, what string }

func (d *reading) open(r io.Reader) error {
	if d.mapping.Encoding == "latin-1" {
		r = &latin1{r: r}
	}
	in := bufio.NewReaderSize(r, 1<<16)
	head, err := in.Peek(3)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	switch {
	case string(head) == "\xef\xbb\xbf":
		if _, err := in.Discard(3); err != nil {
			return err
		}
	case len(head) >= 2 && (string(head[:2]) == "\xff\xfe" || string(head[:2]) == "\xfe\xff"):
		return errors.New("the file is UTF-16: export it as UTF-8")
	}
	for ; d.before < d.mapping.HeaderRow-1; d.before++ {
		if err := passLine(in); err != nil {
			return fmt.Errorf("the file ends at line %d, before its header in line %d: %w", d.before+1, d.mapping.HeaderRow, err)
		}
	}
	d.csv = csv.NewReader(in)
	d.csv.Comma, d.csv.FieldsPerRecord, d.csv.ReuseRecord = d.comma, -1, true
	if d.mapping.HeaderRow == 0 {
		return d.find(nil)
	}
	header, err := d.csv.Read()
	if err != nil {
		return fmt.Errorf("header in line %d: %w", d.mapping.HeaderRow, err)
	}
	return d.find(slices.Clone(header))
}

func passLine(in *bufio.Reader) error {
	for {
		_, err := in.ReadSlice('\n')
		if err == nil || !errors.Is(err, bufio.ErrBufferFull) {
			return err
		}
	}
}

// find places the columns of the mapping in the header; nil is none.
func (d *reading) find(header []string) error {
	for i := range header {
		header[i] = strings.TrimSpace(header[i])
	}
	d.width = len(header)
	var errs []error
	place := func(name string) int {
		i, err := column(header, strings.TrimSpace(name))
		if err != nil {
			errs = append(errs, err)
		}
		return i
	}
	for _, name := range d.mapping.Time.Columns {
		d.times = append(d.times, place(name))
	}
	for _, v := range d.mapping.Values {
		d.values = append(d.values, place(v.Column))
		flagged := -1
		if v.Qualifier != "" {
			flagged = place(v.Qualifier)
		}
		d.flagged = append(d.flagged, flagged)
	}
	d.build = make([]builder, len(d.values))
	d.cells = make([]cell, len(d.values))
	return errors.Join(errs...)
}

func column(header []string, name string) (int, error) {
	if number, ok := strings.CutPrefix(name, "#"); ok {
		n, err := strconv.Atoi(number)
		if err != nil || n < 1 || n > 10_000 || header != nil && n > len(header) {
			return 0, fmt.Errorf("column %s: there is no such number", name)
		}
		return n - 1, nil
	}
	if header == nil {
		return 0, fmt.Errorf("column %s: without a header row columns are named by number, such as #2", name)
	}
	i := slices.Index(header, name)
	if i < 0 {
		if !utf8.ValidString(strings.Join(header, "")) {
			return 0, fmt.Errorf("column %q is not in the header, which is not UTF-8: try the encoding latin-1", name)
		}
		return 0, fmt.Errorf("column %q is not in the header; it holds %q: correct the column, the header row or the delimiter", name, header)
	}
	if slices.Index(header[i+1:], name) >= 0 {
		return 0, fmt.Errorf("column %q stands twice in the header: name it by number, #%d or later", name, i+1)
	}
	return i, nil
}

// rows reads every row of data. Only an error of the source ends it early.
func (d *reading) rows() error {
	skip := d.mapping.SkipRows
	for {
		record, err := d.csv.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		var syntax *csv.ParseError
		if errors.As(err, &syntax) {
			d.bad.add(d.before+syntax.StartLine, "", "%v", syntax.Err)
			continue
		}
		if err != nil {
			return err
		}
		line, _ := d.csv.FieldPos(0)
		line += d.before
		if skip > 0 {
			skip--
			d.decide(line, "", "row after the header passed over")
			continue
		}
		if d.mapping.FooterRows == 0 {
			d.row(line, record)
			continue
		}
		d.held = append(d.held, row{line, cloneCells(record)})
		if len(d.held) > d.mapping.FooterRows {
			d.row(d.held[0].line, d.held[0].cells)
			d.held = d.held[1:]
		}
	}
	for _, h := range d.held {
		d.decide(h.line, "", "row at the end left out")
	}
	return nil
}

func cloneCells(record []string) []string {
	out := make([]string, len(record))
	for i, s := range record {
		out[i] = strings.Clone(s)
	}
	return out
}

// row takes one row of data.
func (d *reading) row(line int, record []string) {
	d.line = line
	if !d.fits(line, record) {
		return
	}
	start, span, ok := d.when(line, record)
	if !ok || !d.readCells(line, record) || !d.follows(line, start, span) {
		return
	}
	for i := range d.build {
		d.build[i].add(start, span, d.cells[i])
	}
	d.out.Rows++
}

// fits tells whether the row has the cells it should have. Empty cells beyond
// the header are let pass.
func (d *reading) fits(line int, record []string) bool {
	if d.width == 0 {
		d.width = len(record)
		need := slices.Max(slices.Concat(d.times, d.values, d.flagged)) + 1
		if need > d.width {
			d.bad.add(line, "", "the row has %d cells, the mapping names number %d", d.width, need)
			d.width = need
			return false
		}
	}
	for len(record) > d.width && record[len(record)-1] == "" {
		record = record[:len(record)-1]
	}
	switch {
	case len(record) < d.width:
		d.bad.add(line, "", "the row has %d cells of %d: the file may be cut off here", len(record), d.width)
	case len(record) > d.width:
		d.bad.add(line, "", "the row has %d cells, the header %d: is the delimiter or the decimal mark another?", len(record), d.width)
	default:
		return true
	}
	return false
}

// when reads the time of the row.
func (d *reading) when(line int, record []string) (start, span int64, ok bool) {
	text := record[d.times[0]]
	if len(d.times) == 2 {
		text = strings.TrimSpace(text) + " " + strings.TrimSpace(record[d.times[1]])
	}
	s, err := d.layout.read(text)
	if err == nil {
		start, err = d.clock.utc(s)
	}
	if err != nil {
		d.bad.add(line, d.mapping.Time.Columns[0], "%v", err)
		return 0, 0, false
	}
	d.out.DayPrecision = d.out.DayPrecision && s.dateOnly
	if d.localDay {
		span, ok = d.daySpan(start)
		if !ok {
			d.bad.add(line, d.mapping.Time.Columns[0], "%q is not the start of a local day", text)
		}
		return start, span, ok
	}
	return start - d.shift, d.span, true
}

// readCells reads the values of the row into d.cells.
func (d *reading) readCells(line int, record []string) bool {
	good := true
	for i, v := range d.mapping.Values {
		qualifier := ""
		if d.flagged[i] >= 0 {
			qualifier = record[d.flagged[i]]
		}
		c, flag, err := d.readCell(record[d.values[i]], qualifier)
		if err != nil {
			d.bad.add(line, v.Column, "%v", err)
			good = false
			continue
		}
		d.cells[i] = c
		switch {
		case flag != "":
			d.decide(line, v.Column, fmt.Sprintf("%q taken as %s", flag, c.mark))
		case c.mark == Blank:
			d.decide(line, v.Column, "blank cell")
		}
	}
	return good
}

// follows tells whether the row comes after the one before it.
func (d *reading) follows(line int, start, span int64) bool {
	if !d.any {
		d.any, d.last, d.end = true, start, start+span
		return true
	}
	column := d.mapping.Time.Columns[0]
	switch {
	case start < d.last:
		d.bad.add(line, column, "the time runs backwards, by %s: sort the file, or correct the clock before importing", ms(d.last-start))
		return false
	case start == d.last:
		for i := range d.build {
			if !d.build[i].last.same(d.cells[i]) {
				d.bad.add(line, d.mapping.Values[i].Column, "the row has the time of the row before and another value: remove the wrong one")
				return false
			}
		}
		d.out.Duplicates++
		d.decide(line, "", "row repeats the row before, dropped")
		return false
	case start < d.end:
		d.bad.add(line, column, "the reading begins %s before the one before it ends: the interval in the mapping is too long", ms(d.end-start))
		return false
	}
	d.last, d.end = start, start+span
	return true
}

func ms(n int64) string { return (time.Duration(n) * time.Millisecond).String() }

// decide notes what was done to a row, and joins it to the row before.
func (d *reading) decide(line int, column, what string) {
	key := runKey{column, what}
	if i, ok := d.run[key]; ok && d.out.Decisions[i].To == line-1 {
		d.out.Decisions[i].To = line
		d.out.Decisions[i].Rows++
		return
	}
	d.run[key] = len(d.out.Decisions)
	d.out.Decisions = append(d.out.Decisions, Decision{From: line, To: line, Column: column, What: what, Rows: 1})
}

func (d *reading) finish() (*Parsed, error) {
	if d.bad.Count > 0 {
		slices.SortStableFunc(d.bad.Lines, func(a, b BadLine) int { return a.Line - b.Line })
		return nil, d.bad
	}
	if d.out.Rows == 0 {
		return nil, fmt.Errorf("%s: no rows of data", d.out.Name)
	}
	for i, v := range d.mapping.Values {
		c := ParsedChannel{ValueColumn: v, Blocks: d.build[i].blocks, Valid: d.build[i].valid}
		c.Count, c.Digest = Digest(c.Blocks)
		d.out.Channels = append(d.out.Channels, c)
	}
	return d.out, nil
}
