package observe

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/observe/recordtest"
	"github.com/swardbook/swardbook/compliance/quantity"
)

func TestDuring(t *testing.T) {
	cases := []struct {
		name           string
		askFrom, askTo string
		from, until    string
		wanted         bool
	}{
		{name: "inside", askFrom: "2026-04-01", askTo: "2026-05-01", from: "2026-04-06 09:00", until: "2026-04-06 10:00", wanted: true},
		{name: "a moment at the beginning", askFrom: "2026-04-06", askTo: "2026-05-01", from: "2026-04-06", until: "2026-04-06", wanted: true},
		{name: "a moment at the end, which is outside", askFrom: "2026-04-01", askTo: "2026-04-06", from: "2026-04-06", until: "2026-04-06"},
		{name: "a moment before", askFrom: "2026-04-06", askTo: "2026-05-01", from: "2026-04-05", until: "2026-04-05"},
		{name: "running over the beginning", askFrom: "2026-04-06", askTo: "2026-05-01", from: "2026-04-05", until: "2026-04-06 00:01", wanted: true},
		{name: "ending at the beginning", askFrom: "2026-04-06", askTo: "2026-05-01", from: "2026-04-05", until: "2026-04-06"},
		{name: "running over all of it", askFrom: "2026-04-06", askTo: "2026-04-07", from: "2026-01-01", until: "2026-12-31", wanted: true},
		{name: "no end asked for", askFrom: "2026-04-06", from: "2030-01-01", until: "2030-01-01", wanted: true},
		{name: "nothing asked for", from: "2030-01-01", until: "2030-01-01", wanted: true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var ask quantity.Ask
			if c.askFrom != "" {
				ask.From = recordtest.At(t, c.askFrom)
			}
			if c.askTo != "" {
				ask.To = recordtest.At(t, c.askTo)
			}
			if got := During(ask, recordtest.At(t, c.from), recordtest.At(t, c.until)); got != c.wanted {
				t.Errorf("wanted is %v", got)
			}
		})
	}
}

func TestPlaces(t *testing.T) {
	cases := []struct {
		name       string
		places     []string
		ask        string
		at, covers bool
	}{
		{"no place asked for", []string{"A"}, "", true, true},
		{"that place", []string{"A", "B"}, "B", true, true},
		{"another place", []string{"A"}, "B", false, false},
		{"no place named", nil, "B", false, true},
		{"neither", nil, "", true, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e := &book.Entry{Envelope: book.Envelope{Places: c.places}}
			ask := quantity.Ask{Place: c.ask}
			if At(e, ask) != c.at || Covers(e, ask) != c.covers {
				t.Errorf("at %v, covers %v", At(e, ask), Covers(e, ask))
			}
		})
	}
}

func TestOf(t *testing.T) {
	r := recordtest.New()
	r.Add(t, recordtest.Row{Kind: "a.1", At: "2026-04-06 09:00", Until: "2026-04-06 10:00", Places: []string{"A"}},
		recordtest.Row{Kind: "a.1", At: "2026-04-07", Places: []string{"A", "B"}})
	list := r.Entries("a.1")
	one := Of(list[0], quantity.Ask{})
	if one.Place != "A" || one.Value != 1 || !one.To.Equal(list[0].Until) || one.Entry != list[0] {
		t.Errorf("got %+v", one)
	}
	two := Of(list[1], quantity.Ask{})
	if two.Place != "" || !two.To.Equal(two.From) || two.Precision != book.ToDay {
		t.Errorf("got %+v", two)
	}
	if asked := Of(list[1], quantity.Ask{Place: "B"}); asked.Place != "B" {
		t.Errorf("got %+v", asked)
	}
}

func TestSaysAndWanted(t *testing.T) {
	r := recordtest.New()
	r.Add(t,
		recordtest.Row{Kind: "t.1", At: "2026-04-06", Places: []string{"G"}, Body: book.Object{"direction": "out", "material": "spoil"}},
		recordtest.Row{Kind: "t.1", At: "2026-04-07", Places: []string{"G"}, Body: book.Object{"direction": "in"}},
		recordtest.Row{Kind: "t.1", At: "2026-04-08", Places: []string{"H"}, Body: book.Object{"direction": "in"}},
		recordtest.Row{Kind: "t.1", At: "2026-04-09", Places: []string{"G"}}, // erased
		recordtest.Row{Kind: "u.1", At: "2026-04-06", Places: []string{"G"}, Body: book.Object{"direction": "in"}},
	)
	cases := []struct {
		name string
		with map[string]string
		want int
	}{
		{"no words", nil, 2},
		{"a word that fits one", map[string]string{"direction": "in"}, 1},
		{"a word that one lacks", map[string]string{"material": "spoil"}, 1},
		{"a word that is not the kind's", map[string]string{"act": "strip"}, 2},
		{"words that no one has together", map[string]string{"direction": "in", "material": "spoil"}, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := Wanted(r, "t.1", quantity.Ask{Place: "G", With: c.with}, "direction", "material")
			if len(got) != c.want {
				t.Errorf("%d entries, want %d", len(got), c.want)
			}
		})
	}
}
