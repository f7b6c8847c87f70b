package store

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

func redaction(name string) book.Draft {
	return book.Draft{
		ID: book.RowID(testSite, "redaction.1", "redactions", name), Kind: "redaction.1", Precision: book.ToMinute,
		At: firstDay.Add(48 * time.Hour), By: "p9", Role: "administrator", Reason: "asked for by the person named",
		Body: book.Object{"ground": "a name that need not be kept"},
	}
}

func withdrawal(of *book.Entry, name string) book.Draft {
	return book.Draft{
		ID: book.RowID(testSite, of.Kind, "withdrawals", name), Kind: of.Kind, Precision: book.ToMinute, At: of.At,
		Supersedes: of.ID, Reason: "entered for the wrong day", By: "p1", Role: "officer",
	}
}

func TestAppendKeepsWhatWasSealed(t *testing.T) {
	s := withSite(t)
	drafts := diary("a", 40)
	drafts[3].Places = nil
	drafts[4].Places = []string{"SA1", "SA1", "", "Ö ✓"}
	drafts[5].At = drafts[5].At.Add(1234567) // below a millisecond
	drafts[6].Until = time.Time{}
	drafts[7].Body = book.Object{"list": []any{"1.50", int64(-3), true, book.Object{}, []any{}}, "": "", "nl": "a\nb\u2028\x00"}
	r := mustAppend(t, s, drafts, testOptions(1))
	if len(r.Entries) != 40 || len(r.Already) != 0 {
		t.Fatalf("%d new, %d already", len(r.Entries), len(r.Already))
	}
	all, err := s.All(ctx, testSite)
	if err != nil || len(all) != 40 {
		t.Fatalf("%d entries, %v", len(all), err)
	}
	for i, e := range all {
		made := r.Entries[i]
		if string(e.Bytes()) != string(made.Bytes()) || e.Hash != made.Hash || e.Prev != made.Prev ||
			!bytes.Equal(e.Salt, made.Salt) || string(e.Body.Bytes()) != string(made.Body.Bytes()) ||
			!e.At.Equal(made.At) || !e.Until.Equal(made.Until) || !e.Recorded.Equal(made.Recorded) {
			t.Errorf("entry %d read back differs", e.Seq)
		}
		if !drafts[i].Same(e) || e.Seq != int64(i+1) || len(e.Salt) != book.SaltSize {
			t.Errorf("entry %d is not what its draft said", e.Seq)
		}
		one, err := s.ByID(ctx, testSite, e.ID)
		if err != nil || one.Hash != e.Hash {
			t.Errorf("entry %d by its id: %v", e.Seq, err)
		}
	}
	seq, head, err := s.Head(ctx, testSite)
	if err != nil || seq != 40 || head != all[39].Hash {
		t.Errorf("head %d %s, %v", seq, head, err)
	}
	mustSound(t, s)
}

// The same drafts, clock and salts give the same book to the byte.
func TestAppendIsAFunctionOfWhatItIsGiven(t *testing.T) {
	var heads []book.Hash
	for range 2 {
		s := withSite(t)
		mustAppend(t, s, diary("a", 25), testOptions(7))
		_, head, err := s.Head(ctx, testSite)
		if err != nil {
			t.Fatal(err)
		}
		heads = append(heads, head)
	}
	if heads[0] != heads[1] {
		t.Errorf("heads %s and %s", heads[0], heads[1])
	}
}

func TestAppendAgainAddsNothing(t *testing.T) {
	s := withSite(t)
	drafts := diary("a", 10)
	mustAppend(t, s, drafts[:6], testOptions(1))
	r := mustAppend(t, s, append(drafts, drafts[8]), testOptions(2))
	if len(r.Entries) != 4 || len(r.Already) != 7 {
		t.Errorf("%d new, %d already", len(r.Entries), len(r.Already))
	}
	before, head, _ := s.Head(ctx, testSite)
	if r = mustAppend(t, s, drafts, testOptions(3)); len(r.Entries) != 0 || len(r.Already) != 10 {
		t.Errorf("again: %d new, %d already", len(r.Entries), len(r.Already))
	}
	if seq, now, _ := s.Head(ctx, testSite); seq != before || now != head || seq != 10 {
		t.Errorf("the head moved to %d", seq)
	}
	if r = mustAppend(t, s, nil, testOptions(4)); len(r.Entries)+len(r.Already) != 0 {
		t.Error("no drafts made entries")
	}
}

func TestAppendRefusesAndChangesNothing(t *testing.T) {
	changed := func(d book.Draft, change func(*book.Draft)) book.Draft { change(&d); return d }
	fresh := func(n int) book.Draft { return diary("new", n+1)[n] }
	tests := []struct {
		name  string
		draft func(there []*book.Entry) book.Draft
		want  error
	}{
		{"same id, another body", func([]*book.Entry) book.Draft {
			return changed(diary("a", 1)[0], func(d *book.Draft) { d.Body = book.Object{"text": "other"} })
		}, ErrConflict},
		{"same id, another time", func([]*book.Entry) book.Draft {
			return changed(diary("a", 1)[0], func(d *book.Draft) { d.At = d.At.Add(time.Hour) })
		}, ErrConflict},
		{"correcting what is corrected", func(there []*book.Entry) book.Draft {
			return changed(fresh(1), func(d *book.Draft) { d.Supersedes = there[1].ID })
		}, book.ErrSuperseded},
		{"correcting what is not there", func([]*book.Entry) book.Draft {
			return changed(fresh(1), func(d *book.Draft) { d.Supersedes = fresh(2).ID })
		}, ErrNotFound},
		{"correcting into another kind", func(there []*book.Entry) book.Draft {
			return changed(fresh(1), func(d *book.Draft) { d.Supersedes = there[0].ID; d.Kind = "ticket.1" })
		}, ErrUnsound},
		{"withdrawing what is withdrawn", func(there []*book.Entry) book.Draft {
			return withdrawal(there[4], "again")
		}, ErrUnsound},
		{"a file that is not held", func([]*book.Entry) book.Draft {
			return changed(fresh(1), func(d *book.Draft) { d.Files = []book.Hash{{1}} })
		}, ErrNoFile},
		{"no body and nothing superseded", func([]*book.Entry) book.Draft {
			return changed(fresh(1), func(d *book.Draft) { d.Body = nil })
		}, ErrUnsound},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := withSite(t)
			there := mustAppend(t, s, diary("a", 3), testOptions(1)).Entries
			correction := changed(diary("c", 1)[0], func(d *book.Draft) { d.Supersedes = there[1].ID })
			there = append(there, mustAppend(t, s, []book.Draft{correction, withdrawal(there[2], "w")}, testOptions(2)).Entries...)
			good := diary("good", 2)
			_, err := s.Append(ctx, testSite, []book.Draft{good[0], tt.draft(there), good[1]}, testOptions(3))
			if !errors.Is(err, tt.want) {
				t.Fatalf("got %v, want %v", err, tt.want)
			}
			if seq, _, _ := s.Head(ctx, testSite); seq != 5 {
				t.Errorf("the book grew to %d", seq)
			}
			if r := mustSound(t, s); r.Entries != 5 {
				t.Errorf("%d entries", r.Entries)
			}
		})
	}
}

func TestErrorsCarryBothSides(t *testing.T) {
	s := withSite(t)
	drafts := diary("a", 3)
	there := mustAppend(t, s, drafts, testOptions(1)).Entries
	corrected := diary("c", 2)
	corrected[0].Supersedes = there[0].ID
	head := mustAppend(t, s, corrected[:1], testOptions(2)).Entries[0]

	other := drafts[2]
	other.Reason = "another"
	corrected[1].Supersedes = there[0].ID
	onRefused := diary("onRefused", 1)[0]
	onRefused.Supersedes = other.ID // falls with the conflict and is not told apart
	_, err := s.Append(ctx, testSite, []book.Draft{other, corrected[1], onRefused}, testOptions(3))
	var conflict *ConflictError
	var superseded *SupersededError
	if !errors.As(err, &conflict) || conflict.Entry.Hash != there[2].Hash || conflict.Draft.Reason != "another" {
		t.Errorf("conflict: %v", err)
	}
	if !errors.As(err, &superseded) || superseded.Head.Hash != head.Hash {
		t.Errorf("superseded: %v", err)
	}
	for _, word := range []string{"line 4", "line 3"} {
		if !strings.Contains(err.Error(), word) {
			t.Errorf("%q does not name %s", err, word)
		}
	}
	if n := strings.Count(err.Error(), "\n"); n != 1 {
		t.Errorf("two faults in %d lines: %s", n+1, err)
	}
}

func TestCorrectionsInOneBatch(t *testing.T) {
	s := withSite(t)
	drafts := diary("a", 3)
	drafts[1].Supersedes, drafts[2].Supersedes = drafts[0].ID, drafts[1].ID
	mustAppend(t, s, drafts, testOptions(1))
	all, err := s.All(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	view, err := book.NewView(all)
	if err != nil || view.Head(drafts[0].ID).Seq != 3 {
		t.Errorf("%v", err)
	}
}

// What Append takes must be read back as it was: a draft that passes sound and
// comes back otherwise would spoil a book for ever.
func TestSoundDraftsReadBack(t *testing.T) {
	deep := func(n int) book.Object {
		o := book.Object{}
		for range n {
			o = book.Object{"d": o}
		}
		return o
	}
	with := func(change func(*book.Draft)) book.Draft { d := diary("x", 1)[0]; change(&d); return d }
	body := func(v any) book.Draft { return with(func(d *book.Draft) { d.Body = book.Object{"v": v} }) }
	tests := []struct {
		name  string
		draft book.Draft
		ok    bool
	}{
		{"plain", diary("x", 1)[0], true},
		{"nested to the limit", with(func(d *book.Draft) { d.Body = deep(64) }), true},
		{"nested beyond", with(func(d *book.Draft) { d.Body = deep(65) }), false},
		{"largest number", body(int64(book.MaxInteger)), true},
		{"number beyond", body(int64(book.MaxInteger + 1)), false},
		{"float", body(1.5), false},
		{"int", body(5), false},
		{"null", body(nil), false},
		{"null in a list", body([]any{nil}), false},
		{"map that is no object", body(map[string]any{}), false},
		{"text not UTF-8", body("\xff"), false},
		{"key not UTF-8", with(func(d *book.Draft) { d.Body = book.Object{"\xff": "x"} }), false},
		{"place not UTF-8", with(func(d *book.Draft) { d.Places = []string{"\xff"} }), false},
		{"reason not UTF-8", with(func(d *book.Draft) { d.Reason = "\xff" }), false},
		{"year 10000", with(func(d *book.Draft) { d.At = time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC) }), false},
		{"year 9999", with(func(d *book.Draft) { d.Until = time.Date(9999, 12, 31, 23, 59, 59, 999, time.UTC) }), true},
		{"year 10000 in UTC only", with(func(d *book.Draft) { d.Made = time.Date(9999, 12, 31, 23, 0, 0, 0, time.FixedZone("", -7200)) }), false},
		{"no time", with(func(d *book.Draft) { d.At = time.Time{} }), false},
		{"no kind", with(func(d *book.Draft) { d.Kind = "" }), false},
		{"upper-case id", with(func(d *book.Draft) { d.ID = book.ID(strings.ToUpper(string(d.ID))) }), false},
		{"superseding itself", with(func(d *book.Draft) { d.Supersedes = d.ID }), false},
		{"empty body", with(func(d *book.Draft) { d.Body = book.Object{} }), true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := withSite(t)
			_, err := s.Append(ctx, testSite, []book.Draft{tt.draft}, testOptions(1))
			if (err == nil) != tt.ok || (!tt.ok && !errors.Is(err, ErrUnsound)) {
				t.Fatalf("got %v", err)
			}
			if tt.ok {
				mustSound(t, s)
			}
		})
	}
}

func TestClockGoingBack(t *testing.T) {
	s := withSite(t)
	noon := time.Date(2026, 5, 1, 12, 0, 0, 987654321, time.UTC)
	clocks := []time.Time{noon, noon.Add(-time.Hour), noon.Add(time.Second), noon.AddDate(-20, 0, 0)}
	want := []time.Time{noon, noon, noon.Add(time.Second), noon.Add(time.Second)}
	for i, c := range clocks {
		o := testOptions(int64(i))
		o.Now = func() time.Time { return c }
		e := mustAppend(t, s, diary(fmt.Sprint(i), 1), o).Entries[0]
		if w := want[i].Truncate(time.Millisecond); !e.Recorded.Equal(w) {
			t.Errorf("clock %s: recorded %s, want %s", c, e.Recorded, w)
		}
	}
	mustSound(t, s)
}

func TestAppendFromManySides(t *testing.T) {
	s := withSite(t)
	const sides, rounds = 8, 12
	shared := diary("shared", rounds) // every side offers these as well
	var wg sync.WaitGroup
	faults := make(chan error, sides*rounds)
	fresh := make(chan int, sides*rounds)
	for side := range sides {
		wg.Go(func() {
			own := diary(fmt.Sprint("side ", side), rounds*3)
			o := AppendOptions{Now: fixedTime, Rand: rand.New(rand.NewSource(int64(side)))}
			for i := range rounds {
				r, err := s.Append(ctx, testSite, append(own[i*3:i*3+3:i*3+3], shared[i]), o)
				if err != nil {
					faults <- err
				}
				fresh <- len(r.Entries)
				if _, err := s.Page(ctx, testSite, Filter{}); err != nil {
					faults <- err
				}
			}
		})
	}
	wg.Wait()
	close(faults)
	close(fresh)
	for err := range faults {
		t.Error(err)
	}
	total := 0
	for n := range fresh {
		total += n
	}
	r := mustSound(t, s)
	if want := sides*rounds*3 + rounds; r.Entries != want || total != want {
		t.Errorf("%d entries, %d told as new, want %d", r.Entries, total, want)
	}
}

func TestPage(t *testing.T) {
	s := withSite(t)
	drafts := diary("a", 120)
	for i := range drafts {
		if i%3 == 0 {
			drafts[i].Kind, drafts[i].By = "ticket.1", "p2"
		}
	}
	mustAppend(t, s, drafts, testOptions(1))
	tests := []struct {
		name        string
		f           Filter
		n           int
		first, last int64
	}{
		{"newest", Filter{}, 50, 120, 71},
		{"next", Filter{Before: 71, Limit: 60}, 60, 70, 11},
		{"end", Filter{Before: 11, Limit: 60}, 10, 10, 1},
		{"kind", Filter{Kind: "ticket.1", Limit: 100}, 40, 118, 1},
		{"person", Filter{By: "p1", Limit: 5}, 5, 120, 114},
		{"place", Filter{Place: "ST3", Limit: 100}, 17, 116, 4},
		{"place and kind", Filter{Place: "ST3", Kind: "ticket.1", Limit: 100}, 6, 109, 4},
		{"nothing", Filter{Place: "NONE"}, 0, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			page, err := s.Page(ctx, testSite, tt.f)
			if err != nil || len(page) != tt.n {
				t.Fatalf("%d entries, %v; want %d", len(page), err, tt.n)
			}
			if tt.n > 0 && (page[0].Seq != tt.first || page[tt.n-1].Seq != tt.last) {
				t.Errorf("from %d to %d, want %d to %d", page[0].Seq, page[tt.n-1].Seq, tt.first, tt.last)
			}
		})
	}
	some, err := s.Entries(ctx, testSite, 117, 2)
	if err != nil || len(some) != 2 || some[0].Seq != 118 {
		t.Errorf("entries after 117: %d, %v", len(some), err)
	}
}

func TestDirty(t *testing.T) {
	s := withSite(t)
	d := diary("a", 1)[0]
	first := mustAppend(t, s, []book.Draft{d}, testOptions(1)).Entries[0]
	marks, err := s.Dirty(ctx, testSite, 0)
	if err != nil || len(marks) != 2 {
		t.Fatalf("%v, %v", marks, err)
	}
	if err := s.ClearDirty(ctx, testSite, marks[1].N); err != nil {
		t.Fatal(err)
	}
	moved := diary("moved", 1)[0]
	moved.Supersedes, moved.Places, moved.At, moved.Until = first.ID, nil, d.At.AddDate(0, 1, 0), time.Time{}
	mustAppend(t, s, []book.Draft{moved}, testOptions(2))
	marks, err = s.Dirty(ctx, testSite, 0)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range marks {
		got = append(got, fmt.Sprintf("%d %q %s %s", m.Seq, m.Place, m.From.Format("01-02 15:04"), m.To.Format("01-02 15:04")))
	}
	want := []string{`2 "" 04-02 08:00 04-02 08:00`, `2 "SA1" 03-02 08:00 03-02 08:30`, `2 "ST0" 03-02 08:00 03-02 08:30`}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
