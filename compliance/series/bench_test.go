package series

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// BenchmarkReadDelimited reads a million rows of a two-column logger file.
func BenchmarkReadDelimited(b *testing.B) {
	var text strings.Builder
	text.WriteString("time,v\n")
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 1_000_000 {
		fmt.Fprintf(&text, "%s,%d.%d\n", at.Add(time.Duration(i)*time.Minute).Format("2006-01-02 15:04:05"), 40+i%30, i%10)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadDelimited(strings.NewReader(text.String()), "log.csv", simple("UTC")); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkYear decodes a year of minutes from chunks and takes LAeq,1h of
// every hour.
func BenchmarkYear(b *testing.B) {
	var chunks [][]byte
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for day := range 365 {
		block := &Block{Span: minute, Places: 1}
		for i := range 1440 {
			block.Start = append(block.Start, at.AddDate(0, 0, day).UnixMilli()+int64(i)*minute)
			block.Coefficient = append(block.Coefficient, int64(450+i*7%60))
			block.Mark = append(block.Mark, Valid)
		}
		chunks = append(chunks, Encode(block))
	}
	year := span(b, "2026-01-01T00:00:00Z", 365*24*time.Hour)
	hours, err := period(b, "clock hour").Windows(year, time.UTC)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		blocks := make([]*Block, len(chunks))
		for i, c := range chunks {
			if blocks[i], err = Decode(c); err != nil {
				b.Fatal(err)
			}
		}
		if _, err := Windows(blocks, hours, Request{Stat: EnergyMean}); err != nil {
			b.Fatal(err)
		}
	}
}
