package permit_test

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/permit/permittest"
)

func compiledSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(permit.Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource(permit.SchemaID, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(permit.SchemaID)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asTyped turns a text of the language into JSON values, every scalar as typed.
func asTyped(n *yaml.Node) any {
	switch n.Kind {
	case yaml.DocumentNode:
		return asTyped(n.Content[0])
	case yaml.MappingNode:
		out := map[string]any{}
		for i := 0; i < len(n.Content); i += 2 {
			out[n.Content[i].Value] = asTyped(n.Content[i+1])
		}
		return out
	case yaml.SequenceNode:
		out := []any{}
		for _, one := range n.Content {
			out = append(out, asTyped(one))
		}
		return out
	}
	return n.Value
}

func typed(t *testing.T, text string) any {
	t.Helper()
	var n yaml.Node
	if err := yaml.Unmarshal([]byte(text), &n); err != nil {
		t.Fatal(err)
	}
	return asTyped(&n)
}

// Every archetype is of the schema, as it is typed, as it is written out for
// people, and as the book holds it. The schema's own form is checked by the
// library against draft 2020-12.
func TestSchemaTakesEveryArchetype(t *testing.T) {
	s := compiledSchema(t)
	for id, text := range permittest.Archetypes(t, os.DirFS("testdata/archetypes")) {
		n, err := permit.Read(strings.NewReader(text), id)
		if err != nil {
			t.Fatalf("%s: %v", id, err)
		}
		var written bytes.Buffer
		if err := permit.Write(&written, n); err != nil {
			t.Fatal(err)
		}
		held, err := jsonschema.UnmarshalJSON(bytes.NewReader(permit.ToObject(n).Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		for form, v := range map[string]any{"typed": typed(t, text), "written": typed(t, written.String()), "held": held} {
			if err := s.Validate(v); err != nil {
				t.Errorf("%s as %s: %v", id, form, err)
			}
		}
	}
}

// What the schema refuses, the reader refuses as well.
func TestSchemaRefusesWhatReadRefuses(t *testing.T) {
	const good = `{clause: "1", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= 55 dB`
	for name, condition := range map[string]string{
		"no clause":                 `{kind: present, done: {subject: site.paper}}`,
		"unknown kind":              `{clause: "1", kind: weighed}`,
		"unknown key":               good + `, colour: red}`,
		"key of another kind":       good + `, deadline: by 2026-05-01}`,
		"unknown word for a gap":    good + `, missing: fine}`,
		"unknown severity":          good + `, severity: mild}`,
		"unknown statistic":         strings.Replace(good, "energy mean", "usual mean", 1) + `}`,
		"slot without an end":       good + `, schedule: [{days: mon-fri, from: "07:00"}]}`,
		"holidays otherwise":        good + `, schedule: [{days: mon-fri, from: "07:00", to: "19:00", holidays: half}]}`,
		"quota without an act":      good + `, quota: {days: 5, per: calendar year}}`,
		"line of a table too short": good + `, rule: {look-up table: [[4, 7]], per: calendar year}}`,
		"happening without subject": `{clause: "1", kind: ordered, first: {with: {act: a}}, then: {subject: site.act}}`,
	} {
		text := "permit: {reference: P/1, granted: 2026-01-01}\nconditions:\n  - " + condition + "\n"
		if _, err := permit.Read(strings.NewReader(text), name); err == nil {
			t.Errorf("%s: the reader takes it", name)
		}
		if err := compiledSchema(t).Validate(typed(t, text)); err == nil {
			t.Errorf("%s: the schema takes it", name)
		}
	}
}

// The schema says of every key what it is for.
func TestSchemaDescribesEveryKey(t *testing.T) {
	var doc any
	if err := json.Unmarshal(permit.Schema(), &doc); err != nil {
		t.Fatal(err)
	}
	var look func(path string, v any)
	look = func(path string, v any) {
		m, ok := v.(map[string]any)
		if !ok {
			return
		}
		if properties, ok := m["properties"].(map[string]any); ok && !strings.HasSuffix(path, "/if") {
			for key, p := range properties {
				one := p.(map[string]any)
				if one["description"] == nil && one["$ref"] == nil {
					t.Errorf("%s/%s is not described", path, key)
				}
			}
		}
		for key, one := range m {
			if list, ok := one.([]any); ok {
				for _, each := range list {
					look(path+"/"+key, each)
				}
			}
			look(path+"/"+key, one)
		}
	}
	look("", doc)
}
