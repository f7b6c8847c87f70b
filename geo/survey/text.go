package survey

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"unicode/utf16"
	"unicode/utf8"
)

// MaxBytes is the size of the largest survey file that is read.
const MaxBytes = 2 << 30

// slurp reads a whole file, takes off a UTF-8 mark and turns UTF-16 with its
// mark into UTF-8.
func slurp(r io.Reader, name string) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > MaxBytes {
		return nil, fileErr(name, ErrTooLarge, "more than %d bytes", int64(MaxBytes))
	}
	switch {
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}):
		return fromUTF16(data[2:], binary.LittleEndian), nil
	case bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		return fromUTF16(data[2:], binary.BigEndian), nil
	}
	return bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")), nil
}

func fromUTF16(data []byte, order binary.ByteOrder) []byte {
	units := make([]uint16, len(data)/2)
	for i := range units {
		units[i] = order.Uint16(data[2*i:])
	}
	return []byte(string(utf16.Decode(units)))
}

// windows1252 maps the bytes 0x80 to 0x9F; unassigned ones stay as they are.
var windows1252 = [32]rune{
	'€', 0x81, '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', 0x8D, 'Ž', 0x8F,
	0x90, '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', 0x9D, 'ž', 'Ÿ',
}

// toText returns a field as text: UTF-8 if it is, else Windows-1252.
func toText(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	out := make([]rune, len(b))
	for i, c := range b {
		out[i] = rune(c)
		if c >= 0x80 && c < 0xA0 {
			out[i] = windows1252[c-0x80]
		}
	}
	return string(out)
}

// lines walks the lines of a text: LF, CR LF or CR.
type lines struct {
	data []byte
	row  int // 1-based number of the line last returned
}

// next returns the next line without its end.
func (l *lines) next() ([]byte, bool) {
	if len(l.data) == 0 {
		return nil, false
	}
	l.row++
	i := bytes.IndexByte(l.data, '\n')
	if i < 0 {
		i = len(l.data)
	}
	line := l.data[:i]
	if j := bytes.IndexByte(line, '\r'); j >= 0 && j < len(line)-1 {
		l.data = l.data[j+1:] // CR alone ends the line
		return line[:j], true
	}
	l.data = l.data[min(i+1, len(l.data)):]
	return bytes.TrimSuffix(line, []byte{'\r'}), true
}

// splitter cuts lines into fields. The fields are valid until the next call.
type splitter struct {
	sep    byte // ' ' stands for runs of blanks
	fields [][]byte
	buf    []byte // unquoted fields
}

// split cuts a line; ok is false when a quote is not closed.
func (s *splitter) split(line []byte) (fields [][]byte, ok bool) {
	s.fields, s.buf = s.fields[:0], s.buf[:0]
	for i := 0; ; {
		for i < len(line) && (line[i] == ' ' || (line[i] == '\t' && s.sep != '\t')) {
			i++
		}
		if i >= len(line) {
			if s.sep != ' ' || len(s.fields) == 0 {
				s.fields = append(s.fields, nil)
			}
			return s.fields, true
		}
		if line[i] == '"' {
			end, closed := s.quoted(line, i+1)
			if !closed {
				return s.fields, false
			}
			i = end
		} else {
			end := i
			for end < len(line) && !s.isSep(line[end]) {
				end++
			}
			s.fields = append(s.fields, bytes.TrimRight(line[i:end], " \t"))
			i = end
		}
		if s.sep == ' ' {
			continue
		}
		for i < len(line) && line[i] != s.sep {
			i++ // blanks, or stray text after a closing quote
		}
		if i >= len(line) {
			return s.fields, true
		}
		i++
	}
}

func (s *splitter) isSep(c byte) bool {
	return c == s.sep || (s.sep == ' ' && c == '\t')
}

// quoted takes the field that starts behind a quote and returns the place
// behind the closing one; two quotes stand for one.
func (s *splitter) quoted(line []byte, i int) (end int, closed bool) {
	from := len(s.buf)
	for ; i < len(line); i++ {
		if line[i] != '"' {
			s.buf = append(s.buf, line[i])
			continue
		}
		if i+1 < len(line) && line[i+1] == '"' {
			s.buf = append(s.buf, '"')
			i++
			continue
		}
		s.fields = append(s.fields, bytes.TrimSpace(s.buf[from:len(s.buf):len(s.buf)]))
		return i + 1, true
	}
	return i, false
}

// separator tells what separates the fields of a line, looking outside quotes.
func separator(line []byte) byte {
	var semicolons, tabs, commas int
	inQuotes := false
	for _, c := range line {
		switch {
		case c == '"':
			inQuotes = !inQuotes
		case inQuotes:
		case c == ';':
			semicolons++
		case c == '\t':
			tabs++
		case c == ',':
			commas++
		}
	}
	switch {
	case semicolons > 0:
		return ';'
	case tabs > 0:
		return '\t'
	case commas > 0:
		return ','
	}
	return ' '
}
