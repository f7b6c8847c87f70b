package permit

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/book"
)

// ReadCondition reads one condition by itself, from YAML or JSON, as it would
// stand in a notice of that zone ("" = none named), with its action level where
// it has one. Its id may be missing. A text that is not of the language returns
// Faults, each with line, column and remedy.
func ReadCondition(in io.Reader, name, zone string) (c, action *Condition, err error) {
	text, err := io.ReadAll(io.LimitReader(in, MaxText+1))
	if err != nil {
		return nil, nil, fmt.Errorf("%s: %w", name, err)
	}
	r := &reader{file: name}
	top := r.parse(text)
	if top == nil {
		return nil, nil, r.faults.err()
	}
	return r.alone(top, zone)
}

// ConditionOf reads one condition from the keys of the language, as a form
// holds it while it is filled in, with its action level where it has one.
func ConditionOf(o book.Object, zone string) (c, action *Condition, err error) {
	r := &reader{}
	return r.alone(objectNode(o), zone)
}

func (r *reader) alone(top *yaml.Node, zone string) (c, action *Condition, err error) {
	loc, zoneErr := noticeZone(&Notice{Zone: zone})
	c, action = r.condition(item{r, top, ""}, clockOf{loc, zoneErr})
	if err := r.faults.err(); err != nil {
		return nil, nil, err
	}
	return c, action, nil
}

// Short returns a condition in the keys that people write, what its kind
// implies left out and its action level as a key; zone is its notice's.
func Short(c, action *Condition, zone string) book.Object { return object(short(c, action, zone)) }

func short(c, action *Condition, zone string) tree {
	loc, err := noticeZone(&Notice{Zone: zone})
	if err != nil {
		loc = nil
	}
	t := writer{zone: loc}.condition(c)
	if action != nil && len(action.Limits) == 1 {
		t.put("action_level", action.Limits[0].String())
	}
	return t
}

// WriteCondition writes a condition as YAML that ReadCondition reads back.
func WriteCondition(w io.Writer, c, action *Condition, zone string) error {
	var b bytes.Buffer
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	const inNotice = 2 // as deep as in the list of a notice
	if err := enc.Encode(yamlNode(short(c, action, zone), inNotice)); err != nil {
		return fmt.Errorf("condition %s: %w", c.ID, err)
	}
	if err := enc.Close(); err != nil {
		return fmt.Errorf("condition %s: %w", c.ID, err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// Action returns the action level that goes with a condition of the notice, or
// nil.
func (n *Notice) Action(id string) *Condition { return n.Condition(id + actionSuffix) }

// Condition returns the condition of that id, or nil.
func (n *Notice) Condition(id string) *Condition {
	for _, c := range n.Conditions {
		if c.ID == id {
			return c
		}
	}
	return nil
}

// Replaced returns the notice with a condition put in place of that of the id
// replaces, or added where replaces is ""; n stays as it is. A new condition
// without an id gets one. Its clause, where it was not yet entered or said to
// be information, is judged from then on.
func (n *Notice) Replaced(replaces string, c, action *Condition) *Notice {
	out := *n
	one := *c
	if one.ID == "" {
		if one.ID = replaces; replaces == "" {
			one.ID = n.freeID(c.Clause)
		}
	}
	added := []*Condition{&one}
	if action != nil {
		level := *action
		level.ID = one.ID + actionSuffix
		if one.InPlace != "" && n.Action(one.InPlace) != nil {
			level.InPlace = one.InPlace + actionSuffix
		}
		added = append(added, &level)
	}
	out.Conditions = nil
	at := -1
	for _, old := range n.Conditions {
		if replaces != "" && (old.ID == replaces || old.ID == replaces+actionSuffix) {
			if at < 0 {
				at = len(out.Conditions)
			}
			continue
		}
		out.Conditions = append(out.Conditions, old)
	}
	if at < 0 {
		at = len(out.Conditions)
	}
	out.Conditions = append(out.Conditions[:at:at], append(added, out.Conditions[at:]...)...)
	out.Clauses = append([]Clause(nil), n.Clauses...)
	for i := range out.Clauses {
		k := &out.Clauses[i]
		if k.Number != one.Clause || k.Treated != NotEntered && k.Treated != Information {
			continue
		}
		if k.Treated = Judged; one.Kind == Stated {
			k.Treated = Attested
		}
	}
	return &out
}

// freeID is the clause's number, with a letter where it is taken.
func (n *Notice) freeID(clause string) string {
	id := clause
	for i := 2; n.Condition(id) != nil; i++ {
		id = clause + letters(i)
	}
	return id
}

// Without returns the path of a field with the place of its condition left
// out: "conditions[3].limit" is "limit".
func (f Fault) Without() string {
	if rest, ok := strings.CutPrefix(f.Field, "conditions["); ok {
		if _, field, found := strings.Cut(rest, "]."); found {
			return field
		}
		return ""
	}
	return f.Field
}
