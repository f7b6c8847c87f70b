package store

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// TestBudgets holds the store to its figures, generously: shared machines vary
// by half.
func TestBudgets(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	s := withSite(t)
	drafts := diary("large", 20_000)
	took := func(what string, most time.Duration, do func() error) {
		t.Helper()
		start := time.Now()
		if err := do(); err != nil {
			t.Fatalf("%s: %v", what, err)
		}
		if d := time.Since(start); d > most {
			t.Errorf("%s took %s, at most %s is wanted", what, d, most)
		} else {
			t.Logf("%s: %s", what, d.Round(time.Microsecond))
		}
	}
	took("appending 20,000 entries", 6*time.Second, func() error { _, err := s.Append(ctx, testSite, drafts, testOptions(1)); return err })
	took("offering them again", 6*time.Second, func() error { _, err := s.Append(ctx, testSite, drafts, testOptions(1)); return err })
	took("reading all 20,000", 6*time.Second, func() error { _, err := s.All(ctx, testSite); return err })
	took("a page of 50", 300*time.Millisecond, func() error { _, err := s.Page(ctx, testSite, Filter{}); return err })
	took("one entry", time.Second, func() error { _, err := s.Append(ctx, testSite, diary("one", 1), testOptions(2)); return err })
}

func BenchmarkAppendOne(b *testing.B) {
	s := withSite(b)
	drafts := diary("bench", b.N+1)
	b.ResetTimer()
	for i := range b.N {
		if _, err := s.Append(ctx, testSite, drafts[i:i+1], testOptions(int64(i))); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAppend20k(b *testing.B) {
	s := withSite(b)
	for i := range b.N {
		b.StopTimer()
		drafts := diary(fmt.Sprint("bench ", i), 20_000)
		b.StartTimer()
		if _, err := s.Append(ctx, testSite, drafts, testOptions(int64(i))); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPage50(b *testing.B) {
	s := withSite(b)
	mustAppend(b, s, diary("bench", 20_000), testOptions(1))
	for _, bb := range []struct {
		name string
		f    Filter
	}{
		{"newest", Filter{}},
		{"kind", Filter{Kind: "diary.1", Before: 9000}},
		{"place", Filter{Place: "ST3", Before: 9000}},
	} {
		b.Run(bb.name, func(b *testing.B) {
			for b.Loop() {
				if page, err := s.Page(ctx, testSite, bb.f); err != nil || len(page) != 50 {
					b.Fatal(len(page), err)
				}
			}
		})
	}
}

func BenchmarkAll20k(b *testing.B) {
	s := withSite(b)
	mustAppend(b, s, diary("bench", 20_000), testOptions(1))
	for b.Loop() {
		if _, err := s.All(ctx, testSite); err != nil {
			b.Fatal(err)
		}
	}
}

// One month of a file of six channels, by minute.
func BenchmarkImportMonth(b *testing.B) {
	s := withSite(b)
	month := minutes(firstDay, 30*1440)
	b.SetBytes(6 * 30 * 1440)
	for i := range b.N {
		st, err := s.Stage(ctx, testSite)
		if err != nil {
			b.Fatal(err)
		}
		for c := range 6 {
			if err := st.Put(ctx, fmt.Sprint("C", c), month); err != nil {
				b.Fatal(err)
			}
		}
		d := importDraft(fmt.Sprint(i))
		if _, err := s.Append(ctx, testSite, []book.Draft{d}, AppendOptions{Now: fixedTime, Import: map[book.ID]*Staging{d.ID: st}}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBlocksYear(b *testing.B) {
	s := withSite(b)
	e := stage(b, s, "year", map[string][]*series.Block{"C": {minutes(firstDay, 365*1440)}})
	b.SetBytes(365 * 1440)
	for b.Loop() {
		if blocks, err := s.Blocks(ctx, testSite, e.Seq, "C", math.MinInt64, math.MaxInt64); err != nil || len(blocks) < 365 {
			b.Fatal(len(blocks), err)
		}
	}
}

// BenchmarkMillionRows takes a million rows of a logger file to readings that can
// be asked for: as chunks, as this store keeps them, and beside it as plain rows of
// the same engine. Bytes a reading are those on the disk, of chunks without the
// slack of pages.
func BenchmarkMillionRows(b *testing.B) {
	const rows = 1_000_000
	var text strings.Builder
	text.WriteString("time,v\n")
	for i := range rows {
		fmt.Fprintf(&text, "%s,%d.%d\n", firstDay.Add(time.Duration(i)*time.Minute).UTC().Format("2006-01-02 15:04:05"), 40+(i*7)%9, i%10)
	}
	mapping := series.Mapping{Delimiter: ",", HeaderRow: 1, Time: series.TimeColumns{Columns: []string{"time"}, Stamp: "begin", Interval: "60", Zone: "UTC"},
		Values: []series.ValueColumn{{Column: "v", Channel: "C", Unit: "dB"}}}
	read := func(b *testing.B) []*series.Block {
		p, err := series.ReadDelimited(strings.NewReader(text.String()), "log.csv", mapping)
		if err != nil {
			b.Fatal(err)
		}
		return p.Channels[0].Blocks
	}
	b.Run("chunks", func(b *testing.B) {
		for i := range b.N {
			s := withSite(b)
			stage(b, s, fmt.Sprint("million ", i), map[string][]*series.Block{"C": read(b)})
			var bytes int64
			if err := s.reader.QueryRow(`SELECT sum(length(data)) FROM chunk`).Scan(&bytes); err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(bytes)/rows, "B/reading")
		}
	})
	b.Run("plain rows", func(b *testing.B) {
		for range b.N {
			_, db, err := openDB(filepath.Join(b.TempDir(), "plain.db"), writing)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := db.Exec(`CREATE TABLE plain (series INTEGER, t INTEGER, v INTEGER, PRIMARY KEY (series, t)) STRICT, WITHOUT ROWID`); err != nil {
				b.Fatal(err)
			}
			tx, err := db.Begin()
			if err != nil {
				b.Fatal(err)
			}
			put, err := tx.Prepare(`INSERT INTO plain VALUES (1, ?, ?)`)
			if err != nil {
				b.Fatal(err)
			}
			for _, block := range read(b) {
				for i, at := range block.Start {
					if _, err := put.Exec(at, block.Coefficient[i]); err != nil {
						b.Fatal(err)
					}
				}
			}
			var pages, size int64
			if err := tx.Commit(); err != nil {
				b.Fatal(err)
			}
			if err := db.QueryRow(`PRAGMA page_count`).Scan(&pages); err != nil {
				b.Fatal(err)
			}
			if err := db.QueryRow(`PRAGMA page_size`).Scan(&size); err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(pages*size)/rows, "B/reading")
			if err := db.Close(); err != nil {
				b.Fatal(err)
			}
		}
	})
}
