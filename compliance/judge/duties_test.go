package judge_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/duty"
	"github.com/swardbook/swardbook/compliance/judge"
)

const dutiesNotice = `permit: {zone: Europe/London, reference: P/1, type: planning permission, granted: 2026-03-02}
clauses:
  - {number: "1", text: a, treated: judged}
  - {number: "2", text: b, treated: attested, role: ecologist}
conditions:
  - {id: sown, clause: "1", kind: dated, title: mounds sown, done: {subject: site.act, with: {act: seed}}, deadline: {within: 2 months, of: {subject: site.act, with: {act: store}}}, missing: presumed not done}
  - {id: return, clause: "1", kind: dated, title: monthly return, window: calendar month, done: {subject: site.paper, with: {scheme: noise return, stage: submitted}}, deadline: {within: 14 days, of: window end}, missing: presumed not done}
  - {id: plan, clause: "1", kind: present, title: drainage plan, done: {subject: site.paper, with: {scheme: drainage, stage: approved}}, missing: presumed not done}
  - {id: samples, clause: "1", kind: measured, title: solids, subject: water.tss, place: W1, window: instant, statistic: value, limit: <= 60 mg/L, monitoring: {every: calendar month}}
  - {id: checks, clause: "1", kind: counted, title: blasts logged, subject: vibration.ppv, place: W1, window: week from monday, statistic: count, limit: ">= 2"}
  - {id: lorries, clause: "1", kind: counted, title: lorries, subject: haulage.movements, place: GATE, window: local day, limit: <= 10, missing: counting goes on}
  - {id: nests, clause: "2", kind: attested, role: ecologist, title: no nest, window: calendar month}
  - {id: hint, clause: "1", kind: dated, title: nice to have, severity: information, done: {subject: site.act, with: {act: seed}}, deadline: {by: 2026-03-20}}
`

// TestDutiesOfConditions: what is wanted and by when, and which entry did it.
func TestDutiesOfConditions(t *testing.T) {
	f := newFixture("Europe/London")
	f.notice(t, "notice", dutiesNotice)
	add := func(kind string, at time.Time, body book.Object, places ...string) {
		f.add(book.Draft{Kind: kind, At: at, Precision: book.ToMinute, Places: places}, body, 0)
	}
	act := func(at time.Time, name string) {
		add("observed.1", at, book.Object{"quantity": "site.act", "name": name})
	}
	act(on(2026, 3, 5, 9), "store")
	act(on(2026, 4, 8, 9), "store")
	act(on(2026, 4, 20, 9), "seed")
	add("observed.1", on(2026, 4, 10, 9), book.Object{"quantity": "site.paper", "name": "submitted", "scheme": "noise return"})
	add("observed.1", on(2026, 4, 3, 9), book.Object{"quantity": "water.tss", "value": "20", "unit": "mg/L"}, "W1")
	add("observed.1", on(2026, 4, 27, 9), book.Object{"quantity": "vibration.ppv", "value": "2", "unit": "mm/s"}, "W1")
	list, err := judge.Duties(record(t, f), testQuantities(t), on(2026, 4, 29, 12))
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]string{}
	for _, d := range list {
		words := fmt.Sprintf("%d wanted by %s", d.More, d.By.UTC().Format("2006-01-02T15:04Z"))
		if d.More == 0 {
			words = fmt.Sprintf("done by %d", len(d.Done))
		}
		if d.Post != "" {
			words += " of the " + d.Post
		}
		got[d.Condition] = strings.TrimPrefix(got[d.Condition]+"; "+words, "; ")
	}
	for id, want := range map[string]string{
		// Two months after 5 March: by the end of 5 May, and of 8 June; the same
		// sowing answers both.
		"sown": "done by 1; done by 1",
		// March's return came; April's is due 14 days after the month is over.
		"return":  "done by 1; 1 wanted by 2026-05-14T23:00Z",
		"plan":    "1 wanted by 2026-03-02T00:00Z",
		"samples": "done by 1",
		"checks":  "1 wanted by 2026-05-03T23:00Z",
		"nests":   "1 wanted by 2026-04-30T23:00Z of the ecologist",
		"lorries": "",
		"hint":    "",
	} {
		if got[id] != want {
			t.Errorf("%s: %q, want %q", id, got[id], want)
		}
	}
	for _, d := range list {
		if d.Condition == "return" && d.More > 0 && (len(d.Kinds) != 1 || d.Kinds[0] != "observed.1" || d.Fill["stage"] != "submitted") {
			t.Errorf("what would do the return: %v %v", d.Kinds, d.Fill)
		}
	}
	ordered := duty.List(record(t, f), list, on(2026, 4, 29, 12))
	if len(ordered) == 0 || ordered[0].Condition != "plan" || ordered[0].State != duty.Overdue || ordered[0].DaysOver() != 59 {
		t.Errorf("first is %+v", ordered[0])
	}
}
