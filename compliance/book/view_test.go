package book

import (
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// day0 is when the made-up books of these tests begin.
var day0 = time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC)

// line is an entry in short: what it is called, what it supersedes, its kind,
// and its day. A body of "-" withdraws.
type line struct {
	name, supersedes, kind, body string
	day                          int
}

func idOf(name string) ID { return RowID("t", "t", "t", name) }

// made seals lines into a book; entry n is received n hours after day0.
func made(lines ...line) []*Entry {
	prev := Genesis("t", day0)
	var out []*Entry
	for i, l := range lines {
		v := Envelope{ID: idOf(l.name), Seq: int64(i + 1), Site: "t", Kind: l.kind, At: day0.AddDate(0, 0, l.day), Precision: ToDay,
			Recorded: day0.Add(time.Duration(i+1) * time.Hour), By: "P1", Role: "officer"}
		if l.supersedes != "" {
			v.Supersedes, v.Reason = idOf(l.supersedes), "test"
		}
		body := Object{"text": l.body}
		if l.body == "-" {
			body = nil
		}
		e := Seal(v, make([]byte, SaltSize), body, prev)
		prev = e.Hash
		out = append(out, e)
	}
	return out
}

func bodies(list []*Entry) string {
	s := ""
	for _, e := range list {
		s += e.Body.Text("text") + " "
	}
	return s
}

func TestViewInForce(t *testing.T) {
	cases := []struct {
		name  string
		lines []line
		want  string // bodies of diary.1 in force, by time
	}{
		{"nothing", nil, ""},
		{"by time, then by receipt", []line{{"a", "", "diary.1", "late", 2}, {"b", "", "diary.1", "early", 1}, {"c", "", "diary.1", "early too", 1}}, "early early too late "},
		{"another kind stands apart", []line{{"a", "", "diary.1", "x", 1}, {"b", "", "paper.1", "y", 1}}, "x "},
		{"corrected", []line{{"a", "", "diary.1", "wrong", 1}, {"b", "a", "diary.1", "right", 1}}, "right "},
		{"corrected twice", []line{{"a", "", "diary.1", "wrong", 1}, {"b", "a", "diary.1", "better", 1}, {"c", "b", "diary.1", "best", 1}}, "best "},
		{"moved to another day", []line{{"a", "", "diary.1", "moved", 1}, {"b", "", "diary.1", "stays", 2}, {"c", "a", "diary.1", "moved", 3}}, "stays moved "},
		{"withdrawn", []line{{"a", "", "diary.1", "x", 1}, {"b", "a", "diary.1", "-", 1}}, ""},
		{"withdrawn and entered after all", []line{{"a", "", "diary.1", "x", 1}, {"b", "a", "diary.1", "-", 1}, {"c", "b", "diary.1", "y", 1}}, "y "},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			v, err := NewView(made(c.lines...))
			if err != nil {
				t.Fatal(err)
			}
			if got := bodies(v.Current("diary.1")); got != c.want {
				t.Errorf("in force: %q, want %q", got, c.want)
			}
		})
	}
}

func TestViewRefuses(t *testing.T) {
	a := line{"a", "", "diary.1", "x", 1}
	cases := []struct {
		name  string
		lines []line
		stale bool
	}{
		{"a correction of what was superseded", []line{a, {"b", "a", "diary.1", "y", 1}, {"c", "a", "diary.1", "z", 1}}, true},
		{"a withdrawal of what was superseded", []line{a, {"b", "a", "diary.1", "y", 1}, {"c", "a", "diary.1", "-", 1}}, true},
		{"a correction into another kind", []line{a, {"b", "a", "paper.1", "y", 1}}, false},
		{"a withdrawal of another kind", []line{a, {"b", "a", "paper.1", "-", 1}}, false},
		{"a withdrawal withdrawn", []line{a, {"b", "a", "diary.1", "-", 1}, {"c", "b", "diary.1", "-", 1}}, false},
		{"a correction of nothing", []line{{"b", "a", "diary.1", "y", 1}}, false},
		{"a correction before what it corrects", []line{{"b", "a", "diary.1", "y", 1}, a}, false},
		{"a correction of itself", []line{{"a", "a", "diary.1", "y", 1}}, false},
		{"an id twice", []line{a, a}, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := NewView(made(c.lines...))
			if err == nil {
				t.Fatal("accepted")
			}
			if errors.Is(err, ErrSuperseded) != c.stale {
				t.Errorf("got %v", err)
			}
		})
	}
}

func TestViewLines(t *testing.T) {
	entries := made(line{"a", "", "diary.1", "1", 1}, line{"x", "", "diary.1", "other", 1}, line{"b", "a", "diary.1", "2", 1}, line{"c", "b", "diary.1", "-", 1})
	v, err := NewView(entries)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a", "b", "c"} {
		if h := v.Head(idOf(name)); h == nil || h.Seq != 4 || !h.Withdrawal() {
			t.Errorf("head of %s is %v, want the withdrawal, entry 4", name, h)
		}
		var seqs []int64
		for _, e := range v.Line(idOf(name)) {
			seqs = append(seqs, e.Seq)
		}
		if fmt.Sprint(seqs) != "[1 3 4]" {
			t.Errorf("line of %s is %v", name, seqs)
		}
	}
	if v.Head(idOf("nobody")) != nil || v.Line(idOf("nobody")) != nil || v.BySeq(9) != nil {
		t.Error("something is found that is not there")
	}
	if v.BySeq(2) != entries[1] {
		t.Error("entry 2 is not found by its number")
	}
}

func TestViewHoldsErasedEntries(t *testing.T) {
	entries := made(line{"a", "", "diary.1", "x", 1})
	entries[0].Body, entries[0].Salt, entries[0].ErasedBy = nil, nil, 2
	v, err := NewView(entries)
	if err != nil {
		t.Fatal(err)
	}
	if list := v.Current("diary.1"); len(list) != 1 || list[0].Body != nil {
		t.Errorf("an erased entry stays in force without its body, got %v", list)
	}
}

// TestKnownAt: what was known is a prefix of the book, so that a correction
// received later changes nothing about what was known before it.
func TestKnownAt(t *testing.T) {
	entries := made(line{"a", "", "diary.1", "wrong", 1}, line{"b", "a", "diary.1", "right", 1}, line{"c", "b", "diary.1", "-", 1})
	cases := []struct {
		name  string
		after time.Duration
		want  string
		n     int
	}{
		{"before the book", 0, "", 0},
		{"a millisecond before the first", time.Hour - time.Millisecond, "", 0},
		{"at the first", time.Hour, "wrong ", 1},
		{"a millisecond before the correction", 2*time.Hour - time.Millisecond, "wrong ", 1},
		{"at the correction", 2 * time.Hour, "right ", 2},
		{"after the withdrawal", 4 * time.Hour, "", 3},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			known := KnownAt(entries, day0.Add(c.after))
			if len(known) != c.n {
				t.Errorf("%d entries known, want %d", len(known), c.n)
			}
			v, err := NewView(known)
			if err != nil {
				t.Fatal(err)
			}
			if got := bodies(v.Current("diary.1")); got != c.want {
				t.Errorf("in force: %q, want %q", got, c.want)
			}
		})
	}
}

// TestEveryPrefixIsABook: the view of any prefix stands by itself.
func TestEveryPrefixIsABook(t *testing.T) {
	var lines []line
	for i := range 40 {
		l := line{name: fmt.Sprint(i), kind: "diary.1", body: fmt.Sprint(i), day: i % 7}
		if i%3 == 2 {
			l.supersedes = fmt.Sprint(i - 1)
		}
		if i%9 == 8 {
			l.body = "-"
		}
		lines = append(lines, l)
	}
	entries := made(lines...)
	for n := range len(entries) + 1 {
		v, err := NewView(entries[:n])
		if err != nil {
			t.Fatalf("first %d: %v", n, err)
		}
		var last time.Time
		for _, e := range v.Current("diary.1") {
			if e.At.Before(last) || v.Head(e.ID) != e || e.Withdrawal() {
				t.Fatalf("first %d: entry %d is not in force or not in order", n, e.Seq)
			}
			last = e.At
		}
	}
}

// A view grown step by step says the same as one made of the whole book.
func TestViewGrown(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 7))
	for n := range 200 {
		var lines []line
		heads := map[string]string{} // name of a line's head → its kind
		gone := map[string]bool{}
		for i := range 1 + rng.IntN(60) {
			l := line{name: fmt.Sprintf("e%d", i), kind: []string{"diary.1", "paper.1"}[rng.IntN(2)], body: fmt.Sprint(i), day: rng.IntN(9)}
			if names := slices.Sorted(maps.Keys(heads)); len(names) > 0 && rng.IntN(2) == 0 {
				over := names[rng.IntN(len(names))]
				l.supersedes, l.kind = over, heads[over]
				if !gone[over] && rng.IntN(3) == 0 {
					l.body = "-"
				}
				delete(heads, over)
			}
			heads[l.name], gone[l.name] = l.kind, l.body == "-"
			lines = append(lines, l)
		}
		entries := made(lines...)
		whole, err := NewView(entries)
		if err != nil {
			t.Fatal(err)
		}
		at := rng.IntN(len(entries) + 1)
		grown, err := NewView(entries[:at])
		for at < len(entries) && err == nil {
			next := min(len(entries), at+1+rng.IntN(3))
			grown, err = grown.With(entries[at:next])
			at = next
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range []string{"diary.1", "paper.1"} {
			if !slices.Equal(whole.Current(kind), grown.Current(kind)) {
				t.Fatalf("history %d: %s in force %q, grown %q", n, kind, bodies(whole.Current(kind)), bodies(grown.Current(kind)))
			}
		}
		for _, e := range entries {
			if whole.Head(e.ID) != grown.Head(e.ID) || whole.BySeq(e.Seq) != grown.BySeq(e.Seq) || !slices.Equal(whole.Line(e.ID), grown.Line(e.ID)) {
				t.Fatalf("history %d: entry %d stands otherwise in the view that was grown", n, e.Seq)
			}
		}
	}
}

func TestViewGrownRefuses(t *testing.T) {
	entries := made(line{"a", "", "diary.1", "x", 1}, line{"b", "a", "diary.1", "y", 1}, line{"c", "a", "diary.1", "z", 1})
	v, err := NewView(entries[:2])
	if err != nil {
		t.Fatal(err)
	}
	if _, err := v.With(entries[2:]); !errors.Is(err, ErrSuperseded) {
		t.Errorf("a second correction of one entry: %v", err)
	}
	if _, err := v.With(entries[1:2]); err == nil {
		t.Error("an entry that is there already is taken again")
	}
}
