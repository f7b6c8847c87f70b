package survey

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"strings"
)

// WriteCSV writes the points as point,easting,northing,level,code in metres,
// with as many digits as it takes to read the same values back.
func WriteCSV(w io.Writer, s *Survey) error {
	b := bufio.NewWriter(w)
	b.WriteString("point,easting,northing,level,code\n")
	for _, p := range s.Points {
		b.WriteString(quote(p.Name))
		for _, v := range [3]float64{p.E, p.N, p.Level} {
			b.WriteByte(',')
			b.WriteString(strconv.FormatFloat(v, 'f', -1, 64))
		}
		b.WriteByte(',')
		b.WriteString(quote(p.Code))
		b.WriteByte('\n')
	}
	return b.Flush()
}

// quote protects a text field: separators, quotes and edges of blank.
func quote(s string) string {
	s = strings.Map(func(r rune) rune {
		if r == '\n' || r == '\r' {
			return ' '
		}
		return r
	}, s)
	if strings.ContainsAny(s, ",;\t\"") || strings.HasPrefix(s, " ") || strings.HasSuffix(s, " ") {
		return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
	}
	return s
}

// WriteASCIIGrid writes a grid with square or oblong cells, metres, giving
// the centre of the lower-left cell.
func WriteASCIIGrid(w io.Writer, g *Grid) error {
	b := bufio.NewWriter(w)
	line := func(key string, v float64) {
		b.WriteString(key + " " + strconv.FormatFloat(v, 'f', -1, 64) + "\n")
	}
	line("ncols", float64(g.Cols))
	line("nrows", float64(g.Rows))
	line("xllcenter", g.E0)
	line("yllcenter", g.N0)
	if g.DE == g.DN {
		line("cellsize", g.DE)
	} else {
		line("dx", g.DE)
		line("dy", g.DN)
	}
	line("nodata_value", -9999)
	for row := g.Rows - 1; row >= 0; row-- {
		for col := range g.Cols {
			if col > 0 {
				b.WriteByte(' ')
			}
			v := g.At(col, row)
			if math.IsNaN(v) {
				v = -9999
			}
			b.WriteString(strconv.FormatFloat(v, 'f', -1, 64))
		}
		b.WriteByte('\n')
	}
	return b.Flush()
}
