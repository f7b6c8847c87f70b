package survey

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// csvReader is one run over a point list.
type csvReader struct {
	name    string
	opts    Options
	lines   lines
	split   splitter
	cols    []column
	comma   bool // numbers have a decimal comma
	header  bool // the file began with a header row
	head    header
	survey  *Survey
	bad     FileError
	maxDec  int // most decimals seen in a coordinate
	atField [colDegrees + 1]int
	names   map[string]string // one copy of each code
}

func readCSV(data []byte, name string, opts Options) (*Survey, error) {
	c := &csvReader{name: name, opts: opts, lines: lines{data: data}, bad: FileError{Name: name},
		survey: &Survey{Name: name, Format: FormatCSV}, names: map[string]string{}}
	first, err := c.begin(data)
	if err != nil {
		return nil, err
	}
	if err := c.rows(first, len(data)); err != nil {
		return nil, err
	}
	if err := c.judgeBadRows(); err != nil {
		return nil, err
	}
	if len(c.survey.Points) == 0 {
		return nil, fileErr(name, ErrNoPoints, "every row was rejected or the file is empty")
	}
	if err := c.refuseDegrees(); err != nil {
		return nil, err
	}
	metres, err := metresPer(c.survey.Unit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	c.survey.scaleTo(metres)
	return c.survey, nil
}

// begin finds separator, header and columns. It returns the first line when
// that is data already, else nil.
func (c *csvReader) begin(data []byte) ([]byte, error) {
	line, ok := c.content()
	if !ok {
		return nil, fileErr(c.name, ErrNoPoints, "the file is empty")
	}
	c.split.sep = separator(line)
	fields, _ := c.split.split(line)
	c.comma = c.opts.DecimalComma || c.provesComma(data)
	h, isHeader := readHeader(fields)
	if isHeader {
		return nil, c.useHeader(h)
	}
	if c.numbers(fields) < 3 && c.headerBelow() {
		return c.begin(data)
	}
	if c.numbers(fields) < 3 {
		return nil, fileErr(c.name, ErrFormat, "line %d is neither a header with known columns nor a point: %q; begin the file with point,easting,northing,level",
			c.lines.row, toText(line[:min(len(line), 80)]))
	}
	if c.opts.Order == OrderHeader {
		return nil, c.askOrder(fields)
	}
	cols, err := orderColumns(c.opts.Order)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", c.name, err)
	}
	c.survey.Unit = c.opts.Unit
	if c.survey.Unit == "" {
		c.survey.Unit = Metre
	}
	c.setColumns(cols)
	return line, nil
}

// linesAboveHeader is how many lines of other text may stand above a header.
const linesAboveHeader = 20

// headerBelow looks for a header with easting, northing and level in the lines
// that follow, and moves on to it, saying which lines are passed over.
func (c *csvReader) headerBelow() bool {
	ahead := c.lines
	for range linesAboveHeader {
		before := ahead
		line, ok := ahead.next()
		if !ok {
			return false
		}
		s := splitter{sep: separator(line)}
		fields, _ := s.split(line)
		h, isHeader := readHeader(fields)
		if !isHeader || h.at(colEasting) < 0 || h.at(colNorthing) < 0 || h.at(colLevel) < 0 {
			continue
		}
		c.survey.Warnings = append(c.survey.Warnings, Warning{Row: before.row, Kind: KindNote, Action: Noted, Text: "the lines up to here, above the header, are passed over"})
		c.lines = before
		return true
	}
	return false
}

func (c *csvReader) useHeader(h header) error {
	c.header, c.head = true, h
	if err := h.require(c.name, colEasting, colNorthing, colLevel); err != nil {
		return err
	}
	if c.opts.Order != OrderHeader {
		if err := c.agree(h); err != nil {
			return err
		}
	}
	unit, err := h.unit(c.name, c.opts.Unit)
	if err != nil {
		return err
	}
	c.survey.Unit = unit
	if i := h.at(colEasting); strings.EqualFold(h.texts[i], "x") {
		c.survey.Warnings = append(c.survey.Warnings, Warning{Row: c.lines.row, Kind: KindNote, Action: Noted,
			Text: "column x is read as easting and y as northing"})
	}
	c.setColumns(h.cols)
	return nil
}

// agree refuses a stated order that the header contradicts.
func (c *csvReader) agree(h header) error {
	cols, err := orderColumns(c.opts.Order)
	if err != nil {
		return fmt.Errorf("%s: %w", c.name, err)
	}
	for i, col := range cols {
		if (col == colEasting || col == colNorthing || col == colLevel) && (i >= len(h.cols) || h.cols[i] != col) {
			return fileErr(c.name, ErrFormat, "the order %s is asked for, but the header reads %s; leave the order out or correct the header",
				c.opts.Order, strings.Join(h.texts, ", "))
		}
	}
	return nil
}

// askOrder refuses a file without header, showing both readings of its first row.
func (c *csvReader) askOrder(fields [][]byte) error {
	remedy := "state the order of the columns (PENZD: point, easting, northing, level, code; PNEZD: northing first)"
	if len(fields) >= 4 && c.numbers(fields[1:4]) == 3 {
		return fileErr(c.name, ErrFormat, "no header, and easting and northing are not guessed: %s; PENZD would read line %d as E %s N %s, PNEZD as E %s N %s",
			remedy, c.lines.row, toText(fields[1]), toText(fields[2]), toText(fields[2]), toText(fields[1]))
	}
	return fileErr(c.name, ErrFormat, "no header, and easting and northing are not guessed: %s, or ENZ, NEZ without point names", remedy)
}

func (c *csvReader) setColumns(cols []column) {
	c.cols = cols
	for i := range c.atField {
		c.atField[i] = -1
	}
	for i, col := range cols {
		c.atField[col] = i
	}
}

// numbers counts the fields that are numbers.
func (c *csvReader) numbers(fields [][]byte) int {
	n := 0
	for _, f := range fields {
		if _, _, ok := c.number(f); ok {
			n++
		}
	}
	return n
}

func (c *csvReader) number(f []byte) (float64, int, bool) {
	if c.comma {
		f = withPoint(f)
	}
	return parseNumber(f)
}

// provesComma reports whether a file whose fields are not separated by commas
// has numbers that can only be read with a decimal comma: more than three
// digits before it, or other than three behind. A lone "62,894" could be a
// thousand.
func (c *csvReader) provesComma(data []byte) bool {
	if c.split.sep == ',' {
		return false
	}
	look := data[:min(len(data), 1<<20)]
	s := splitter{sep: c.split.sep}
	for l := (lines{data: look}); ; {
		line, ok := l.next()
		if !ok {
			return false
		}
		fields, _ := s.split(line)
		for _, f := range fields {
			if bytes.Count(f, []byte{','}) != 1 || bytes.IndexByte(f, '.') >= 0 {
				continue
			}
			if _, _, ok := parseNumber(withPoint(f)); !ok {
				continue
			}
			i := bytes.IndexByte(f, ',')
			if len(bytes.TrimLeft(f[:i], "+-")) > 3 || len(f)-i-1 != 3 {
				return true
			}
		}
	}
}

// content returns the next line that is not blank; lines beginning with #
// before the first row are remarks.
func (c *csvReader) content() ([]byte, bool) {
	for {
		line, ok := c.lines.next()
		if !ok {
			return nil, false
		}
		if len(bytes.TrimSpace(line)) == 0 || (c.cols == nil && bytes.HasPrefix(line, []byte{'#'})) {
			continue
		}
		return line, true
	}
}

func (c *csvReader) rows(first []byte, size int) error {
	line, ok := first, first != nil
	if !ok {
		line, ok = c.content()
	}
	if ok { // a guess at the number of rows saves growing the list
		c.survey.Points = make([]Point, 0, min(size/max(len(line), 8)+16, c.opts.maxRows()))
	}
	for n := 0; ok; n++ {
		if n >= c.opts.maxRows() {
			return fileErr(c.name, ErrTooLarge, "more than %d rows", c.opts.maxRows())
		}
		c.row(line)
		line, ok = c.content()
	}
	return nil
}

// row reads one line into a point, a rejection or a bad row.
func (c *csvReader) row(line []byte) {
	row := c.lines.row
	fields, closed := c.split.split(line)
	if !closed {
		c.bad.add(RowError{Row: row, Text: "a quote is not closed", Remedy: "close it or remove it"})
		return
	}
	p := Point{Row: row, Name: c.text(fields, colName), Code: c.code(fields)}
	if len(fields) <= max(c.atField[colEasting], c.atField[colNorthing], c.atField[colLevel]) {
		c.bad.add(RowError{Row: row, Text: fmt.Sprintf("only %d of %d columns", len(fields), len(c.cols)), Remedy: "complete the row; was the file cut off?"})
		return
	}
	var values [3]float64
	for i, col := range [3]column{colEasting, colNorthing, colLevel} {
		at := c.atField[col]
		v, decimals, ok := c.number(fields[at])
		if !ok && noDataWord(fields[at]) || ok && col == colLevel && noDataLevel(v) {
			c.reject(p, columnNames[col], fields[at])
			return
		}
		if !ok || math.IsInf(v, 0) {
			c.badNumber(row, col, fields[at])
			return
		}
		if col != colLevel {
			c.maxDec = max(c.maxDec, decimals)
		}
		values[i] = v
	}
	p.E, p.N, p.Level = values[0], values[1], values[2]
	c.survey.Points = append(c.survey.Points, p)
}

func (c *csvReader) text(fields [][]byte, col column) string {
	if at := c.atField[col]; at >= 0 && at < len(fields) {
		return toText(fields[at])
	}
	return ""
}

// code returns the feature code, kept once for all points that share it.
func (c *csvReader) code(fields [][]byte) string {
	at := c.atField[colCode]
	if at < 0 || at >= len(fields) || len(fields[at]) == 0 {
		return ""
	}
	if s, ok := c.names[string(fields[at])]; ok {
		return s
	}
	s := toText(fields[at])
	if len(c.names) < 10_000 {
		c.names[string(fields[at])] = s
	}
	return s
}

func (c *csvReader) reject(p Point, what string, field []byte) {
	c.survey.Warnings = append(c.survey.Warnings, Warning{Row: p.Row, Point: p.Name, Kind: KindNoData, Action: Rejected,
		Text: fmt.Sprintf("no %s: %q", what, toText(field))})
}

func (c *csvReader) badNumber(row int, col column, field []byte) {
	e := RowError{Row: row, Column: columnNames[col], Text: fmt.Sprintf("%q is not a number", toText(field[:min(len(field), 40)])), Remedy: "correct it"}
	if _, _, ok := parseNumber(withPoint(field)); ok && bytes.IndexByte(field, ',') >= 0 {
		e.Remedy = "if the comma is a decimal comma, read the file with that number format"
	}
	c.bad.add(e)
}

// judgeBadRows fails the file, or turns bad rows into warnings when asked to.
func (c *csvReader) judgeBadRows() error {
	if !c.opts.RejectBadRows {
		return c.bad.err()
	}
	for _, r := range c.bad.Rows {
		c.survey.Warnings = append(c.survey.Warnings, Warning{Row: r.Row, Kind: KindBadRow, Action: Rejected, Text: strings.TrimPrefix(r.String(), fmt.Sprintf("line %d, ", r.Row))})
	}
	sortWarnings(c.survey.Warnings)
	return nil
}

// refuseDegrees refuses points that can only be longitude and latitude: all
// within half a unit of each other, in range, with six decimals or more.
func (c *csvReader) refuseDegrees() error {
	b := extentOf(c.survey.Points)
	degrees := func(lon0, lon1, lat0, lat1 float64) bool {
		return lon0 >= -180 && lon1 <= 180 && lat0 >= -90 && lat1 <= 90
	}
	if len(c.survey.Points) < 3 || c.maxDec < 6 || b.MaxX-b.MinX > 0.5 || b.MaxY-b.MinY > 0.5 {
		return nil
	}
	if degrees(b.MinX, b.MaxX, b.MinY, b.MaxY) || degrees(b.MinY, b.MaxY, b.MinX, b.MaxX) {
		return fileErr(c.name, ErrFormat, "the points, all near %.6f, %.6f, look like longitude and latitude; give plane grid metres (project the survey to the site's grid first)", b.MinX, b.MinY)
	}
	return nil
}
