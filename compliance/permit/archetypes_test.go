package permit

import (
	"bytes"
	"fmt"
	"os"
	"regexp"
	"sort"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/permit/permittest"
)

// archetypes returns the files of testdata/archetypes, each a row of the table
// of archetypes in our own words, by their id.
func archetypes(t testing.TB) map[string]string {
	t.Helper()
	return permittest.Archetypes(t, os.DirFS("testdata/archetypes"))
}

// TestArchetypes reads, checks and says every archetype, and takes it through
// the book and back.
func TestArchetypes(t *testing.T) {
	q := quantities(t)
	all := archetypes(t)
	var ids []string
	for id := range all {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	kinds, rules := map[Kind]bool{}, map[RuleName]bool{}
	var said strings.Builder
	for _, id := range ids {
		t.Run(id, func(t *testing.T) {
			n, err := Read(strings.NewReader(all[id]), id+".yaml")
			if err != nil {
				t.Fatal(err)
			}
			if faults := Check(n, q, nil); len(faults) > 0 {
				t.Fatal(faults)
			}
			roundTrip(t, n)
			fmt.Fprintf(&said, "%s\n", id)
			for _, c := range n.Conditions {
				kinds[c.Kind], rules[c.Rule.Name] = true, true
				fmt.Fprintf(&said, "  %s [%s] %s\n", c.ID, c.Title, Sentence(c, q))
			}
		})
	}
	golden(t, "sentences.txt", said.String())
	for _, k := range kindWords() {
		if !kinds[k] {
			t.Errorf("no archetype is of kind %s", k)
		}
	}
	for _, r := range []RuleName{Every, AtMost, AtMostShare, AtMostTable, MeanOfAll, AtLeastOf} {
		if !rules[r] {
			t.Errorf("no archetype has the rule %s", r)
		}
	}
}

// roundTrip takes a notice through YAML and through the book's body.
func roundTrip(t testing.TB, n *Notice) {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, n); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	again, err := Read(&b, "again.yaml")
	if err != nil {
		t.Fatalf("what Write wrote is not read: %v\n%s", err, text)
	}
	held, err := FromObject(ToObject(n))
	if err != nil {
		t.Fatalf("what ToObject wrote is not read: %v", err)
	}
	if want := bareOf(n); bareOf(again) != want || bareOf(held) != want || !Same(n, again) || !Same(n, held) {
		t.Fatalf("the notice changes\n%s\nwant %s\nYAML %s\nbook %s", text, want, bareOf(again), bareOf(held))
	}
}

// pointers are addresses, which differ from run to run; what they point at is
// printed beside them.
var pointers = regexp.MustCompile(`0x[0-9a-f]+`)
