package survey

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// maxCells bounds the grids that are read.
const maxCells = 200_000_000

// isASCIIGrid reports whether a text begins with a grid's header.
func isASCIIGrid(data []byte) bool {
	word, _ := nextWord(bytes.TrimLeft(data, " \t\r\n"))
	_, ok := gridKeys[strings.ToLower(string(word))]
	return ok
}

// gridKeys are the header words, in any case and order.
// Source: the format's published page (version 9.3); dx, dy and the British
// spelling are found in the wild.
var gridKeys = map[string]string{
	"ncols": "ncols", "nrows": "nrows", "cellsize": "cellsize", "dx": "dx", "dy": "dy",
	"xllcorner": "xllcorner", "yllcorner": "yllcorner",
	"xllcenter": "xllcenter", "yllcenter": "yllcenter", "xllcentre": "xllcenter", "yllcentre": "yllcenter",
	"nodata_value": "nodata", "nodata": "nodata",
}

// gridReader walks the words of a grid file, counting lines.
type gridReader struct {
	name string
	data []byte
	line int
}

func nextWord(data []byte) (word, rest []byte) {
	i := 0
	for i < len(data) && data[i] > ' ' {
		i++
	}
	return data[:i], data[i:]
}

// word returns the next word and the line it stands on.
func (g *gridReader) word() ([]byte, bool) {
	for len(g.data) > 0 && g.data[0] <= ' ' {
		if g.data[0] == '\n' {
			g.line++
		}
		g.data = g.data[1:]
	}
	if len(g.data) == 0 {
		return nil, false
	}
	var w []byte
	w, g.data = nextWord(g.data)
	return w, true
}

func readASCIIGrid(data []byte, name string, opts Options) (*Survey, error) {
	g := &gridReader{name: name, data: data, line: 1}
	head, err := g.header()
	if err != nil {
		return nil, err
	}
	grid, err := gridFrame(head, name)
	if err != nil {
		return nil, err
	}
	noData := -9999.0
	if v, ok := head["nodata"]; ok {
		noData = v
	}
	if err := g.levels(grid, noData); err != nil {
		return nil, err
	}
	unit := opts.Unit
	if unit == "" {
		unit = Metre
	}
	metres, err := metresPer(unit)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	grid.scale(metres)
	s := &Survey{Name: name, Format: FormatASCIIGrid, Unit: unit, Grid: grid}
	if err := s.gridPoints(noData); err != nil {
		return nil, err
	}
	return s, nil
}

// header reads pairs of key and number until a number stands alone.
func (g *gridReader) header() (map[string]float64, error) {
	head := map[string]float64{}
	for {
		before := *g
		w, ok := g.word()
		if !ok {
			return head, nil
		}
		key, known := gridKeys[strings.ToLower(string(w))]
		if !known {
			if _, ok := gridNumber(w); ok {
				*g = before
				return head, nil
			}
			return nil, fileErr(g.name, ErrFormat, "line %d: header word %q is not known; known are ncols, nrows, xllcorner or xllcenter, yllcorner or yllcenter, cellsize, nodata_value",
				g.line, toText(w[:min(len(w), 40)]))
		}
		value, ok := g.word()
		v, number := gridNumber(value)
		if !ok || !number || (math.IsNaN(v) && key != "nodata") || math.IsInf(v, 0) {
			return nil, fileErr(g.name, ErrFormat, "line %d: %s needs a number, not %q", g.line, key, toText(value[:min(len(value), 40)]))
		}
		if _, twice := head[key]; twice {
			return nil, fileErr(g.name, ErrFormat, "line %d: %s stands twice in the header", g.line, key)
		}
		head[key] = v
	}
}

// gridNumber reads a number, with decimal comma if need be (blanks separate
// the values, so a comma has no other meaning), or NaN.
func gridNumber(w []byte) (float64, bool) {
	if len(w) == 3 && strings.EqualFold(string(w), "nan") {
		return math.NaN(), true
	}
	v, _, ok := parseNumber(w)
	if !ok {
		v, _, ok = parseNumber(withPoint(w))
	}
	return v, ok
}

// gridFrame makes an empty grid from the header.
func gridFrame(head map[string]float64, name string) (*Grid, error) {
	pick := func(keys ...string) (float64, string) {
		for _, k := range keys {
			if v, ok := head[k]; ok {
				return v, k
			}
		}
		return 0, ""
	}
	cols, hasCols := pick("ncols")
	rows, hasRows := pick("nrows")
	x, xKey := pick("xllcorner", "xllcenter")
	y, yKey := pick("yllcorner", "yllcenter")
	dx, hasDX := pick("cellsize", "dx")
	dy, hasDY := pick("cellsize", "dy")
	var missing []string
	for _, m := range [][2]string{{hasCols, "ncols"}, {hasRows, "nrows"}, {xKey, "xllcorner"}, {yKey, "yllcorner"}, {hasDX, "cellsize"}, {hasDY, "cellsize (or dy)"}} {
		if m[0] == "" {
			missing = append(missing, m[1])
		}
	}
	if len(missing) > 0 {
		return nil, fileErr(name, ErrFormat, "the header lacks %s", strings.Join(missing, ", "))
	}
	if cols != math.Trunc(cols) || rows != math.Trunc(rows) || cols < 1 || rows < 1 || cols*rows > maxCells {
		return nil, fileErr(name, ErrFormat, "%v columns by %v rows: whole numbers from 1, together at most %d cells", cols, rows, maxCells)
	}
	if !(dx > 0) || !(dy > 0) {
		return nil, fileErr(name, ErrFormat, "cell size %v by %v: must be above 0", dx, dy)
	}
	if dx < 0.01 && math.Abs(x) <= 180 && math.Abs(y) <= 90 {
		return nil, fileErr(name, ErrFormat, "lower left corner %v, %v with cells of %v looks like degrees; give a grid in plane metres", x, y, dx)
	}
	// The corner is the outer edge of the lower-left cell, half a cell away.
	if xKey == "xllcorner" {
		x += dx / 2
	}
	if yKey == "yllcorner" {
		y += dy / 2
	}
	return &Grid{Cols: int(cols), Rows: int(rows), E0: x, N0: y, DE: dx, DN: dy}, nil
}

// levels reads the cells, northern row first; line ends do not matter.
func (g *gridReader) levels(grid *Grid, noData float64) error {
	want := grid.Cols * grid.Rows
	// A value takes at least two bytes, so a header cannot make us allocate
	// more than the file is worth.
	values := make([]float64, 0, min(want, len(g.data)/2+1))
	bad := FileError{Name: g.name}
	for {
		w, ok := g.word()
		if !ok {
			break
		}
		v, number := gridNumber(w)
		if !number {
			bad.add(RowError{Row: g.line, Text: fmt.Sprintf("%q is not a number", toText(w[:min(len(w), 40)])), Remedy: "write the no-data value where a level is missing"})
			continue
		}
		if isNoData(v, noData) {
			v = math.NaN()
		}
		if len(values) == want {
			return fileErr(g.name, ErrFormat, "line %d: more than the %d values that ncols and nrows promise", g.line, want)
		}
		values = append(values, v)
	}
	if err := bad.err(); err != nil {
		return err
	}
	if len(values) < want {
		return fileErr(g.name, ErrFormat, "%d of %d values, the last on line %d: was the file cut off?", len(values), want, g.line)
	}
	grid.Levels = make([]float64, want)
	for row := range grid.Rows {
		copy(grid.Levels[(grid.Rows-1-row)*grid.Cols:], values[row*grid.Cols:(row+1)*grid.Cols])
	}
	return nil
}

// isNoData compares with the file's mark; huge marks are often written with
// fewer digits in the cells than in the header.
func isNoData(v, mark float64) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) || v == mark {
		return true
	}
	return math.Abs(mark) > 1e30 && math.Abs(v) > 1e30
}

func (g *Grid) scale(metres float64) {
	if metres == 1 {
		return
	}
	g.E0, g.N0, g.DE, g.DN = g.E0*metres, g.N0*metres, g.DE*metres, g.DN*metres
	for i := range g.Levels {
		g.Levels[i] *= metres
	}
}
