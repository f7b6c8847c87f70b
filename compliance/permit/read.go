package permit

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"
)

// MaxText is the longest text of a notice that Read takes, in bytes. A notice
// of a hundred clauses is some 100 kB.
const MaxText = 4 << 20

// maxDepth bounds nesting; the language needs six levels.
const maxDepth = 24

// Read reads a notice from YAML or JSON; name is the file's name, for
// messages. Scalars are taken as typed: 1.10 stays 1.10, 55.0 keeps its
// decimal. Every default comes back resolved.
//
// A text that is not of the language returns Faults: all of them at once, each
// with line, column and remedy. Whether what is said makes sense, Check tells.
func Read(r io.Reader, name string) (*Notice, error) {
	text, err := io.ReadAll(io.LimitReader(r, MaxText+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	rd := &reader{file: name}
	top := rd.parse(text)
	if top == nil {
		return nil, rd.faults.err()
	}
	n := rd.notice(item{rd, top, ""})
	if err := rd.faults.err(); err != nil {
		return nil, err
	}
	n.File = name
	return n, nil
}

// parse turns the text into one node, or notes why it cannot.
func (r *reader) parse(text []byte) *yaml.Node {
	if len(text) > MaxText {
		r.faults = append(r.faults, Fault{File: r.file, Reason: fmt.Sprintf("the text is longer than %d bytes", MaxText), Remedy: "split the notice, or see whether this is another file"})
		return nil
	}
	if !r.readable(text) {
		return nil
	}
	top := r.document(text)
	if top == nil {
		return nil
	}
	before := len(r.faults)
	r.inspect(top, "", 0)
	if len(r.faults) > before && top.Kind != yaml.MappingNode {
		return nil
	}
	return top
}

// readable refuses bytes that no text holds, with their place.
func (r *reader) readable(text []byte) bool {
	line, column := 1, 1
	for i := 0; i < len(text); {
		c, n := utf8.DecodeRune(text[i:])
		switch {
		case c == utf8.RuneError && n == 1:
			r.at(line, column, "the text is not UTF-8", "save the file as UTF-8")
			return false
		case c < 0x20 && c != '\n' && c != '\r' && c != '\t' || c == 0x7F:
			r.at(line, column, fmt.Sprintf("the text holds the unprintable character %U", c), "remove it")
			return false
		}
		column++
		if c == '\n' {
			line, column = line+1, 1
		}
		i += n
	}
	return true
}

func (r *reader) at(line, column int, reason, remedy string) {
	r.faults = append(r.faults, Fault{File: r.file, Line: line, Column: column, Reason: reason, Remedy: remedy})
}

// document parses the text as JSON when it is that, else as YAML.
func (r *reader) document(text []byte) *yaml.Node {
	if json.Valid(text) {
		return jsonNode(text)
	}
	dec := yaml.NewDecoder(bytes.NewReader(text))
	var doc yaml.Node
	switch err := dec.Decode(&doc); {
	case errors.Is(err, io.EOF) || err == nil && len(doc.Content) == 0:
		r.at(1, 1, "the file holds no notice", "begin with permit: and the notice's reference")
		return nil
	case err != nil:
		r.syntax(text, err)
		return nil
	}
	var second yaml.Node
	switch err := dec.Decode(&second); {
	case err == nil:
		r.fault(&second, "", "a second document follows", "keep one notice in a file")
	case !errors.Is(err, io.EOF):
		r.syntax(text, err)
		return nil
	}
	return doc.Content[0]
}

var (
	errorLine   = regexp.MustCompile(`^yaml: line (\d+): (.*)$`)
	errorAnchor = regexp.MustCompile(`^yaml: unknown anchor '(.*)' referenced$`)
	bareAtLeast = regexp.MustCompile(`(?:^\s*-|[:,\[])\s+(>=?\s*-?[0-9][^,\]}]*)`)
)

// syntax turns an error of the YAML parser into a fault with its place.
func (r *reader) syntax(text []byte, err error) {
	lines := strings.Split(string(text), "\n")
	if m := errorAnchor.FindStringSubmatch(err.Error()); m != nil {
		for i, l := range lines {
			if k := strings.Index(l, "*"+m[1]); k >= 0 {
				r.at(i+1, utf8.RuneCountInString(l[:k])+1, "the alias *"+m[1]+" is not taken", "write the value out")
				return
			}
		}
	}
	line, reason := 1, strings.TrimPrefix(err.Error(), "yaml: ")
	if m := errorLine.FindStringSubmatch(err.Error()); m != nil {
		line, _ = strconv.Atoi(m[1])
		reason = m[2]
	}
	for i := max(line-2, 0); i < min(line+1, len(lines)); i++ {
		if m := bareAtLeast.FindStringSubmatchIndex(lines[i]); m != nil {
			r.at(i+1, utf8.RuneCountInString(lines[i][:m[2]])+1, "a value cannot begin with > in YAML",
				fmt.Sprintf("put it in quotes, %q, or write ≥, at least or more than", strings.TrimSpace(lines[i][m[2]:m[3]])))
			return
		}
	}
	column := 1
	if line <= len(lines) {
		l := lines[line-1]
		column += len(l) - len(strings.TrimLeft(l, " \t"))
	}
	r.at(line, column, "not YAML: "+reason, "see the line and the one before it: colons, indents by blanks, quotes and brackets closed")
}

// inspect walks the tree and refuses what would make a text mean another
// thing than it shows: anchors, aliases, merges, tags, keys that stand twice.
func (r *reader) inspect(n *yaml.Node, path string, depth int) {
	if depth > maxDepth {
		r.fault(n, path, fmt.Sprintf("nested deeper than %d", maxDepth), "the language needs far fewer levels")
		n.Kind, n.Content = yaml.AliasNode, nil
		return
	}
	if n.Anchor != "" {
		r.fault(n, path, "the anchor &"+n.Anchor+" is not taken", "write the value out wherever it holds")
	}
	if n.Style&yaml.TaggedStyle != 0 {
		r.fault(n, path, "the tag "+n.Tag+" is not taken", "leave it out; every value is read as typed")
	}
	switch n.Kind {
	case yaml.AliasNode:
		r.fault(n, path, "the alias *"+n.Value+" is not taken", "write the value out")
	case yaml.SequenceNode:
		for i, c := range n.Content {
			r.inspect(c, path+"["+strconv.Itoa(i)+"]", depth+1)
		}
	case yaml.MappingNode:
		seen := map[string]int{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			r.inspectKey(n.Content[i], path, seen)
			r.inspect(n.Content[i+1], joinPath(path, n.Content[i].Value), depth+1)
		}
	}
}

func (r *reader) inspectKey(k *yaml.Node, path string, seen map[string]int) {
	at := joinPath(path, k.Value)
	switch {
	case k.Kind != yaml.ScalarNode:
		r.fault(k, path, "a key must be a word", "write key: value")
	case k.Anchor != "":
		r.fault(k, at, "the anchor &"+k.Anchor+" is not taken", "write the key alone")
	case k.Style&yaml.TaggedStyle != 0:
		r.fault(k, at, "the tag "+k.Tag+" is not taken", "write the key alone")
	case k.Tag == "!!merge":
		r.fault(k, at, "the merge << is not taken", "write the keys out wherever they hold")
	case seen[k.Value] > 0:
		r.fault(k, at, fmt.Sprintf("the key %q stands twice, first in line %d", k.Value, seen[k.Value]), "keep one")
	default:
		seen[k.Value] = k.Line
	}
}
