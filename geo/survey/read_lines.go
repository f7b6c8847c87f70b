package survey

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
)

// table walks the rows of a small CSV file with a header.
type table struct {
	name  string
	lines lines
	split splitter
	head  header
	bad   FileError
}

// openTable reads the header and checks that it has the wanted columns.
func openTable(data []byte, name string) (*table, error) {
	t := &table{name: name, lines: lines{data: data}, bad: FileError{Name: name}}
	for {
		line, ok := t.lines.next()
		if !ok {
			return nil, fileErr(name, ErrFormat, "the file is empty")
		}
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		t.split.sep = separator(line)
		fields, _ := t.split.split(line)
		for _, f := range fields {
			col, unit := heading(toText(f))
			t.head.cols, t.head.units, t.head.texts = append(t.head.cols, col), append(t.head.units, unit), append(t.head.texts, toText(f))
		}
		return t, nil
	}
}

// next returns the next row with all its columns; short rows are noted as bad.
func (t *table) next() ([][]byte, bool) {
	for {
		line, ok := t.lines.next()
		if !ok {
			return nil, false
		}
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		fields, closed := t.split.split(line)
		if closed && len(fields) >= len(t.head.cols) {
			return fields, true
		}
		t.bad.add(RowError{Row: t.lines.row, Text: fmt.Sprintf("only %d of %d columns", len(fields), len(t.head.cols)), Remedy: "complete the row; was the file cut off?"})
	}
}

// length reads a finite number, noting it as bad otherwise.
func (t *table) length(f []byte, col column) (float64, bool) {
	v, _, ok := parseNumber(f)
	if !ok || math.IsInf(v, 0) {
		t.bad.add(RowError{Row: t.lines.row, Column: columnNames[col], Text: fmt.Sprintf("%q is not a number", toText(f[:min(len(f), 40)])), Remedy: "correct it"})
		return 0, false
	}
	return v, true
}

// ReadBreaklines reads the breaklines of a survey: a CSV with columns from,
// to holding point names of s; or line, easting, northing, level with the
// corners of each line in order; or GeoJSON lines with levels. Metres.
func ReadBreaklines(r io.Reader, name string, s *Survey) ([]Breakline, error) {
	data, err := slurp(r, name)
	if err != nil {
		return nil, err
	}
	if head := bytes.TrimLeft(data, " \t\r\n"); len(head) > 0 && head[0] == '{' {
		return geoJSONLines(data, name)
	}
	t, err := openTable(data, name)
	if err != nil {
		return nil, err
	}
	if t.head.at(colFrom) >= 0 || t.head.at(colTo) >= 0 {
		if err := t.head.require(name, colFrom, colTo); err != nil {
			return nil, err
		}
		return t.namedLines(s)
	}
	if err := t.head.require(name, colLine, colEasting, colNorthing, colLevel); err != nil {
		return nil, err
	}
	return t.cornerLines()
}

// namedLines joins points of the survey by name.
func (t *table) namedLines(s *Survey) ([]Breakline, error) {
	const twice = -1
	byName := map[string]int{}
	for i, p := range s.Points {
		j, seen := byName[p.Name]
		switch {
		case !seen:
			byName[p.Name] = i
		case j != twice && (s.Points[j].E != p.E || s.Points[j].N != p.N):
			byName[p.Name] = twice
		}
	}
	var out []Breakline
	for {
		f, ok := t.next()
		if !ok {
			return out, t.bad.err()
		}
		line := Breakline{Name: fmt.Sprintf("line %d", t.lines.row)}
		for _, col := range [2]column{colFrom, colTo} {
			name := toText(f[t.head.at(col)])
			i, known := byName[name]
			switch {
			case !known:
				t.bad.add(RowError{Row: t.lines.row, Column: columnNames[col], Text: fmt.Sprintf("no point is called %q", name), Remedy: "use a name from the survey"})
			case i == twice:
				t.bad.add(RowError{Row: t.lines.row, Column: columnNames[col], Text: fmt.Sprintf("the name %q stands for several points", name), Remedy: "give each point its own name"})
			default:
				p := s.Points[i]
				line.Vertices = append(line.Vertices, Vertex{p.E, p.N, p.Level, t.lines.row})
			}
		}
		out = append(out, line)
	}
}

// cornerLines reads lines given by the coordinates of their corners.
func (t *table) cornerLines() ([]Breakline, error) {
	var out []Breakline
	index := map[string]int{}
	le, ln, ll, lz := t.head.at(colEasting), t.head.at(colNorthing), t.head.at(colLine), t.head.at(colLevel)
	for {
		f, ok := t.next()
		if !ok {
			break
		}
		e, okE := t.length(f[le], colEasting)
		n, okN := t.length(f[ln], colNorthing)
		z, okZ := t.length(f[lz], colLevel)
		if !okE || !okN || !okZ {
			continue
		}
		name := toText(f[ll])
		i, known := index[name]
		if !known {
			i = len(out)
			index[name] = i
			out = append(out, Breakline{Name: name})
		}
		out[i].Vertices = append(out[i].Vertices, Vertex{e, n, z, t.lines.row})
	}
	for _, l := range out {
		if len(l.Vertices) < 2 {
			t.bad.add(RowError{Row: l.Vertices[0].Row, Column: "line", Text: fmt.Sprintf("line %q has one corner only", l.Name), Remedy: "give at least two"})
		}
	}
	return out, t.bad.err()
}

// ReadBoundary reads the rings of an area: a CSV with columns ring (0 outer,
// others holes), easting, northing; without a ring column one outer ring.
// Rings are returned in order of their number. Metres.
func ReadBoundary(r io.Reader, name string) ([][]Vertex, error) {
	data, err := slurp(r, name)
	if err != nil {
		return nil, err
	}
	t, err := openTable(data, name)
	if err != nil {
		return nil, err
	}
	if err := t.head.require(name, colEasting, colNorthing); err != nil {
		return nil, err
	}
	var rings [][]Vertex
	le, ln, lr, lz := t.head.at(colEasting), t.head.at(colNorthing), t.head.at(colRing), t.head.at(colLevel)
	for {
		f, ok := t.next()
		if !ok {
			break
		}
		ring := 0
		if lr >= 0 {
			if ring, err = strconv.Atoi(string(f[lr])); err != nil || ring < 0 || ring > len(rings) {
				t.bad.add(RowError{Row: t.lines.row, Column: "ring", Text: fmt.Sprintf("%q: rings are numbered 0, 1, 2 … in order", toText(f[lr][:min(len(f[lr]), 40)])), Remedy: "number the outer ring 0 and the holes from 1"})
				continue
			}
		}
		e, okE := t.length(f[le], colEasting)
		n, okN := t.length(f[ln], colNorthing)
		level := math.NaN()
		if lz >= 0 {
			if level, ok = t.length(f[lz], colLevel); !ok {
				continue
			}
		}
		if !okE || !okN {
			continue
		}
		if ring == len(rings) {
			rings = append(rings, nil)
		}
		rings[ring] = append(rings[ring], Vertex{e, n, level, t.lines.row})
	}
	if err := t.bad.err(); err != nil {
		return nil, err
	}
	if len(rings) == 0 {
		return nil, fileErr(name, ErrNoPoints, "no ring")
	}
	return rings, nil
}

// ReadFaces reads triangles of a survey: a CSV with columns a, b, c holding
// 1-based positions in the list of points. Triangles are turned anticlockwise.
func ReadFaces(r io.Reader, name string, s *Survey) ([][3]int32, error) {
	data, err := slurp(r, name)
	if err != nil {
		return nil, err
	}
	t, err := openTable(data, name)
	if err != nil {
		return nil, err
	}
	if err := t.head.require(name, colA, colB, colC); err != nil {
		return nil, err
	}
	var out [][3]int32
	cols := [3]column{colA, colB, colC}
	for {
		f, ok := t.next()
		if !ok {
			return out, t.bad.err()
		}
		var tri [3]int32
		good := true
		for i, col := range cols {
			v, err := strconv.Atoi(string(f[t.head.at(col)]))
			if err != nil || v < 1 || v > len(s.Points) {
				t.bad.add(RowError{Row: t.lines.row, Column: columnNames[col], Text: fmt.Sprintf("%q is not a point number from 1 to %d", toText(f[t.head.at(col)]), len(s.Points)), Remedy: "count the points from 1"})
				good = false
				break
			}
			tri[i] = int32(v - 1)
		}
		if good {
			out = append(out, tri)
		}
	}
}
