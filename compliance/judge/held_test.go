package judge_test

import (
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// TestWorkInsideAHold: the act, the place and the time decide; a diary without a
// line says nothing.
func TestWorkInsideAHold(t *testing.T) {
	now := on(2026, 3, 20, 12)
	hold := func(f *fixture, name string, until time.Time, released bool, places ...string) {
		body := book.Object{"act": name, "reason": "wet", "released_by": "specialist"}
		if released {
			body["released"] = true
		}
		f.add(book.Draft{Kind: "hold.1", At: on(2026, 3, 10, 8), Until: until, Precision: book.ToMinute, Places: places}, body, 0)
	}
	act := func(f *fixture, name string, from, to time.Time, places ...string) {
		f.add(book.Draft{Kind: "observed.1", At: from, Until: to, Precision: book.ToMinute, Places: places}, book.Object{"quantity": "site.act", "name": name}, 0)
	}
	diary := func(f *fixture) {
		f.add(book.Draft{Kind: "diary.1", At: on(2026, 3, 11, 9), Precision: book.ToMinute}, book.Object{"act": "none"}, 0)
	}
	for _, tt := range []struct {
		name  string
		build func(f *fixture)
		want  judge.Verdict
		says  string
		work  int
	}{
		{"nothing of it on record", func(f *fixture) { hold(f, "strip", on(2026, 3, 12, 8), true, "SA1"); diary(f) }, judge.Complied, "complied", 0},
		{"still standing, kept so far", func(f *fixture) { hold(f, "strip", time.Time{}, false, "SA1"); diary(f) }, judge.NotYetDue, "kept so far", 0},
		{"done inside", func(f *fixture) {
			hold(f, "strip", on(2026, 3, 12, 8), true, "SA1")
			act(f, "strip", on(2026, 3, 11, 9), on(2026, 3, 11, 10), "SA1")
			act(f, "strip", on(2026, 3, 11, 13), on(2026, 3, 11, 14), "SA1")
		}, judge.NotComplied, "done 2 times inside it, first on Wed 11 Mar 2026 09:00", 2},
		{"going on when it was set", func(f *fixture) {
			hold(f, "strip", on(2026, 3, 12, 8), true, "SA1")
			act(f, "strip", on(2026, 3, 10, 7), on(2026, 3, 10, 10), "SA1")
		}, judge.NotComplied, "first on Tue 10 Mar 2026 08:00", 1},
		{"ended as it was set, begun as it was lifted", func(f *fixture) {
			hold(f, "strip", on(2026, 3, 12, 8), true, "SA1")
			act(f, "strip", on(2026, 3, 10, 7), on(2026, 3, 10, 8), "SA1")
			act(f, "strip", on(2026, 3, 12, 8), on(2026, 3, 12, 9), "SA1")
			diary(f)
		}, judge.Complied, "complied", 0},
		{"elsewhere, and another act", func(f *fixture) {
			hold(f, "strip", on(2026, 3, 12, 8), true, "SA1")
			act(f, "strip", on(2026, 3, 11, 9), on(2026, 3, 11, 10), "SA2")
			act(f, "haul", on(2026, 3, 11, 9), on(2026, 3, 11, 10), "SA1")
			diary(f)
		}, judge.Complied, "complied", 0},
		{"all works, whole site", func(f *fixture) {
			hold(f, "all works", on(2026, 3, 12, 8), true)
			act(f, "haul", on(2026, 3, 11, 9), on(2026, 3, 11, 10), "SA2")
		}, judge.NotComplied, "done 1 time inside", 1},
		{"done, nobody says where", func(f *fixture) {
			hold(f, "strip", on(2026, 3, 12, 8), true, "SA1")
			act(f, "strip", on(2026, 3, 11, 9), on(2026, 3, 11, 10))
		}, judge.CannotBeJudged, "does not say where", 0},
		{"no diary", func(f *fixture) { hold(f, "strip", on(2026, 3, 12, 8), true, "SA1") }, judge.CannotBeJudged, "no line in that time", 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := newFixture("Europe/London")
			tt.build(f)
			list, err := judge.HeldWork(record(t, f), testQuantities(t), now)
			if err != nil || len(list) != 1 {
				t.Fatalf("%v, %v", list, err)
			}
			h := &list[0]
			if h.Verdict != tt.want || !strings.Contains(h.Sentence, tt.says) || len(h.Work) != tt.work {
				t.Errorf("%v, %d acts: %s", h.Verdict, len(h.Work), h.Sentence)
			}
		})
	}
}
