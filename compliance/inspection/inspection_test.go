package inspection

import (
	"fmt"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
)

func works(t *testing.T) *recordtest.Record {
	t.Helper()
	r := recordtest.New()
	items := func(mud, dust string) []any {
		return []any{book.Object{"item": "mud", "answer": mud}, book.Object{"item": "dust", "answer": dust}}
	}
	r.Add(t,
		recordtest.Row{Kind: "diary.1", At: "2026-04-06 09:12", Until: "2026-04-06 09:50", Places: []string{"SA1"}, Body: book.Object{"act": "strip"}},
		recordtest.Row{Kind: "diary.1", At: "2026-04-06 10:00", Until: "2026-04-06 12:00", Body: book.Object{"act": "haul"}},
		recordtest.Row{Kind: "diary.1", At: "2026-04-07", Body: book.Object{"act": "none", "text": "no work"}},
		recordtest.Row{Kind: "strip.1", At: "2026-04-08 07:40", Until: "2026-04-08 15:00", Places: []string{"SA2"}, Body: book.Object{"horizon": "topsoil"}},
		recordtest.Row{Kind: "inspection.1", At: "2026-04-08 08:00", Places: []string{"GT1"}, Body: book.Object{"checklist": "haul-road", "items": items("not satisfactory", "satisfactory")}},
		recordtest.Row{Kind: "inspection.1", At: "2026-04-09 08:00", Places: []string{"GT1"}, Body: book.Object{"checklist": "haul-road", "items": items("satisfactory", "not seen")}},
		recordtest.Row{Kind: "inspection.1", At: "2026-04-09 09:00", Body: book.Object{"checklist": "fuel", "items": []any{book.Object{"item": "bund", "answer": "satisfactory"}}}},
	)
	return r
}

func TestObservations(t *testing.T) {
	cases := []struct {
		name  string
		q     *quantity.Quantity
		place string
		from  string
		with  map[string]string
		want  string // seq:name of each
	}{
		{"every act, none left out and no work left out", actQuantity(), "", "", nil, "1:strip 2:haul 4:strip"},
		{"strips from diary and register", actQuantity(), "", "", map[string]string{"act": "strip"}, "1:strip 4:strip"},
		{"acts at a place are those that name it", actQuantity(), "SA1", "", nil, "1:strip"},
		{"haul is not of the strip register", actQuantity(), "SA2", "", map[string]string{"act": "haul"}, ""},
		{"acts still going on", actQuantity(), "", "2026-04-06 11:00", nil, "2:haul 4:strip"},
		{"inspections", doneQuantity(), "", "", nil, "5:haul-road 6:haul-road 7:fuel"},
		{"by one checklist", doneQuantity(), "", "", map[string]string{"checklist": "fuel"}, "7:fuel"},
		{"at a place", doneQuantity(), "GT1", "", nil, "5:haul-road 6:haul-road"},
		{"answers to an item", answerQuantity(), "", "", map[string]string{"checklist": "haul-road", "item": "mud"}, "5:not satisfactory 6:satisfactory"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			ask := quantity.Ask{Place: c.place, With: c.with}
			if c.from != "" {
				ask.From = recordtest.At(t, c.from)
			}
			list, err := c.q.Observe(works(t), ask)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, o := range list {
				got = append(got, fmt.Sprintf("%d:%s", o.Entry.Seq, o.Name))
				if o.Value != 1 {
					t.Errorf("entry %d counts %v", o.Entry.Seq, o.Value)
				}
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("got %v, want %s", got, c.want)
			}
		})
	}
}

// TestAnswerCounted: one answer is counted, another is on record as none, and
// what was not seen is missing, so that it never passes for none.
func TestAnswerCounted(t *testing.T) {
	cases := []struct {
		name, item, answer string
		values             []float64
		missing            []bool
	}{
		{"mud on the road", "mud", "not satisfactory", []float64{1, 0}, []bool{false, false}},
		{"dust", "dust", "not satisfactory", []float64{0, 0}, []bool{false, true}},
		{"what was not seen, itself asked for", "dust", "not seen", []float64{0, 1}, []bool{false, false}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := observeAnswers(works(t), quantity.Ask{Place: "GT1", With: map[string]string{"item": c.item, "answer": c.answer}})
			if err != nil || len(got) != len(c.values) {
				t.Fatalf("%v, %v", got, err)
			}
			for i, o := range got {
				if o.Value != c.values[i] || o.Mark.Counts() == c.missing[i] {
					t.Errorf("answer %d counts %v, mark %v", i, o.Value, o.Mark)
				}
			}
		})
	}
}

func TestActKeepsItsSpan(t *testing.T) {
	list, err := actQuantity().Observe(works(t), quantity.Ask{Place: "SA1"})
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if o := list[0]; o.To.Sub(o.From).Minutes() != 38 || o.Place != "SA1" || o.Precision != book.ToMinute {
		t.Errorf("got %+v", o)
	}
}
