package handover

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/series"
)

// A site of so many months: 60 channels by minute in 10 files of 6 channels a
// month, 550 entries a month, 14 photos of 0.2 MB a month, 100 conditions with
// windows of an hour. Months come from PACK_SCALE, 36 being the site that the
// figures to reach are stated for.
func TestScale(t *testing.T) {
	months, _ := strconv.Atoi(os.Getenv("PACK_SCALE"))
	if months == 0 {
		t.Skip("set PACK_SCALE to a number of months to measure a large pack")
	}
	k := largeSite(t, months)
	at := time.Date(2024, time.Month(1+months), 1, 0, 0, 0, 0, time.UTC)
	path := filepath.Join(t.TempDir(), "pack.zip")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	in := k.input(testKey())
	in.At, in.Temp, in.Record, in.Sources = at, t.TempDir(), k, k
	runtime.GC()
	begin, before := time.Now(), peak(t)
	var last time.Time
	in.Tell = func(share float64, words string) {
		if time.Since(last) > time.Second {
			last = time.Now()
			t.Logf("%5.1f s  %.2f %s", time.Since(begin).Seconds(), share, words)
		}
	}
	r, err := Write(context.Background(), f, in)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d months, %d entries: pack of %d MB, %d members, in %.1f s; peak memory %d MB, before %d MB", months, len(k.entries), r.Bytes>>20, r.Members, time.Since(begin).Seconds(), peak(t)>>20, before>>20)
	begin = time.Now()
	out, err := Verify(context.Background(), f, r.Bytes, Check{Fingerprint: testKey().Fingerprint(), Kinds: k.kinds, Quantities: k.list, Program: "test",
		Tell: func(share float64, words string) {
			t.Logf("%5.1f s  %.2f %s", time.Since(begin).Seconds(), share, words)
		}})
	if err != nil || !out.Good() {
		t.Fatalf("%v\n%s", err, strings.Join(out.Lines(), "\n"))
	}
	t.Logf("verified in %.1f s; peak memory %d MB", time.Since(begin).Seconds(), peak(t)>>20)
}

// peak is the most memory the process has held, in bytes.
func peak(t *testing.T) int64 {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("no /proc here to read the peak from")
	}
	_, rest, _ := strings.Cut(string(text), "VmHWM:")
	kb, err := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return kb << 10
}

// large is a large site: originals are made when they are opened.
type large struct {
	kept
	make map[book.Hash]func() []byte
	runs map[string][][]byte
}

func (l *large) OpenFile(_ context.Context, h book.Hash) (io.ReadCloser, error) {
	return io.NopCloser(bytes.NewReader(l.make[h]())), nil
}

func (l *large) File(h book.Hash) (io.ReadCloser, error) {
	return l.OpenFile(context.Background(), h)
}

func (l *large) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	var out []*series.Block
	for _, data := range l.runs[fmt.Sprint(e.Seq, channel)] {
		b, err := series.Decode(data)
		if err != nil {
			return nil, err
		}
		if b.Start[0] < to.UnixMilli() && b.Start[b.Len()-1]+b.Span > from.UnixMilli() {
			out = append(out, b)
		}
	}
	return out, nil
}

func largeSite(t *testing.T, months int) *large {
	kinds, err := catalogue.Kinds()
	if err != nil {
		t.Fatal(err)
	}
	list, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	k := &large{kept: kept{files: map[book.Hash][]byte{}, kinds: kinds, list: list}, make: map[book.Hash]func() []byte{}, runs: map[string][][]byte{}}
	begin := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)
	k.add(t, book.Draft{Kind: "site.1", At: begin, Body: book.Object{"name": "Large site", "grid": "EPSG:27700", "datum": "ODN", "zone": "UTC"}})
	var n strings.Builder
	n.WriteString("permit: {zone: UTC, reference: L/1, type: permit, granted: 2024-01-01}\nclauses:\n")
	for i := range 100 {
		fmt.Fprintf(&n, "  - {number: \"%d\", text: \"Clause %d.\", treated: judged}\n", i, i)
	}
	n.WriteString("conditions:\n")
	for i := range 100 {
		fmt.Fprintf(&n, "  - {id: c%d, clause: \"%d\", kind: measured, subject: noise.laeq, place: P%d, window: clock hour, statistic: energy mean, limit: <= %d dB, coverage: 75 %%}\n", i, i, i%60, 58+i%5)
	}
	k.notice(t, n.String())
	for m := range months {
		from := begin.AddDate(0, m, 0)
		for file := range 10 {
			k.month(t, from, begin.AddDate(0, m+1, 0), file)
		}
		for i := range 540 {
			at := from.Add(time.Duration(i) * 77 * time.Minute)
			d := book.Draft{Kind: "diary.1", At: at, Until: at.Add(time.Hour), Body: book.Object{"act": "haul", "text": fmt.Sprintf("load %d of the month to the store by the gate", i)}}
			if i < 14 {
				seed := uint64(m*100 + i)
				photo := func() []byte { return noise(seed, 200_000) }
				h := hashOf(photo())
				k.make[h] = photo
				d = book.Draft{Kind: "document.1", At: at, Files: []book.Hash{h}, Body: book.Object{"title": "Photo", "type": "photograph", "file": h.String()}}
			}
			k.add(t, d)
		}
	}
	return k
}

func noise(seed uint64, n int) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	b := make([]byte, n)
	for i := 0; i+8 <= n; i += 8 {
		v := r.Uint64()
		for k := range 8 {
			b[i+k] = byte(v >> (8 * k))
		}
	}
	return b
}

// month brings in one file of six channels.
func (l *large) month(t *testing.T, from, to time.Time, file int) {
	var channels []any
	var blocks [6][]*series.Block
	for c := range 6 {
		r := rand.New(rand.NewPCG(uint64(from.Unix()), uint64(file*6+c)))
		for day := from; day.Before(to); day = day.AddDate(0, 0, 1) {
			b := &series.Block{Span: 60_000, Places: 1}
			level := int64(450)
			for i := range 1440 {
				level += int64(r.IntN(21)) - 10 + (450-level)/20
				b.Start = append(b.Start, day.UnixMilli()+int64(i)*60_000)
				b.Coefficient = append(b.Coefficient, level)
				b.Mark = append(b.Mark, series.Valid)
			}
			blocks[c] = append(blocks[c], b)
		}
		count, sum := series.Digest(blocks[c])
		channels = append(channels, book.Object{"channel": fmt.Sprintf("C%02d", file*6+c), "quantity": "noise.laeq", "place": fmt.Sprintf("P%d", file*6+c), "unit": "dB",
			"count": count, "valid": count, "digest": book.Hash(sum).String()})
	}
	h := hashOf(logger(&blocks))
	e := l.add(t, book.Draft{Kind: "import.1", At: from, Until: to, Files: []book.Hash{h}, Body: book.Object{
		"file": h.String(), "name": "logger.csv", "parser": "delimited", "parser_version": "1", "rows": int64(len(blocks[0]) * 1440), "channels": channels,
		"mapping": book.Object{"time_columns": []any{book.Object{"column": "time"}}, "values": []any{book.Object{"column": "C", "channel": "C"}}}}})
	for c := range 6 {
		name := fmt.Sprintf("C%02d", file*6+c)
		var runs [][]byte
		for i, b := range blocks[c] {
			data := series.Encode(b)
			runs = append(runs, data)
			l.chunks = append(l.chunks, Chunk{Import: e.Seq, Channel: name, Number: i, SHA256: hashOf(data), Data: data})
		}
		l.runs[fmt.Sprint(e.Seq, name)] = runs
	}
	l.make[h] = func() []byte {
		var again [6][]*series.Block
		for c := range 6 {
			for _, data := range l.runs[fmt.Sprint(e.Seq, fmt.Sprintf("C%02d", file*6+c))] {
				b, err := series.Decode(data)
				if err != nil {
					t.Fatal(err)
				}
				again[c] = append(again[c], b)
			}
		}
		return logger(&again)
	}
}

// logger writes the blocks as a logger file.
func logger(blocks *[6][]*series.Block) []byte {
	var b []byte
	for day := range blocks[0] {
		for i := range blocks[0][day].Start {
			b = time.UnixMilli(blocks[0][day].Start[i]).UTC().AppendFormat(b, "2006-01-02T15:04:05Z")
			for c := range 6 {
				v := blocks[c][day].Coefficient[i]
				b = append(b, ',')
				b = strconv.AppendInt(b, v/10, 10)
				b = append(b, '.', byte('0'+v%10))
			}
			b = append(b, '\n')
		}
	}
	return b
}
