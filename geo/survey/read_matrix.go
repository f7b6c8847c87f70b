package survey

import (
	"bytes"
	"fmt"
	"math"
)

// FormatMatrix is a table of levels without places.
const FormatMatrix Format = "matrix of levels"

// readMatrix reads a table of levels, rows from north to south. A first row and
// a first column that hold names instead of levels are passed over: a column
// whose numbers only count the rows is one of names.
func readMatrix(data []byte, name string, opts Options) (*Survey, error) {
	if !(opts.CellM > 0) || math.IsInf(opts.CellM+math.Abs(opts.CornerE)+math.Abs(opts.CornerN), 0) {
		return nil, fileErr(name, ErrFormat, "cells of %v: the side must be above 0", opts.CellM)
	}
	rows, lines, names, err := matrixRows(data, name, opts)
	if err != nil {
		return nil, err
	}
	bad := FileError{Name: name}
	cols := len(rows[0])
	g := &Grid{Cols: cols, Rows: len(rows), E0: opts.CornerE + opts.CellM/2, N0: opts.CornerN + opts.CellM/2, DE: opts.CellM, DN: opts.CellM, Levels: make([]float64, cols*len(rows))}
	for i, r := range rows {
		if len(r) != cols {
			bad.add(RowError{Row: lines[i], Text: fmt.Sprintf("%d levels where %d stand above", len(r), cols), Remedy: "complete the row; was the file cut off?"})
			continue
		}
		copy(g.Levels[(len(rows)-1-i)*cols:], r)
	}
	if err := bad.err(); err != nil {
		return nil, err
	}
	s := &Survey{Name: name, Format: FormatMatrix, Grid: g}
	if names > 0 {
		s.note("names in the first row or column are passed over")
	}
	if err := s.settleUnit("", opts.Unit); err != nil {
		return nil, err
	}
	metres, err := metresPer(s.Unit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	g.scale(metres)
	if s.Points = g.Points(); len(s.Points) == 0 {
		return nil, fileErr(name, ErrNoPoints, "no cell has a level")
	}
	return s, nil
}

// matrixRows reads the levels row by row, NaN where there is none, and how
// many rows and columns of names were passed over.
func matrixRows(data []byte, name string, opts Options) (rows [][]float64, at []int, names int, err error) {
	l := lines{data: data}
	var split splitter
	bad := FileError{Name: name}
	counting := true // the first column counts 1, 2, 3 …
	cells := 0
	for {
		line, ok := l.next()
		if !ok {
			break
		}
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		if split.sep == 0 {
			split.sep = separator(line)
		}
		fields, closed := split.split(line)
		if !closed {
			bad.add(RowError{Row: l.row, Text: "a quote is not closed", Remedy: "close it or remove it"})
			continue
		}
		var row []float64
		numbers := 0
		for i, f := range fields {
			if opts.DecimalComma {
				f = withPoint(f)
			}
			v, _, isNumber := parseNumber(f)
			switch {
			case isNumber && !math.IsInf(v, 0) && !noDataLevel(v):
				numbers++
			case isNumber || noDataWord(f):
				v = math.NaN()
			case len(rows) == 0 && numbers == 0: // names above
				v = math.NaN()
			case i == 0: // a name at the left
				v = math.NaN()
			default:
				bad.add(RowError{Row: l.row, Text: fmt.Sprintf("%q is not a level", toText(f[:min(len(f), 40)])), Remedy: "correct it"})
			}
			row = append(row, v)
		}
		if len(rows) == 0 && numbers == 0 {
			names++
			continue
		}
		if cells += len(row); cells > maxCells {
			return nil, nil, 0, fileErr(name, ErrTooLarge, "more than %d cells", maxCells)
		}
		rows, at = append(rows, row), append(at, l.row)
		counting = counting && len(row) > 1 && row[0] == float64(len(rows))
	}
	if err := bad.err(); err != nil {
		return nil, nil, 0, err
	}
	if len(rows) == 0 {
		return nil, nil, 0, fileErr(name, ErrNoPoints, "no row of levels")
	}
	nameless := true
	for _, r := range rows {
		nameless = nameless && len(r) > 1 && math.IsNaN(r[0])
	}
	if counting && len(rows) > 1 || nameless {
		names++
		for i := range rows {
			rows[i] = rows[i][1:]
		}
	}
	return rows, at, names, nil
}
