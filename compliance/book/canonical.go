package book

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"sort"
	"strconv"
	"unicode/utf8"
)

// MaxInteger is the largest magnitude a JSON number may have in an entry:
// 2^53 - 1, the last integer that every JSON reader holds exactly.
const MaxInteger = 1<<53 - 1

// maxDepth bounds nesting, so that hostile input cannot exhaust the stack.
const maxDepth = 64

// Object is a JSON object as entries hold it. Values are string, int64, bool,
// []any (of the same) or Object; decimals are strings, nothing is null.
type Object map[string]any

// SyntaxError tells where a JSON text departs from what an entry may hold.
type SyntaxError struct {
	Offset int64  // bytes from the start of the text
	Path   string // dotted path of the member, "" at the top
	Reason string // what is wrong and what to write instead
}

func (e *SyntaxError) Error() string {
	if e.Path == "" {
		return fmt.Sprintf("byte %d: %s", e.Offset, e.Reason)
	}
	return fmt.Sprintf("byte %d, %s: %s", e.Offset, e.Path, e.Reason)
}

// ParseObject reads one JSON object under the rules of FORMAT.md section 1:
// invalid UTF-8, duplicate keys, lone surrogates and numbers that are not
// integers within ±MaxInteger are refused; members that are null are dropped;
// null in a list is refused. Nothing may follow the object.
func ParseObject(text []byte) (Object, error) {
	if !utf8.Valid(text) {
		return nil, &SyntaxError{Offset: firstInvalid(text), Reason: "not UTF-8; save the text as UTF-8"}
	}
	p := parser{dec: json.NewDecoder(bytes.NewReader(text)), text: text}
	p.dec.UseNumber()
	v, err := p.value("", 0)
	if err != nil {
		return nil, err
	}
	o, ok := v.(Object)
	if !ok {
		return nil, p.fail("", "an object is wanted here, { … }")
	}
	if _, err := p.dec.Token(); err != io.EOF {
		return nil, p.fail("", "something follows the object; remove it")
	}
	return o, nil
}

// Canonical returns the canonical bytes of a JSON object text.
func Canonical(text []byte) ([]byte, error) {
	o, err := ParseObject(text)
	if err != nil {
		return nil, err
	}
	return o.Bytes(), nil
}

// Bytes returns the canonical bytes of the object: UTF-8, keys in byte order,
// no spaces, strings escaped only where JSON demands it.
func (o Object) Bytes() []byte { return appendValue(nil, o) }

type parser struct {
	dec  *json.Decoder
	text []byte
}

func (p *parser) fail(path, reason string) error {
	return &SyntaxError{Offset: p.dec.InputOffset(), Path: path, Reason: reason}
}

func (p *parser) value(path string, depth int) (any, error) {
	if depth > maxDepth {
		return nil, p.fail(path, fmt.Sprintf("nested deeper than %d", maxDepth))
	}
	before := p.dec.InputOffset()
	t, err := p.dec.Token()
	if err != nil {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return nil, p.fail(path, "not JSON: "+err.Error())
	}
	switch t := t.(type) {
	case json.Delim:
		if t == '{' {
			return p.object(path, depth)
		}
		return p.list(path, depth)
	case string:
		if badSurrogate(p.text[before:p.dec.InputOffset()]) {
			return nil, p.fail(path, "half of a surrogate pair; write the character itself")
		}
		return t, nil
	case json.Number:
		n, err := strconv.ParseInt(t.String(), 10, 64)
		if err != nil || n > MaxInteger || n < -MaxInteger || t.String() == "-0" {
			return nil, p.fail(path, fmt.Sprintf("number %s: only whole numbers below 2^53 stand bare; write a decimal as text, %q", t, t.String()))
		}
		return n, nil
	case bool:
		return t, nil
	}
	return nil, nil // JSON null: the caller drops or refuses it
}

func (p *parser) object(path string, depth int) (any, error) {
	o := Object{}
	seen := map[string]bool{}
	for p.dec.More() {
		before := p.dec.InputOffset()
		t, err := p.dec.Token()
		if err != nil {
			return nil, p.fail(path, "not JSON: "+err.Error())
		}
		key := t.(string)
		at := join(path, key)
		if badSurrogate(p.text[before:p.dec.InputOffset()]) {
			return nil, p.fail(at, "half of a surrogate pair; write the character itself")
		}
		if seen[key] {
			return nil, p.fail(at, "the key stands twice; keep one")
		}
		seen[key] = true
		v, err := p.value(at, depth+1)
		if err != nil {
			return nil, err
		}
		if v != nil {
			o[key] = v
		}
	}
	if _, err := p.dec.Token(); err != nil {
		return nil, p.fail(path, "not JSON: the object is not closed")
	}
	return o, nil
}

func (p *parser) list(path string, depth int) (any, error) {
	l := []any{}
	for p.dec.More() {
		at := join(path, strconv.Itoa(len(l)))
		v, err := p.value(at, depth+1)
		if err != nil {
			return nil, err
		}
		if v == nil {
			return nil, p.fail(at, "null in a list; leave the item out")
		}
		l = append(l, v)
	}
	if _, err := p.dec.Token(); err != nil {
		return nil, p.fail(path, "not JSON: the list is not closed")
	}
	return l, nil
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// badSurrogate reports a \u escape of half a surrogate pair in a raw JSON string.
func badSurrogate(raw []byte) bool {
	for i := 0; i+1 < len(raw); i++ {
		if raw[i] != '\\' {
			continue
		}
		if raw[i+1] != 'u' {
			i++
			continue
		}
		u := hex4(raw[i+2:])
		i += 5
		if u >= 0xDC00 && u <= 0xDFFF {
			return true
		}
		if u < 0xD800 || u > 0xDBFF {
			continue
		}
		if i+2 >= len(raw) || raw[i+1] != '\\' || raw[i+2] != 'u' {
			return true
		}
		if lo := hex4(raw[i+3:]); lo < 0xDC00 || lo > 0xDFFF {
			return true
		}
		i += 6
	}
	return false
}

func hex4(b []byte) int64 {
	if len(b) < 4 {
		return 0
	}
	n, err := strconv.ParseInt(string(b[:4]), 16, 32)
	if err != nil {
		return 0
	}
	return n
}

func firstInvalid(text []byte) int64 {
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && n == 1 {
			return int64(i)
		}
		i += n
	}
	return int64(len(text))
}

func appendValue(b []byte, v any) []byte {
	switch v := v.(type) {
	case Object:
		keys := make([]string, 0, len(v))
		for k := range v {
			keys = append(keys, k)
		}
		sort.Strings(keys)
		b = append(b, '{')
		for i, k := range keys {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendString(b, k)
			b = append(b, ':')
			b = appendValue(b, v[k])
		}
		return append(b, '}')
	case []any:
		b = append(b, '[')
		for i, e := range v {
			if i > 0 {
				b = append(b, ',')
			}
			b = appendValue(b, e)
		}
		return append(b, ']')
	case string:
		return appendString(b, v)
	case int64:
		return strconv.AppendInt(b, v, 10)
	case bool:
		return strconv.AppendBool(b, v)
	}
	// Object is built by this module's code or by ParseObject; another type is
	// a fault of the program, and its text would break the chain unseen.
	return appendString(b, fmt.Sprintf("unknown value %T", v))
}

const hexDigits = "0123456789abcdef"

func appendString(b []byte, s string) []byte {
	b = append(b, '"')
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '"' || c == '\\':
			b = append(b, '\\', c)
		case c >= 0x20:
			b = append(b, c)
		case c == '\b':
			b = append(b, '\\', 'b')
		case c == '\t':
			b = append(b, '\\', 't')
		case c == '\n':
			b = append(b, '\\', 'n')
		case c == '\f':
			b = append(b, '\\', 'f')
		case c == '\r':
			b = append(b, '\\', 'r')
		default:
			b = append(b, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
		}
	}
	return append(b, '"')
}
