package site

import (
	"fmt"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
)

func file(t *testing.T) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	paper := func(at, stage, revision string, places ...string) {
		body := book.Object{"scheme": "soil handling", "stage": stage}
		if revision != "" {
			body["revision"] = revision
		}
		r.Add(t, recordtest.Row{Kind: "paper.1", At: at, Places: places, Body: body})
	}
	paper("2026-03-02", "submitted", "1")
	paper("2026-03-27", "approved", "1")
	paper("2026-05-04", "approved", "2", "SA2")
	r.Add(t, recordtest.Row{Kind: "paper.1", At: "2026-03-10", Body: book.Object{"scheme": "lighting", "stage": "approved"}})
	r.Add(t, recordtest.Row{Kind: "statement.1", At: "2026-04-30", Body: book.Object{"permit": "WR/25/0417", "clause": "21", "role": "ecologist", "answer": "met", "text": "Kept."}})
	r.Add(t, recordtest.Row{Kind: "statement.1", At: "2026-05-30", Body: book.Object{"permit": "WR/25/0417", "clause": "22", "role": "ecologist", "answer": "not met", "text": "Not kept."}})
	return r
}

func TestObservations(t *testing.T) {
	cases := []struct {
		name  string
		q     *quantity.Quantity
		place string
		to    string
		with  map[string]string
		want  string
	}{
		{"every stage of a paper", paperQuantity(), "", "", map[string]string{"scheme": "soil handling"}, "1:submitted 2:approved 3:approved"},
		{"approvals", paperQuantity(), "", "", map[string]string{"scheme": "soil handling", "stage": "approved"}, "2:approved 3:approved"},
		{"approvals until then", paperQuantity(), "", "2026-03-27", map[string]string{"scheme": "soil handling", "stage": "approved"}, ""},
		{"one revision", paperQuantity(), "", "", map[string]string{"revision": "2"}, "3:approved"},
		{"for a place: its own, and what holds for the whole site", paperQuantity(), "SA1", "", map[string]string{"scheme": "soil handling", "stage": "approved"}, "2:approved"},
		{"approved in part is not approved", paperQuantity(), "", "", map[string]string{"stage": "approved in part"}, ""},
		{"a statement", statementQuantity(), "", "", map[string]string{"clause": "21"}, "5:met"},
		{"what was not met", statementQuantity(), "", "", map[string]string{"answer": "not met"}, "6:not met"},
		{"another role's", statementQuantity(), "", "", map[string]string{"role": "surveyor"}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			ask := quantity.Ask{Place: c.place, With: c.with}
			if c.to != "" {
				ask.To = recordtest.At(t, c.to)
			}
			list, err := c.q.Observe(file(t), ask)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, o := range list {
				got = append(got, fmt.Sprintf("%d:%s", o.Entry.Seq, o.Name))
				if o.Precision != book.ToDay {
					t.Errorf("entry %d is known to the %s", o.Entry.Seq, o.Precision)
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("got %v, want %s", got, c.want)
			}
		})
	}
}
