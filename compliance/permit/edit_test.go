package permit_test

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/permit/permittest"
)

// Every condition of every archetype, by itself, is the same after it was
// written and read, as text and as what a form holds.
func TestConditionAloneAndBack(t *testing.T) {
	for id, text := range permittest.Archetypes(t, os.DirFS("testdata/archetypes")) {
		n, err := permit.Read(strings.NewReader(text), id)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range n.Conditions {
			if strings.HasSuffix(c.ID, "/action") {
				continue
			}
			action := n.Action(c.ID)
			var written bytes.Buffer
			if err := permit.WriteCondition(&written, c, action, n.Zone); err != nil {
				t.Fatal(err)
			}
			again, level, err := permit.ReadCondition(&written, id, n.Zone)
			if err != nil {
				t.Errorf("%s %s: %v", id, c.ID, err)
				continue
			}
			formed, formedLevel, err := permit.ConditionOf(permit.Short(c, action, n.Zone), n.Zone)
			if err != nil {
				t.Errorf("%s %s from a form: %v", id, c.ID, err)
				continue
			}
			for how, back := range map[string]*permit.Notice{"text": n.Replaced(c.ID, again, level), "form": n.Replaced(c.ID, formed, formedLevel)} {
				if !permit.Same(n, back) {
					t.Errorf("%s %s came back from its %s otherwise:\n%s\n%s", id, c.ID, how, permit.ToObject(n).Bytes(), permit.ToObject(back).Bytes())
				}
			}
		}
	}
}

func TestReplaced(t *testing.T) {
	n, err := permit.Read(strings.NewReader(`
permit: {reference: P/1, granted: 2026-01-01, zone: UTC}
clauses: [{number: "1", text: a, treated: judged}, {number: "2"}, {number: "3"}]
conditions:
  - {id: a, clause: "1", kind: measured, subject: noise.laeq, place: N, window: clock hour, statistic: energy mean, limit: <= 55 dB, action_level: 52 dB}
`), "p")
	if err != nil {
		t.Fatal(err)
	}
	present := &permit.Condition{}
	if present, _, err = permit.ConditionOf(book.Object{"clause": "2", "kind": "present", "done": book.Object{"subject": "site.paper"}}, "UTC"); err != nil {
		t.Fatal(err)
	}
	stated, _, err := permit.ConditionOf(book.Object{"clause": "3", "kind": "attested", "role": "site manager"}, "UTC")
	if err != nil {
		t.Fatal(err)
	}
	plain := *n.Condition("a")
	for _, tc := range []struct {
		name     string
		replaces string
		c        *permit.Condition
		ids      string
		treated  permit.Treatment // of the condition's clause
	}{
		{"added to a clause not yet entered", "", present, "a a/action 2", permit.Judged},
		{"a statement makes its clause attested", "", stated, "a a/action 3", permit.Attested},
		{"replaced without its action level", "a", &plain, "a", permit.Judged},
	} {
		got := n.Replaced(tc.replaces, tc.c, nil)
		var ids []string
		for _, c := range got.Conditions {
			ids = append(ids, c.ID)
		}
		if strings.Join(ids, " ") != tc.ids {
			t.Errorf("%s: conditions %q, want %q", tc.name, ids, tc.ids)
		}
		for _, c := range got.Clauses {
			if c.Number == tc.c.Clause && c.Treated != tc.treated {
				t.Errorf("%s: clause %s is %s", tc.name, c.Number, c.Treated)
			}
		}
		if len(n.Conditions) != 2 || n.Clauses[1].Treated != permit.NotEntered {
			t.Fatalf("%s: the notice itself has changed", tc.name)
		}
	}
	twice := n.Replaced("", present, nil)
	if id := twice.Replaced("", present, nil).Conditions[3].ID; id != "2b" {
		t.Errorf("a second condition of clause 2 has the id %s", id)
	}
}

func TestReadConditionRefuses(t *testing.T) {
	for name, tc := range map[string]struct{ text, at, word string }{
		"unit unknown":     {"clause: \"1\"\nkind: measured\nsubject: noise.laeq\nplace: N\nwindow: clock hour\nstatistic: energy mean\nlimit: <= 55 dBx\n", "7:8", "dBx"},
		"no kind":          {"clause: \"1\"\n", "1:1", "kind"},
		"no mapping":       {"just words", "1:1", ""},
		"broken text":      {"clause: [\n", "", ""},
		"date but no zone": {"clause: \"1\"\nkind: present\ndone: {subject: site.paper}\nfrom: 2026-02-01\n", "4:7", "zone"},
	} {
		_, _, err := permit.ReadCondition(strings.NewReader(tc.text), "form", "")
		var faults permit.Faults
		if !errors.As(err, &faults) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := err.Error(); !strings.Contains(got, "form:"+tc.at) || !strings.Contains(got, tc.word) {
			t.Errorf("%s: %s", name, got)
		}
	}
}
