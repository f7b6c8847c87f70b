package series

import (
	"errors"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

const minute = int64(60_000)

// readings makes blocks of one channel from values as text, "<5" and ">90"
// included; "wind" and the like are marks, "" leaves a gap.
func readings(t testing.TB, start string, spanMs int64, values ...string) []*Block {
	t.Helper()
	at := ms0(t, start)
	p := &plan{decimal: '.', flags: map[string]Mark{}}
	for m := Wind; m.known(); m++ {
		p.flags[m.String()] = m
	}
	var b builder
	step := spanMs
	if step == 0 {
		step = 1000
	}
	for _, v := range values {
		if v != "" {
			c, _, err := p.readCell(v, "")
			if err != nil {
				t.Fatal(err)
			}
			b.add(at, spanMs, c)
		}
		at += step
	}
	return b.blocks
}

func ms0(t testing.TB, s string) int64 {
	t.Helper()
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatal(err)
	}
	return at.UnixMilli()
}

func span(t testing.TB, from string, length time.Duration) calendar.Span {
	t.Helper()
	at := time.UnixMilli(ms0(t, from)).UTC()
	return calendar.Span{From: at, To: at.Add(length)}
}

func dec(t testing.TB, s string) unit.Decimal {
	t.Helper()
	d, err := unit.ParseDecimal(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := calendar.LoadZone(name)
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func period(t testing.TB, text string) calendar.Period {
	t.Helper()
	p, err := calendar.ParsePeriod(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func one(t testing.TB, blocks []*Block, s calendar.Span, q Request) Result {
	t.Helper()
	rs, err := Windows(blocks, []calendar.Span{s}, q)
	if err != nil {
		t.Fatal(err)
	}
	return rs[0]
}

// open reads a file of testdata/open; see SOURCES.md there.
func open(t testing.TB, name string, m Mapping) *Parsed {
	t.Helper()
	f, err := os.Open("../../testdata/open/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	p, err := ReadDelimited(f, name, m)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func minuteNoise() Mapping {
	return Mapping{
		Delimiter: ",", HeaderRow: 1,
		Time:   TimeColumns{Columns: []string{"datetime"}, Stamp: "mid", Interval: "60", Zone: "Europe/London"},
		Values: []ValueColumn{{Column: "LEQ dB -A", Channel: "N1-LAEQ", Unit: "dB", Quantity: "noise.laeq"}},
	}
}

func badLines(t testing.TB, err error) *BadFile {
	t.Helper()
	var bad *BadFile
	if !errors.As(err, &bad) {
		t.Fatalf("got %v, want bad lines", err)
	}
	return bad
}

func read(t testing.TB, text string, m Mapping) *Parsed {
	t.Helper()
	p, err := ReadDelimited(strings.NewReader(text), "log.csv", m)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
