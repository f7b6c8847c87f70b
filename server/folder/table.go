package folder

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// maxTable is the size of the largest register or index file that is read.
const maxTable = 64 << 20

// table is a CSV file with a header row.
type table struct {
	path string
	head []headCell
	rows []row
}

// headCell is one column: its name and, in brackets behind it, its unit.
type headCell struct {
	name, unit string
	text       string // as written
}

// row is one row of data with the line it begins on.
type row struct {
	line  int
	cells []string
}

// readTable reads a CSV file strictly: UTF-8 (a mark before it is passed
// over), a header row, as many cells in every row. Rows that are wholly blank
// are passed over. What is wrong is filed; the rows that can be read are
// returned, nil when the file cannot be read as a table at all.
func readTable(path string, data []byte, f *findings) *table {
	if !plainText(path, data, f) {
		return nil
	}
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	if len(bytes.TrimSpace(data)) == 0 {
		f.say(path, 0, "", "the file is empty", "give it a header row, or remove it")
		return nil
	}
	if last := data[len(data)-1]; last != '\n' && last != '\r' {
		f.note(path, 1+bytes.Count(data, []byte("\n")), "the last line has no line end; check that the file is whole")
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1
	r.ReuseRecord = false
	head, err := r.Read()
	if err != nil {
		fileCSVError(path, err, f)
		return nil
	}
	t := &table{path: path}
	if !t.readHead(head, f) {
		return nil
	}
	t.readRows(r, f)
	return t
}

func (t *table) readRows(r *csv.Reader, f *findings) {
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			fileCSVError(t.path, err, f)
			return
		}
		line, _ := r.FieldPos(0)
		if len(cells) != len(t.head) {
			reason := fmt.Sprintf("the row has %d cells where the header has %d columns", len(cells), len(t.head))
			remedy := "put cells that hold a comma or a line end in double quotes"
			if len(cells) < len(t.head) {
				remedy = "the file may be cut off here: copy it again from where it came from; cells with nothing in them still need their commas"
			}
			f.say(t.path, line, "", reason, remedy)
			continue
		}
		blank := true
		for _, c := range cells {
			blank = blank && strings.TrimSpace(c) == ""
		}
		if !blank {
			t.rows = append(t.rows, row{line, cells})
		}
	}
}

// plainText refuses bytes that are no UTF-8 text, with the line of the first.
func plainText(path string, data []byte, f *findings) bool {
	if len(data) > maxTable {
		f.say(path, 0, "", fmt.Sprintf("larger than %d MB", maxTable>>20), "split the file")
		return false
	}
	if bytes.HasPrefix(data, []byte("\xFF\xFE")) || bytes.HasPrefix(data, []byte("\xFE\xFF")) {
		f.say(path, 1, "", "the file is UTF-16", "save it as UTF-8")
		return false
	}
	if i := bytes.IndexByte(data, 0); i >= 0 {
		f.say(path, lineAt(data, i), "", "the file holds a NUL byte, so it is no text file or is damaged", "copy it again from where it came from, or save it as CSV in UTF-8")
		return false
	}
	if !utf8.Valid(data) {
		i := 0
		for i < len(data) {
			c, n := utf8.DecodeRune(data[i:])
			if c == utf8.RuneError && n == 1 {
				break
			}
			i += n
		}
		f.say(path, lineAt(data, i), "", "the file is not UTF-8", "save it as UTF-8")
		return false
	}
	return true
}

func lineAt(data []byte, i int) int { return 1 + bytes.Count(data[:i], []byte("\n")) }

func fileCSVError(path string, err error, f *findings) {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		f.say(path, 0, "", err.Error(), "")
		return
	}
	switch {
	case errors.Is(p.Err, csv.ErrQuote):
		f.say(path, p.StartLine, "", "a quoted cell begins here and is not closed properly", "close the double quotes, or copy the file again if it is cut off; double a quote inside a cell")
	case errors.Is(p.Err, csv.ErrBareQuote):
		f.say(path, p.Line, "", "a double quote stands inside a cell that is not quoted", "put the whole cell in double quotes and double the one inside")
	default:
		f.say(path, p.Line, "", p.Err.Error(), "")
	}
}

// readHead takes names and units out of the header row.
func (t *table) readHead(cells []string, f *findings) bool {
	seen := map[string]bool{}
	ok := true
	for i, c := range cells {
		c = strings.TrimSpace(c)
		h := headCell{name: c, text: c}
		if name, unit, found := strings.Cut(c, "["); found && strings.HasSuffix(unit, "]") {
			h.name, h.unit = strings.TrimSpace(name), strings.TrimSpace(strings.TrimSuffix(unit, "]"))
		}
		switch {
		case h.name == "":
			f.say(t.path, 1, "", fmt.Sprintf("column %d has no name", i+1), "name it or remove it")
			ok = false
		case seen[h.name]:
			f.say(t.path, 1, h.name, "the column stands twice", "remove one of them")
			ok = false
		}
		seen[h.name] = true
		t.head = append(t.head, h)
	}
	return ok
}

// nearest returns the name closest to a mistyped one, or "" when none is near.
func nearest(name string, names []string) string {
	best, at := "", len(name)/2+1
	for _, n := range names {
		if d := editDistance(strings.ToLower(name), strings.ToLower(n)); d < at {
			best, at = n, d
		}
	}
	return best
}

// editDistance is the number of letters to change, add or take away, after
// Levenshtein 1966 (from memory).
func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	prev := make([]int, len(y)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := range x {
		diagonal := prev[0]
		prev[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			next := min(prev[j]+1, prev[j+1]+1, diagonal+cost)
			diagonal, prev[j+1] = prev[j+1], next
		}
	}
	return prev[len(y)]
}

// meant words the remedy for a name that is not known.
func meant(name string, names []string) string {
	if n := nearest(name, names); n != "" {
		return fmt.Sprintf("did you mean %q? known are %s", n, strings.Join(names, ", "))
	}
	return "known are " + strings.Join(names, ", ")
}
