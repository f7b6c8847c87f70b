package judge_test

import (
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// TestEpisodes: hours over the limit that follow each other are one episode; what
// was on record at the time stands beside it.
func TestEpisodes(t *testing.T) {
	c := &goldenCase{Zone: "Europe/London"}
	f := newFixture("Europe/London")
	f.notice(t, "notice", `permit: {zone: Europe/London, reference: P/1, type: planning permission, granted: 2026-03-02}
conditions:
  - {id: n, clause: "1", kind: measured, subject: noise.laeq, place: NSR1, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %, to: 2026-03-03}
`)
	// 24 hours: over at 03:00, at 10:00 to 13:00 with 62 at 11:00, and at 15:00.
	f.readings(t, c, readingsText{Channel: "N1", Quantity: "noise.laeq", Place: "NSR1", Unit: "dB", From: "2026-03-02 00:00", Step: "1h",
		Values: "50*3 56 50*6 58 62 57 50*2 60 50*8"})
	add := func(kind, name string, from, to time.Time, value string, places ...string) {
		body := book.Object{"quantity": kind, "name": name}
		if value != "" {
			body["value"] = value
		}
		f.add(book.Draft{Kind: "observed.1", At: from, Until: to, Precision: book.ToMinute, Places: places}, body, 0)
	}
	add("site.act", "drilling", on(2026, 3, 2, 9), on(2026, 3, 2, 12), "", "SH1")
	add("site.act", "quiet work", on(2026, 3, 2, 13), on(2026, 3, 2, 15), "", "SH1")
	add("haulage.movements", "", on(2026, 3, 2, 10), time.Time{}, "2")
	add("haulage.movements", "", on(2026, 3, 2, 11), time.Time{}, "2")
	rec := record(t, f)
	report, err := judge.All(rec, testQuantities(t), judge.Options{At: on(2026, 3, 4, 0), Windows: true})
	if err != nil {
		t.Fatal(err)
	}
	list, err := judge.Episodes(rec, testQuantities(t), report.Judgements[0].Windows, 10)
	if err != nil || len(list) != 3 {
		t.Fatalf("%d episodes, %v", len(list), err)
	}
	mid := &list[1]
	if !mid.From.Equal(on(2026, 3, 2, 10)) || !mid.To.Equal(on(2026, 3, 2, 13)) || mid.Windows != 3 || *mid.Worst.Value != 62 {
		t.Errorf("the middle one is %+v", mid)
	}
	var words []string
	for _, m := range mid.Meanwhile {
		words = append(words, m.Words)
	}
	if got := strings.Join(words, "; "); got != "drilling at SH1, Mon 2 Mar 2026 09:00–12:00 GMT; 4 lorry movements" || mid.Meanwhile[0].Entry == nil {
		t.Errorf("meanwhile: %s", got)
	}
	if n := len(list[0].Meanwhile); n != 0 || len(list[2].Meanwhile) != 0 {
		t.Errorf("the others have %d and %d things beside them", n, len(list[2].Meanwhile))
	}
	if few, _ := judge.Episodes(rec, testQuantities(t), report.Judgements[0].Windows, 1); len(few) != 1 || !few[0].From.Equal(on(2026, 3, 2, 15)) {
		t.Errorf("the latest one is %+v", few)
	}
}
