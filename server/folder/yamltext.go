package folder

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"
)

// node is one value of a YAML file. Scalars are text as written: 1.10 stays
// 1.10 and 55.0 keeps its decimal.
type node struct {
	line int
	text string  // of a scalar
	keys []key   // of a mapping, in order
	list []*node // of a sequence
	form yaml.Kind
}

// key is one member of a mapping.
type key struct {
	name  string
	line  int
	value *node
}

// readYAML reads one YAML document as text. Anchors, aliases, merges, tags,
// duplicate keys and a second document are refused.
func readYAML(path string, data []byte, f *findings) *node {
	if !plainText(path, data, f) {
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(data))
	var doc yaml.Node
	if err := dec.Decode(&doc); err != nil {
		if errors.Is(err, io.EOF) {
			f.say(path, 0, "", "the file is empty", "fill it in, or remove it")
			return nil
		}
		line, text := yamlLine(err)
		f.say(path, line, "", "not YAML: "+text, "")
		return nil
	}
	var second yaml.Node
	if err := dec.Decode(&second); !errors.Is(err, io.EOF) {
		f.say(path, second.Line, "", "a second document follows in the file", "put it in a file of its own")
		return nil
	}
	before := len(f.problems)
	n := convert(path, doc.Content[0], f)
	if len(f.problems) > before {
		return nil
	}
	return n
}

var yamlLineForm = regexp.MustCompile(`^yaml: (?:line (\d+): )?`)

func yamlLine(err error) (int, string) {
	m := yamlLineForm.FindStringSubmatch(err.Error())
	if m == nil {
		return 0, err.Error()
	}
	line, _ := strconv.Atoi(m[1])
	return line, strings.TrimPrefix(err.Error(), m[0])
}

func convert(path string, y *yaml.Node, f *findings) *node {
	n := &node{line: y.Line, form: y.Kind}
	if y.Anchor != "" || y.Kind == yaml.AliasNode {
		f.say(path, y.Line, "", "anchors and aliases are not read", "write the value out where it is meant")
		return n
	}
	if y.Style&yaml.TaggedStyle != 0 {
		f.say(path, y.Line, "", "the tag "+y.Tag+" is not read", "write the plain value")
		return n
	}
	switch y.Kind {
	case yaml.ScalarNode:
		n.text = y.Value
		if y.ShortTag() == "!!null" {
			n.text = ""
		}
	case yaml.SequenceNode:
		for _, c := range y.Content {
			n.list = append(n.list, convert(path, c, f))
		}
	case yaml.MappingNode:
		seen := map[string]int{}
		for i := 0; i+1 < len(y.Content); i += 2 {
			k, v := y.Content[i], y.Content[i+1]
			if k.Kind != yaml.ScalarNode || k.ShortTag() == "!!merge" {
				f.say(path, k.Line, "", "only plain words are read as keys; merges are not", "write the members out")
				continue
			}
			if seen[k.Value] > 0 {
				f.say(path, k.Line, k.Value, fmt.Sprintf("the key stands twice, first in line %d", seen[k.Value]), "keep one")
				continue
			}
			seen[k.Value] = k.Line
			n.keys = append(n.keys, key{k.Value, k.Line, convert(path, v, f)})
		}
	}
	return n
}

// get returns the member of that name, or nil.
func (n *node) get(name string) *node {
	if n == nil {
		return nil
	}
	for _, k := range n.keys {
		if k.name == name {
			return k.value
		}
	}
	return nil
}

// word returns the text of a scalar member, "" when it is not there.
func (n *node) word(name string) string {
	if v := n.get(name); v != nil {
		return v.text
	}
	return ""
}

// only files every member that is not among the names, and members that are
// not plain words unless their name is listed in deep.
func (n *node) only(path string, f *findings, names []string, deep ...string) {
	if n.form != yaml.MappingNode {
		f.say(path, n.line, "", "a mapping (name: value) is wanted here", meant("", names))
		return
	}
	for _, k := range n.keys {
		switch {
		case slices.Contains(deep, k.name):
		case !slices.Contains(names, k.name):
			f.say(path, k.line, k.name, "the key is not known here", meant(k.name, append(slices.Clone(names), deep...)))
		case k.value.form != yaml.ScalarNode:
			f.say(path, k.line, k.name, "one plain value is wanted here", "")
		}
	}
}
