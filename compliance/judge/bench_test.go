package judge_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
)

// yearOfMinutes is a book with channels by the minute over a year, each under
// an hourly limit.
func yearOfMinutes(b *testing.B, channels int) *fixture {
	f := newFixture("Europe/London")
	var text strings.Builder
	text.WriteString("permit: {reference: P/1, type: permit, granted: 2026-01-01, zone: Europe/London}\nconditions:\n")
	const day = 24 * 60 * 60 * 1000
	start := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for c := range channels {
		fmt.Fprintf(&text, "  - {id: c%d, clause: \"1\", kind: measured, subject: noise.laeq, place: P%d, window: clock hour, statistic: energy mean, limit: <= 55 dB, coverage: 75 %%}\n", c, c)
		code := fmt.Sprintf("N%d", c)
		e := f.add(book.Draft{Kind: "import.1", At: start, Until: start.AddDate(1, 0, 0)}, book.Object{
			"channels": []any{book.Object{"channel": code, "quantity": "noise.laeq", "place": fmt.Sprintf("P%d", c), "unit": "dB"}}}, 0)
		var blocks []*series.Block
		for d := range int64(365) {
			blk := &series.Block{Span: 60_000, Places: 1}
			for m := range int64(24 * 60) {
				blk.Start = append(blk.Start, start.UnixMilli()+d*day+m*60_000)
				blk.Coefficient = append(blk.Coefficient, 400+(d*31+m*7+int64(c))%160)
				blk.Mark = append(blk.Mark, series.Valid)
			}
			blocks = append(blocks, blk)
		}
		f.blocks[e.ID] = map[string][]*series.Block{code: blocks}
	}
	f.notice(b, "bench", text.String())
	return f
}

func BenchmarkYearOfMinutes(b *testing.B) {
	f := yearOfMinutes(b, 4)
	rec, err := judge.NewRecord(f.entries, f)
	if err != nil {
		b.Fatal(err)
	}
	list := testQuantities(b)
	for b.Loop() {
		if _, err := judge.All(rec, list, judge.Options{At: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}); err != nil {
			b.Fatal(err)
		}
	}
}
