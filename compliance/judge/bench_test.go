package judge_test

import (
	"fmt"
	"math"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
)

// chunked is a book whose readings lie in memory as they lie on disk: one
// chunk per channel and UTC day.
type chunked struct {
	*fixture
	chunks map[string]map[int64][]byte // channel → day since 1970 → chunk
	late   map[book.ID]*series.Block
}

const dayMs = 24 * 60 * 60 * 1000

func (c *chunked) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	if b := c.late[e.ID]; b != nil {
		if b.Start[0] >= to.UnixMilli() || b.Start[0]+b.Span <= from.UnixMilli() {
			return nil, nil
		}
		return []*series.Block{b}, nil
	}
	if e.At.After(from) {
		from = e.At
	}
	if e.Until.Before(to) {
		to = e.Until
	}
	var out []*series.Block
	for day := from.UnixMilli() / dayMs; day*dayMs < to.UnixMilli(); day++ {
		data := c.chunks[channel][day]
		if data == nil {
			continue
		}
		b, err := series.Decode(data)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}

// benchBook is a book with channels by the step over some years, an import a
// month, and the conditions of a notice.
func benchBook(b *testing.B, channels, years int, step time.Duration, notice string) *chunked {
	b.Helper()
	c := &chunked{fixture: newFixture("Europe/London"), chunks: map[string]map[int64][]byte{}, late: map[book.ID]*series.Block{}}
	c.notice(b, "bench", notice)
	for n := range channels {
		code := fmt.Sprintf("N%d", n)
		c.chunks[code] = map[int64][]byte{}
		for day := benchBegins; day.Before(benchBegins.AddDate(years, 0, 0)); day = day.AddDate(0, 0, 1) {
			blk := &series.Block{Span: step.Milliseconds(), Places: 1}
			for at := int64(0); at < dayMs; at += blk.Span {
				i := at/blk.Span + day.Unix()/86400
				blk.Start = append(blk.Start, day.UnixMilli()+at)
				blk.Coefficient = append(blk.Coefficient, 400+(i*7+int64(n))%160)
				blk.Mark = append(blk.Mark, series.Valid)
			}
			c.chunks[code][day.UnixMilli()/dayMs] = series.Encode(blk)
		}
	}
	for month := range years * 12 {
		for n := range channels {
			from := benchBegins.AddDate(0, month, 0)
			c.add(book.Draft{Kind: "import.1", At: from, Until: benchBegins.AddDate(0, month+1, 0)}, benchChannel(n), 0)
		}
	}
	return c
}

var benchBegins = time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)

func benchChannel(n int) book.Object {
	return book.Object{"channels": []any{book.Object{"channel": fmt.Sprintf("N%d", n), "quantity": "noise.laeq", "place": fmt.Sprintf("P%d", n), "unit": "dB"}}}
}

func benchNotice(conditions func(write func(format string, args ...any))) string {
	var text strings.Builder
	text.WriteString("permit: {reference: P/1, type: permit, granted: 2026-01-01, zone: Europe/London}\nconditions:\n")
	conditions(func(format string, args ...any) { fmt.Fprintf(&text, format+"\n", args...) })
	return text.String()
}

// hourlyNotice holds conditions on the hour, each at one of the channels.
func hourlyNotice(conditions, channels int) string {
	return benchNotice(func(write func(string, ...any)) {
		for i := range conditions {
			write(`  - {id: c%d, clause: "1", kind: measured, subject: noise.laeq, place: P%d, window: clock hour, statistic: energy mean, limit: <= %d dB, coverage: 75 %%}`, i, i%channels, 51+i%7)
		}
	})
}

// BenchmarkJudge95M judges 94.7 million readings: 60 channels by the minute
// over three years, under 100 conditions with a window an hour.
func BenchmarkJudge95M(b *testing.B) {
	c := benchBook(b, 60, 3, time.Minute, hourlyNotice(100, 60))
	benchAll(b, c, benchBegins.AddDate(3, 0, 0), 380<<20)
}

// BenchmarkJudge44MWindows judges 1,000 conditions at 40 places over three
// years of days: 43.8 million windows.
func BenchmarkJudge44MWindows(b *testing.B) {
	places := make([]string, 40)
	for i := range places {
		places[i] = fmt.Sprintf("P%d", i)
	}
	notice := benchNotice(func(write func(string, ...any)) {
		for i := range 1000 {
			write(`  - {id: c%d, clause: "1", kind: measured, subject: noise.laeq, place: {each: [%s]}, window: local day, statistic: energy mean, limit: <= %d dB, coverage: 75 %%}`, i, strings.Join(places, ", "), 51+i%7)
		}
	})
	c := benchBook(b, 40, 3, 24*time.Hour, notice)
	benchAll(b, c, benchBegins.AddDate(3, 0, 0), math.MaxInt64)
}

func benchAll(b *testing.B, c *chunked, at time.Time, most int64) {
	rec, err := judge.NewRecord(c.entries, c)
	if err != nil {
		b.Fatal(err)
	}
	list := testQuantities(b)
	debug.FreeOSMemory()
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(most))
	peak, stop := peakMemory()
	windows := 0
	for b.Loop() {
		report, err := judge.All(rec, list, judge.Options{At: at})
		if err != nil {
			b.Fatal(err)
		}
		windows = 0
		for i := range report.Judgements {
			windows += report.Judgements[i].Counts.Judged
		}
	}
	close(stop)
	b.ReportMetric(float64(windows), "windows")
	b.ReportMetric(float64(<-peak)/1e6, "MB-peak")
}

// peakMemory watches how much memory is in use, bytes, until stop is closed.
func peakMemory() (peak chan uint64, stop chan struct{}) {
	peak, stop = make(chan uint64, 1), make(chan struct{})
	go func() {
		most := uint64(0)
		for {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapInuse+m.StackInuse)
			select {
			case <-stop:
				peak <- most
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	}()
	return peak, stop
}

// BenchmarkLateReading adds one reading of three weeks ago to one of 60
// channels under 100 conditions, with 1, 3 and 10 years behind it.
func BenchmarkLateReading(b *testing.B) {
	for _, years := range []int{1, 3, 10} {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			c := benchBook(b, 60, years, time.Minute, hourlyNotice(100, 60))
			at := benchBegins.AddDate(years, 0, 0)
			rec, err := judge.NewRecord(c.entries, c)
			if err != nil {
				b.Fatal(err)
			}
			st, err := judge.NewStanding(rec, testQuantities(b), judge.Options{At: at})
			if err != nil {
				b.Fatal(err)
			}
			for i := 0; b.Loop(); i++ {
				when := at.AddDate(0, 0, -21).Add(time.Duration(i%600) * time.Minute)
				e := c.add(book.Draft{Kind: "import.1", At: when, Until: when.Add(time.Minute)}, benchChannel(7), 0)
				c.late[e.ID] = &series.Block{Span: 60_000, Places: 1, Start: []int64{when.UnixMilli()}, Coefficient: []int64{int64(500 + i%90)}, Mark: []series.Mark{series.Valid}}
				at = at.Add(time.Millisecond)
				if st, err = st.Advance(c.entries[len(c.entries)-1:], c, at, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
