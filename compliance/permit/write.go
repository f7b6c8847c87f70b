package permit

import (
	"fmt"
	"io"
	"strconv"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"go.yaml.in/yaml/v3"
)

// Write writes a notice as YAML that Read reads back as the same notice. What
// the language implies is left out; ToObject writes everything.
func Write(w io.Writer, n *Notice) error {
	zone, err := noticeZone(n)
	if err != nil {
		zone = nil
	}
	enc := yaml.NewEncoder(w)
	enc.SetIndent(2)
	if err := enc.Encode(yamlNode(writer{zone: zone}.notice(n), 0)); err != nil {
		return fmt.Errorf("notice %s: %w", n.Reference, err)
	}
	if err := enc.Close(); err != nil {
		return fmt.Errorf("notice %s: %w", n.Reference, err)
	}
	return nil
}

// ToObject returns the notice as the book holds it: the keys and texts of the
// language, every default written out, instants in UTC, decimals as typed.
func ToObject(n *Notice) book.Object { return object(writer{full: true}.notice(n)) }

// ConditionObject returns one condition as ToObject writes it.
func ConditionObject(c *Condition) book.Object { return object(writer{full: true}.condition(c)) }

// FromObject returns the notice that ToObject wrote, without places in a text.
// A body that is not of the language returns Faults.
func FromObject(o book.Object) (*Notice, error) {
	r := &reader{}
	n := r.notice(item{r, objectNode(o), ""})
	if err := r.faults.err(); err != nil {
		return nil, err
	}
	return n, nil
}

// Same tells whether two notices say the same, wherever they were read from.
func Same(a, b *Notice) bool { return string(ToObject(a).Bytes()) == string(ToObject(b).Bytes()) }

func object(t tree) book.Object {
	o := book.Object{}
	for _, b := range t {
		o[b.key] = objectValue(b.value)
	}
	return o
}

func objectValue(v any) any {
	switch v := v.(type) {
	case tree:
		return object(v)
	case []any:
		out := make([]any, len(v))
		for i, one := range v {
			out[i] = objectValue(one)
		}
		return out
	}
	return v
}

// yamlNode lays a tree out: notice, clauses and conditions in blocks, what is
// inside a condition on one line each.
func yamlNode(v any, depth int) *yaml.Node {
	const inside = 3 // below notice, list and condition
	switch v := v.(type) {
	case tree:
		n := &yaml.Node{Kind: yaml.MappingNode}
		if depth >= inside {
			n.Style = yaml.FlowStyle
		}
		for _, b := range v {
			n.Content = append(n.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: b.key}, yamlNode(b.value, depth+1))
		}
		return n
	case []any:
		n := &yaml.Node{Kind: yaml.SequenceNode}
		if depth > inside {
			n.Style = yaml.FlowStyle
		}
		for _, one := range v {
			n.Content = append(n.Content, yamlNode(one, depth+1))
		}
		return n
	case int64:
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!int", Value: strconv.FormatInt(v, 10)}
	case bool:
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!bool", Value: strconv.FormatBool(v)}
	case string:
		if _, err := calendar.ParseDate(v); err == nil {
			return &yaml.Node{Kind: yaml.ScalarNode, Value: v} // without quotes
		}
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: v}
	}
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"}
}
