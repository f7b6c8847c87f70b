package judge_test

import (
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Acts only inside an area of the plan, or within a distance of it.
func TestActsInsideAnArea(t *testing.T) {
	f := newFixture("Europe/London")
	plan := `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"code":"PAD","kind":"area"},"geometry":{"type":"Polygon","coordinates":[[[1000,1000],[1100,1000],[1100,1100],[1000,1100],[1000,1000]]]}},
{"type":"Feature","properties":{"code":"IN","kind":"point"},"geometry":{"type":"Point","coordinates":[1050,1050]}},
{"type":"Feature","properties":{"code":"EDGE","kind":"point"},"geometry":{"type":"Point","coordinates":[1110,1050]}},
{"type":"Feature","properties":{"code":"OUT","kind":"area"},"geometry":{"type":"Polygon","coordinates":[[[1090,1050],[1130,1050],[1130,1060],[1090,1060],[1090,1050]]]}}]}`
	f.add(book.Draft{Kind: "plan.1", At: on(2026, 1, 1, 0)}, book.Object{"coordinates": "site grid", "file": f.file(plan)}, 0)
	f.notice(t, "notice", `permit: {zone: Europe/London, reference: P/1, type: planning permission, granted: 2026-03-02}
conditions:
  - {id: pad, clause: "1", kind: interval, subject: site.act, with: {act: refuel}, place: PAD}
  - {id: near, clause: "2", kind: interval, subject: site.act, with: {act: refuel}, place: {each: [PAD], buffer: 10 m}}
`)
	for i, place := range []string{"IN", "EDGE", "OUT", "NOWHERE", ""} {
		d := book.Draft{Kind: "observed.1", At: on(2026, 3, 3, 8).Add(time.Duration(i) * time.Hour), Precision: book.ToMinute}
		if place != "" {
			d.Places = []string{place}
		}
		f.add(d, book.Object{"quantity": "site.act", "name": "refuel"}, 0)
	}
	rec, err := judge.NewRecord(f.entries, f)
	if err != nil {
		t.Fatal(err)
	}
	r, err := judge.All(rec, testQuantities(t), judge.Options{At: on(2026, 4, 1, 0), Windows: true, Working: true})
	if err != nil {
		t.Fatal(err)
	}
	for id, want := range map[string][]string{
		"pad":  {"complied", "not complied: EDGE lies 10 m away from it", "not complied: OUT lies 30 m away from it", "cannot be judged: NOWHERE is not on the plan of that day", "cannot be judged: where the act took place is not on file"},
		"near": {"complied", "complied", "not complied: OUT lies 30 m away from it", "cannot be judged: NOWHERE", "cannot be judged: where"},
	} {
		j := find(r, id, "PAD")
		if j == nil || len(j.Windows) != len(want) {
			t.Fatalf("%s: %+v", id, j)
		}
		for i, w := range j.Windows {
			verdict, words, _ := strings.Cut(want[i], ": ")
			if w.Verdict.String() != verdict || !strings.Contains(w.Sentence+w.Cause, words) {
				t.Errorf("%s act %d: %s, %s; want %s", id, i+1, w.Verdict, w.Sentence, want[i])
			}
		}
	}
}
