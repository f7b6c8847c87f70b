package judge_test

import (
	"os"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/permit/permittest"
)

// archetypeFiles are the rows of the table of archetypes as notices, by id.
func archetypeFiles(t *testing.T) map[string]string {
	t.Helper()
	return permittest.Archetypes(t, os.DirFS("../permit/testdata/archetypes"))
}

// TestEveryArchetypeIsJudged holds every archetype against the quantities there
// are, and against an empty book: no rule may be one that is not built, and
// nothing may be complied by the silence of the record.
func TestEveryArchetypeIsJudged(t *testing.T) {
	list, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	all := archetypeFiles(t)
	if len(all) != 103 {
		t.Errorf("%d archetypes, the table has 103", len(all))
	}
	for id, text := range all {
		t.Run(id, func(t *testing.T) {
			n, err := permit.Read(strings.NewReader(text), id)
			if err != nil {
				t.Fatal(err)
			}
			if faults := permit.Check(n, list, nil); len(faults) > 0 {
				t.Fatal(faults)
			}
			f := newFixture("Europe/London")
			f.holidays(holidayText{ID: "england-and-wales", Years: []int{2025, 2040}})
			f.notice(t, id, text)
			report, err := judge.All(record(t, f), list, judge.Options{At: on(2027, 7, 15, 12), Windows: true})
			if err != nil {
				t.Fatal(err)
			}
			if len(report.Judgements) < len(n.Conditions) {
				t.Errorf("%d judgements of %d conditions", len(report.Judgements), len(n.Conditions))
			}
			for i := range report.Judgements {
				j := &report.Judgements[i]
				if strings.Contains(j.Cause+j.Sentence, "not built") {
					t.Errorf("%s at %s: %s", j.Condition, j.Place, j.Sentence)
				}
				if j.Verdict == judge.Complied {
					t.Errorf("complied on an empty book: %s", j.Sentence)
				}
			}
		})
	}
}
