package permit

import (
	"bytes"
	"encoding/json"
	"strconv"
	"unicode/utf8"

	"github.com/swardbook/swardbook/compliance/book"
	"go.yaml.in/yaml/v3"
)

// jsonNode turns valid JSON into the nodes its YAML would give, with places.
// YAML's own reader takes most JSON, but not every escape.
func jsonNode(text []byte) *yaml.Node {
	p := jsonParser{dec: json.NewDecoder(bytes.NewReader(text)), text: text, line: 1, column: 1}
	p.dec.UseNumber()
	return p.value()
}

type jsonParser struct {
	dec          *json.Decoder
	text         []byte
	offset       int // of line and column
	line, column int
}

// next returns the next token and a node at its place.
func (p *jsonParser) next() (json.Token, *yaml.Node) {
	t, err := p.dec.Token()
	if err != nil {
		return nil, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"} // valid text has no such place
	}
	end := int(p.dec.InputOffset())
	p.skip(bytes.IndexFunc(p.text[p.offset:end], func(c rune) bool {
		return c != ' ' && c != '\t' && c != '\n' && c != '\r' && c != ',' && c != ':'
	}))
	n := &yaml.Node{Kind: yaml.ScalarNode, Line: p.line, Column: p.column}
	p.skip(end - p.offset)
	return t, n
}

// skip moves the place on by n bytes.
func (p *jsonParser) skip(n int) {
	for stop := p.offset + n; p.offset < stop; {
		c, size := utf8.DecodeRune(p.text[p.offset:])
		p.offset += size
		p.column++
		if c == '\n' {
			p.line, p.column = p.line+1, 1
		}
	}
}

func (p *jsonParser) value() *yaml.Node {
	t, n := p.next()
	switch t := t.(type) {
	case json.Delim:
		n.Kind = yaml.SequenceNode
		if t == '{' {
			n.Kind = yaml.MappingNode
		}
		for p.dec.More() {
			n.Content = append(n.Content, p.value())
			if n.Kind == yaml.MappingNode {
				n.Content = append(n.Content, p.value())
			}
		}
		p.next()
	case string:
		n.Tag, n.Value = "!!str", t
	case json.Number:
		n.Tag, n.Value = "!!float", t.String()
	case bool:
		n.Tag, n.Value = "!!bool", strconv.FormatBool(t)
	default:
		n.Tag = "!!null"
	}
	return n
}

// objectNode turns a body of the book into nodes, without places.
func objectNode(v any) *yaml.Node {
	switch v := v.(type) {
	case book.Object:
		return mapNode(v)
	case map[string]any:
		return mapNode(v)
	case []any:
		n := &yaml.Node{Kind: yaml.SequenceNode}
		for _, one := range v {
			n.Content = append(n.Content, objectNode(one))
		}
		return n
	case string:
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: v}
	case int64:
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!int", Value: strconv.FormatInt(v, 10)}
	case bool:
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!bool", Value: strconv.FormatBool(v)}
	}
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"}
}

func mapNode(o map[string]any) *yaml.Node {
	n := &yaml.Node{Kind: yaml.MappingNode}
	for _, k := range sortedKeys(o) {
		n.Content = append(n.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: k}, objectNode(o[k]))
	}
	return n
}
