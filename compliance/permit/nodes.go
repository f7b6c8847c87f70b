package permit

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"go.yaml.in/yaml/v3"
)

// reader walks the nodes of one text and gathers every fault it meets.
type reader struct {
	file   string
	faults Faults
}

// item is a node with its path from the top.
type item struct {
	r    *reader
	node *yaml.Node
	path string
}

func (r *reader) fault(n *yaml.Node, path, reason, remedy string) {
	r.faults = append(r.faults, Fault{File: r.file, Line: n.Line, Column: n.Column, Field: path, Reason: reason, Remedy: remedy})
}

// fault notes that the item is wrong.
func (it item) fault(reason, remedy string) { it.r.fault(it.node, it.path, reason, remedy) }

// wrong notes an error met in the item's text.
func (it item) wrong(err error) {
	if m, ok := err.(*miswritten); ok {
		it.fault(m.reason, m.remedy)
		return
	}
	it.fault(err.Error(), "")
}

// miswritten is why a piece of text is not of the language.
type miswritten struct{ reason, remedy string }

func (m *miswritten) Error() string { return m.reason + "; " + m.remedy }

func misread(remedy, format string, args ...any) error {
	return &miswritten{reason: fmt.Sprintf(format, args...), remedy: remedy}
}

func (it item) mark() Mark { return Mark{it.node.Line, it.node.Column} }

func (it item) child(n *yaml.Node, key string) item { return item{it.r, n, joinPath(it.path, key)} }

func joinPath(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// isMap and isList tell what a value is; an alias, which inspect has refused,
// is neither.
func (it item) isMap() bool  { return it.node.Kind == yaml.MappingNode }
func (it item) isList() bool { return it.node.Kind == yaml.SequenceNode }

// text returns a scalar as it was typed, without blanks around it.
func (it item) text() (string, bool) {
	switch {
	case it.node.Kind == yaml.AliasNode:
		return "", false
	case it.node.Kind != yaml.ScalarNode:
		it.fault("text is wanted here, not "+shape(it.node), "write one value")
		return "", false
	}
	s := strings.ReplaceAll(strings.ReplaceAll(it.node.Value, "\r\n", "\n"), "\r", "\n")
	for _, c := range s {
		if unicode.IsControl(c) && c != '\n' && c != '\t' || unicode.In(c, unicode.Zl, unicode.Zp) || c == '\uFEFF' {
			it.fault(fmt.Sprintf("the text holds the unprintable character %U", c), "remove it")
			return "", false
		}
	}
	s = strings.TrimSpace(s)
	if s == "" || it.node.Tag == "!!null" {
		it.fault("the value is empty", "write one, or leave the key out")
		return "", false
	}
	return s, true
}

// line returns a scalar of one line.
func (it item) line() (string, bool) {
	s, ok := it.text()
	if ok && strings.ContainsAny(s, "\n\t") {
		it.fault("one line is wanted here, without tabs", "put it on one line")
		return "", false
	}
	return s, ok
}

func shape(n *yaml.Node) string {
	switch n.Kind {
	case yaml.MappingNode:
		return "keys with values"
	case yaml.SequenceNode:
		return "a list"
	}
	return "a single value"
}

// list returns the members of a list that must not be empty.
func (it item) list() []item {
	if it.node.Kind == yaml.AliasNode {
		return nil
	}
	if !it.isList() {
		it.fault("a list is wanted here, not "+shape(it.node), "write - before each member, or [a, b]")
		return nil
	}
	if len(it.node.Content) == 0 {
		it.fault("the list is empty", "write its members, or leave the key out")
	}
	out := make([]item, len(it.node.Content))
	for i, n := range it.node.Content {
		out[i] = item{it.r, n, it.path + "[" + strconv.Itoa(i) + "]"}
	}
	return out
}

// lines returns a list of one-line texts; a single text is a list of one.
func (it item) lines() []string {
	members := []item{it}
	if !(it.node.Kind == yaml.ScalarNode) {
		members = it.list()
	}
	var out []string
	for _, m := range members {
		s, ok := m.line()
		if !ok {
			continue
		}
		for _, one := range out {
			if one == s {
				m.fault(fmt.Sprintf("%q stands twice", s), "keep one")
			}
		}
		out = append(out, s)
	}
	return out
}

// fields are the keys of a mapping with their values.
type fields struct {
	item
	order  []string
	values map[string]*yaml.Node
}

// fields reads a mapping and notes every key that is not among words.
func (it item) fields(words ...string) (fields, bool) {
	f := fields{item: it, values: map[string]*yaml.Node{}}
	if it.node.Kind == yaml.AliasNode {
		return f, false
	}
	if !it.isMap() {
		it.fault("keys with values are wanted here, not "+shape(it.node), "write key: value; "+known("", words))
		return f, false
	}
	for i := 0; i+1 < len(it.node.Content); i += 2 {
		k, v := it.node.Content[i], it.node.Content[i+1]
		if k.Kind != yaml.ScalarNode || k.Tag == "!!merge" {
			continue // inspect has refused it
		}
		if !among(k.Value, words) {
			it.r.fault(k, joinPath(it.path, k.Value), fmt.Sprintf("the word %q is not known here", k.Value), known(k.Value, words))
			continue
		}
		if f.values[k.Value] == nil {
			f.order = append(f.order, k.Value)
			f.values[k.Value] = v
		}
	}
	return f, true
}

func among(word string, words []string) bool {
	for _, w := range words {
		if w == word {
			return true
		}
	}
	return false
}

func (f fields) has(key string) bool { return f.values[key] != nil }

// get returns the value of a key, and whether it stands.
func (f fields) get(key string) (item, bool) {
	n := f.values[key]
	if n == nil {
		return item{}, false
	}
	return f.child(n, key), true
}

// need is get for a key that must stand.
func (f fields) need(key, remedy string) (item, bool) {
	it, ok := f.get(key)
	if !ok {
		f.r.fault(f.node, joinPath(f.path, key), key+" is missing", remedy)
	}
	return it, ok
}

// line returns the one-line text of a key, "" when it does not stand.
func (f fields) line(key string) string {
	if it, ok := f.get(key); ok {
		s, _ := it.line()
		return s
	}
	return ""
}

// where returns the places of the keys; nil when the text had none.
func (f fields) where() Where {
	if f.node.Line == 0 {
		return nil
	}
	w := Where{"": {f.node.Line, f.node.Column}}
	for _, k := range f.order {
		w[k] = Mark{f.values[k].Line, f.values[k].Column}
	}
	return w
}

// word reads one of a closed list of words.
func word[T ~string](it item, words ...T) (T, bool) {
	s, ok := it.line()
	if !ok {
		return "", false
	}
	for _, w := range words {
		if string(w) == s {
			return w, true
		}
	}
	it.fault(fmt.Sprintf("the word %q is not known here", s), known(s, plain(words)))
	return "", false
}

func plain[T ~string](words []T) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return out
}

// set reads the word of a key into dst, which holds the default.
func set[T ~string](f fields, key string, dst *T, words ...T) {
	if it, ok := f.get(key); ok {
		if w, ok := word(it, words...); ok {
			*dst = w
		}
	}
}

// parsed reads the text of a key with parse into dst.
func parsed[T any](f fields, key string, dst *T, parse func(string) (T, error)) {
	it, ok := f.get(key)
	if !ok {
		return
	}
	s, ok := it.line()
	if !ok {
		return
	}
	v, err := parse(s)
	if err != nil {
		it.wrong(err)
		return
	}
	*dst = v
}
