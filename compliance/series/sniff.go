package series

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Sniffed is what a delimited file shows of its own form: nothing in it is a
// guess, what the file leaves open is an error that says so.
type Sniffed struct {
	Delimiter   string
	HeaderRow   int      // line of the column names
	Header      []string // without spaces around the names
	SkipRows    int      // rows after it that are not data: units, blank
	DecimalMark string
	Layout      string
	Interval    string // seconds, "local day", or "" where stamps follow no step
}

// ErrDateOrder is wrapped when a file's dates can be read two ways.
var ErrDateOrder = errors.New("the order of day and month is not certain")

// sniffRows is how many rows are looked at.
const sniffRows = 20_000

// DateOrderError says how dates of a file can be read; it wraps ErrDateOrder.
type DateOrderError struct {
	Stamp      string // the first of them, as it stands
	Day, Month string // layouts: day first, and month first
}

// Error says what each layout would make of the stamp.
func (e *DateOrderError) Error() string {
	return fmt.Sprintf("%v: %q is %s read as day first, and %s read as month first; state the layout %q or %q",
		ErrDateOrder, e.Stamp, Spoken(e.Stamp, e.Day), Spoken(e.Stamp, e.Month), e.Day, e.Month)
}

// Unwrap returns ErrDateOrder.
func (e *DateOrderError) Unwrap() error { return ErrDateOrder }

// Sniff looks at the beginning of a file for the line that holds the columns
// named, for the form of their times and numbers, and for the step between
// times. The first column is that of the times. layout is the form of times
// where the caller knows it.
func Sniff(head []byte, columns []string, layout string) (*Sniffed, error) {
	return SniffTimes(head, columns[:1], columns[1:], layout)
}

// SniffTimes is Sniff where the time of a row may stand in two columns, date
// and time.
func SniffTimes(head []byte, times, values []string, layout string) (*Sniffed, error) {
	head = bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF"))
	s := &Sniffed{}
	if err := s.header(head, append(slices.Clone(times), values...)); err != nil {
		return nil, err
	}
	rows, err := s.rows(head)
	if err != nil {
		return nil, err
	}
	stamps := s.cells(rows, times)
	for s.SkipRows < len(stamps) && !strings.ContainsAny(stamps[s.SkipRows], "0123456789") {
		s.SkipRows++
	}
	stamps = stamps[s.SkipRows:]
	if len(stamps) == 0 {
		return nil, errors.New("no row follows the header")
	}
	s.DecimalMark = "."
	for _, v := range values {
		if s.Delimiter != "," && slices.ContainsFunc(s.cells(rows, []string{v}), commaNumber) {
			s.DecimalMark = ","
		}
	}
	if s.Layout = layout; layout == "" {
		if s.Layout, err = dateLayout(stamps); err != nil {
			return s, err
		}
	}
	s.Interval = usualStep(stamps, s.Layout)
	return s, nil
}

// cells returns the texts of columns row by row, joined by a space; rows too
// short for them are passed over.
func (s *Sniffed) cells(rows [][]string, columns []string) []string {
	at := make([]int, len(columns))
	for i, c := range columns {
		at[i] = slices.Index(s.Header, c)
	}
	var out []string
	for _, r := range rows {
		parts := make([]string, 0, len(at))
		for _, k := range at {
			if k >= 0 && k < len(r) {
				parts = append(parts, strings.TrimSpace(r[k]))
			}
		}
		if len(parts) == len(at) {
			out = append(out, strings.Join(parts, " "))
		}
	}
	return out
}

// header finds the first line that holds all the columns, whatever parts them.
func (s *Sniffed) header(head []byte, columns []string) error {
	lines := bytes.Split(head, []byte("\n"))
	var seen []string
	for i, line := range lines[:min(len(lines), 200)] {
		for _, d := range []struct {
			name string
			r    rune
		}{{",", ','}, {";", ';'}, {"tab", '\t'}, {"|", '|'}} {
			r := csv.NewReader(bytes.NewReader(line))
			r.Comma, r.LazyQuotes = d.r, true
			cells, err := r.Read()
			if err != nil {
				continue
			}
			for k := range cells {
				cells[k] = strings.TrimSpace(cells[k])
			}
			if len(seen) < len(cells) {
				seen = cells
			}
			all := true
			for _, c := range columns {
				all = all && slices.Contains(cells, c)
			}
			if all {
				s.Delimiter, s.HeaderRow, s.Header = d.name, i+1, cells
				return nil
			}
		}
	}
	return fmt.Errorf("no line holds the columns %s; the longest line among the first has %s", quoted(columns), quoted(seen))
}

func quoted(list []string) string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = strconv.Quote(w)
	}
	return strings.Join(out, ", ")
}

// rows reads the rows below the header, as far as the text goes; the last may
// be cut off and is left out.
func (s *Sniffed) rows(head []byte) ([][]string, error) {
	for range s.HeaderRow {
		i := bytes.IndexByte(head, '\n')
		if i < 0 {
			return nil, errors.New("no row follows the header")
		}
		head = head[i+1:]
	}
	r := csv.NewReader(bytes.NewReader(head))
	r.Comma, _ = map[string]rune{",": ',', ";": ';', "tab": '\t', "|": '|'}[s.Delimiter]
	r.FieldsPerRecord, r.LazyQuotes = -1, true
	var out [][]string
	for len(out) < sniffRows {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			break
		}
		out = append(out, cells)
	}
	if len(out) > 1 {
		out = out[:len(out)-1]
	}
	return out, nil
}

// commaNumber tells whether a text is a number only with a decimal comma.
func commaNumber(s string) bool {
	if strings.Count(s, ",") != 1 || strings.Contains(s, ".") {
		return false
	}
	_, err := strconv.ParseFloat(strings.Replace(strings.TrimLeft(s, "<> "), ",", ".", 1), 64)
	return err == nil
}

// dateLayout finds the form of times. Numbers with a year first are in ISO
// order; of day and month the one that passes 12 is the day, and where neither
// does the file does not say.
func dateLayout(stamps []string) (string, error) {
	first := stamps[0]
	date, clock, parted := strings.Cut(first, " ")
	sep := strings.IndexAny(date, "/.-")
	if sep == 4 || len(date) == 8 && sep < 0 || strings.Contains(date, "T") {
		if sep == 4 && date[4] != '-' {
			layout := "YYYY" + date[4:5] + "M" + date[4:5] + "D"
			if parted {
				layout += " " + clockLayout(clock)
			}
			return layout, nil
		}
		return "iso", nil
	}
	if sep < 0 {
		return "", fmt.Errorf("%q is no date this program knows; state its form with a layout: %s", first, Layouts)
	}
	mark := date[sep : sep+1]
	var over [2]string
	year := "YYYY"
	for _, s := range stamps {
		d, _, _ := strings.Cut(s, " ")
		parts := strings.Split(d, mark)
		if len(parts) != 3 {
			continue
		}
		for k := range 2 {
			if n, err := strconv.Atoi(parts[k]); err == nil && n > 12 {
				over[k] = s
			}
		}
		if len(parts[2]) == 2 {
			year = "YY"
		}
	}
	day, month := "D"+mark+"M"+mark+year, "M"+mark+"D"+mark+year
	if parted {
		day, month = day+" "+clockLayout(clock), month+" "+clockLayout(clock)
	}
	switch {
	case over[0] != "" && over[1] == "":
		return day, nil
	case over[1] != "" && over[0] == "":
		return month, nil
	case over[0] != "" && over[1] != "":
		return "", fmt.Errorf("%q and %q cannot both be dates of one form; state it with a layout: %s", over[0], over[1], Layouts)
	}
	return "", &DateOrderError{Stamp: first, Day: day, Month: month}
}

// Spoken says what a stamp is by a layout, in words: "2 January 2006".
func Spoken(s, layout string) string {
	l, err := parseLayout(layout)
	if err != nil {
		return "no date"
	}
	st, err := l.read(s)
	if err != nil {
		return "no date"
	}
	return time.UnixMilli(st.wall).UTC().Format("2 January 2006")
}

// clockLayout is the form of a clock time such as 07:30:00.125 PM.
func clockLayout(s string) string {
	upper := strings.ToUpper(s)
	ap := strings.HasSuffix(upper, "AM") || strings.HasSuffix(upper, "PM")
	body := strings.TrimSpace(strings.TrimRight(strings.TrimRight(upper, "M"), "AP"))
	out := "h:mm"
	if strings.Count(body, ":") == 2 {
		out += ":ss"
		if strings.Contains(body, ".") {
			out += ".fff"
		}
	}
	if ap {
		if strings.Contains(s, " ") {
			out += " "
		}
		out += "AP"
	}
	return out
}

// usualStep returns the step that most stamps keep from the one before, as seconds
// or as a local day, when it is also the shortest; "" when they keep none.
func usualStep(stamps []string, layout string) string {
	l, err := parseLayout(layout)
	if err != nil {
		return ""
	}
	var last int64
	count, steps, days := map[int64]int{}, 0, true
	shortest := int64(0)
	for i, s := range stamps {
		st, err := l.read(s)
		if err != nil {
			return ""
		}
		days = days && st.dateOnly
		if i > 0 {
			if d := st.wall - last; d > 0 {
				count[d]++
				steps++
				if shortest == 0 || d < shortest {
					shortest = d
				}
			}
		}
		last = st.wall
	}
	if shortest == 0 || 2*count[shortest] < steps {
		return ""
	}
	if days && shortest == 86_400_000 {
		return LocalDay
	}
	return strconv.FormatFloat(float64(shortest)/1000, 'f', -1, 64)
}
