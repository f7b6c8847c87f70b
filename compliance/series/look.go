package series

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Looked is what a delimited file looks like before anybody has said what its
// columns are. It proposes; a person decides.
type Looked struct {
	Encoding  string // "utf-8" or "latin-1"
	Mark      bool   // a byte order mark stands before the text
	Lines     []string
	Delimiter string
	HeaderRow int // from 1; 0 = none was found
	Header    []string
	Rows      [][]string // first rows below the header, as parted
	Times     []string   // columns that look like the time: one, or date and time
	Numbers   []string   // columns that hold numbers
}

// How much is looked at.
const (
	looksLines = 20
	looksRows  = 8
)

// Look tells how a file seems to be made up from its first bytes. A header is
// the first line with as many cells as most lines below it, of which one in the
// next lines is a number or a date.
func Look(head []byte) *Looked {
	out := &Looked{Encoding: "utf-8"}
	if rest, found := bytes.CutPrefix(head, []byte("\xEF\xBB\xBF")); found {
		head, out.Mark = rest, true
	}
	if !utf8.Valid(cutLast(head)) {
		out.Encoding = "latin-1"
		head = toUTF8(head)
	}
	text := strings.ReplaceAll(strings.ReplaceAll(string(head), "\r\n", "\n"), "\r", "\n")
	lines := strings.Split(text, "\n")
	if len(lines) > 200 {
		lines = lines[:200]
	} else if len(lines) > 1 {
		lines = lines[:len(lines)-1] // the last may be cut off
	}
	out.Lines = lines[:min(len(lines), looksLines)]
	best := 0
	for _, d := range []struct {
		name string
		r    rune
	}{{",", ','}, {";", ';'}, {"tab", '\t'}, {"|", '|'}} {
		parted := make([][]string, len(lines))
		width := map[int]int{}
		for i, line := range lines {
			parted[i] = cellsIn(line, d.r)
			width[len(parted[i])]++
		}
		most, n := 0, 0
		for w, k := range width {
			if w > 1 && (k*w > most*n || k*w == most*n && w > most) {
				most, n = w, k
			}
		}
		if most*n > best {
			best = most * n
			out.take(d.name, parted, most)
		}
	}
	return out
}

// take fills in what lines parted one way show.
func (l *Looked) take(delimiter string, parted [][]string, width int) {
	l.Delimiter, l.HeaderRow, l.Header, l.Rows, l.Times, l.Numbers = delimiter, 0, nil, nil, nil, nil
	for i, cells := range parted {
		if len(cells) != width || slices.ContainsFunc(cells, isData) {
			continue
		}
		for _, below := range parted[i+1 : min(len(parted), i+4)] {
			if len(below) == width && slices.ContainsFunc(below, isData) && l.HeaderRow == 0 {
				l.HeaderRow, l.Header = i+1, cells
			}
		}
		if l.HeaderRow > 0 {
			break
		}
	}
	if l.HeaderRow == 0 {
		return
	}
	for _, cells := range parted[l.HeaderRow:] {
		if len(cells) == width && len(l.Rows) < looksRows {
			l.Rows = append(l.Rows, cells)
		}
	}
	whole := false // the first time column has the clock as well
	for k, name := range l.Header {
		var filled, dates, clocks, numbers int
		for _, r := range parted[l.HeaderRow:] {
			if len(r) != width || r[k] == "" {
				continue
			}
			filled++
			switch v := r[k]; {
			case isNumber(v):
				numbers++
			case looksLikeDate(v):
				dates++
			case looksLikeClock(v):
				clocks++
			}
		}
		switch half := filled / 2; {
		case name == "":
		case dates > half && len(l.Times) == 0:
			l.Times, whole = append(l.Times, name), strings.Contains(l.Rows[0][k], ":")
		case clocks > half && len(l.Times) == 1 && !whole:
			l.Times = append(l.Times, name)
		case numbers > half:
			l.Numbers = append(l.Numbers, name)
		}
	}
}

func cellsIn(line string, comma rune) []string {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.LazyQuotes = comma, true
	cells, err := r.Read()
	if err != nil {
		return nil
	}
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells
}

// isData tells whether a cell is none of a header: a number, or a date that a name
// such as LAeq-15-min cannot be taken for.
func isData(s string) bool {
	digits := strings.IndexFunc(s, unicode.IsDigit) == 0 || len(s)-len(strings.Map(notDigit, s)) >= 4
	return isNumber(s) || digits && looksLikeDate(s)
}

func notDigit(r rune) rune {
	if unicode.IsDigit(r) {
		return -1
	}
	return r
}

// isNumber tells whether a cell is a number in either way of writing, with a
// qualifier or without.
func isNumber(s string) bool {
	s = strings.TrimLeft(s, "<> ")
	if s == "" || strings.Trim(s, "+-0123456789.,eE") != "" {
		return false
	}
	return strings.ContainsAny(s, "0123456789") && strings.Count(s, ".")+strings.Count(s, ",") <= 1 && strings.Count(s, "-") <= 2 && !looksLikeDate(s)
}

func looksLikeDate(s string) bool {
	s, _, _ = strings.Cut(strings.Replace(s, "T", " ", 1), " ")
	for _, mark := range []string{"-", "/", "."} {
		if strings.Count(s, mark) == 2 && strings.ContainsAny(s, "0123456789") && strings.IndexFunc(strings.ReplaceAll(s, mark, ""), notInDate) < 0 {
			return true
		}
	}
	return false
}

// notInDate tells whether a character is none that dates are written with: digits
// and names of months.
func notInDate(r rune) bool { return !unicode.IsDigit(r) && !unicode.IsLetter(r) }

func looksLikeClock(s string) bool {
	n := strings.Count(s, ":")
	return (n == 1 || n == 2) && strings.Trim(strings.ToUpper(s), "0123456789:. APM") == ""
}

// cutLast drops the bytes of a character that the end of the head cuts in two.
func cutLast(head []byte) []byte {
	for i := 1; i <= 3 && i <= len(head); i++ {
		if utf8.RuneStart(head[len(head)-i]) {
			if !utf8.FullRune(head[len(head)-i:]) {
				return head[:len(head)-i]
			}
			break
		}
	}
	return head
}

// toUTF8 turns ISO 8859-1 into UTF-8.
func toUTF8(b []byte) []byte {
	out := make([]rune, len(b))
	for i, c := range b {
		out[i] = rune(c)
	}
	return []byte(string(out))
}
