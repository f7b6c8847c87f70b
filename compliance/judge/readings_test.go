package judge

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/series"
)

func blockOf(start, span int64, values ...int64) *series.Block {
	b := &series.Block{Span: span}
	for i, v := range values {
		b.Start = append(b.Start, start+int64(i)*max(span, 1))
		b.Coefficient = append(b.Coefficient, v)
		b.Mark = append(b.Mark, series.Valid)
	}
	return b
}

func said(blocks []*series.Block) string {
	s := ""
	for _, b := range blocks {
		for i := range b.Start {
			s += fmt.Sprintf("%d:%d ", b.Start[i], b.Coefficient[i])
		}
	}
	return s
}

func TestLaterImportsLieOverEarlierOnes(t *testing.T) {
	for _, x := range []struct {
		name   string
		layers [][]*series.Block
		want   string
	}{
		{"one import", [][]*series.Block{{blockOf(0, 10, 1, 2)}}, "0:1 10:2 "},
		{"apart", [][]*series.Block{{blockOf(20, 10, 3)}, {blockOf(0, 10, 1, 2)}}, "0:1 10:2 20:3 "},
		{"the same instants", [][]*series.Block{{blockOf(0, 10, 1, 2, 3)}, {blockOf(10, 10, 9)}}, "0:1 10:9 20:3 "},
		{"a longer reading over shorter ones", [][]*series.Block{{blockOf(0, 10, 1, 2, 3, 4)}, {blockOf(10, 20, 9)}}, "0:1 10:9 30:4 "},
		{"overlapping by a part", [][]*series.Block{{blockOf(0, 10, 1, 2, 3)}, {blockOf(5, 10, 9)}}, "5:9 20:3 "},
		{"three deep", [][]*series.Block{{blockOf(0, 10, 1, 2)}, {blockOf(0, 10, 3)}, {blockOf(0, 10, 5)}}, "0:5 10:2 "},
		{"instants", [][]*series.Block{{blockOf(0, 0, 1, 2, 3)}, {blockOf(1, 0, 9)}}, "0:1 1:9 2:3 "},
		{"interleaved blocks", [][]*series.Block{{blockOf(0, 10, 1), blockOf(40, 10, 5)}, {blockOf(10, 10, 2), blockOf(60, 10, 7)}}, "0:1 10:2 40:5 60:7 "},
	} {
		t.Run(x.name, func(t *testing.T) {
			if got := said(layered(x.layers)); got != x.want {
				t.Errorf("%s, want %s", got, x.want)
			}
		})
	}
}

// Against the plainest reading of the rule: for each instant the value of the
// last import that has one there.
func TestLayersAgreeWithTheRuleAsWritten(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for round := range 200 {
		var layers [][]*series.Block
		want := map[int64]int64{}
		for layer := range 4 {
			var list []*series.Block
			at := int64(r.IntN(5))
			for range 1 + r.IntN(3) {
				b := &series.Block{Span: 10}
				for range 1 + r.IntN(4) {
					v := int64(100*layer + r.IntN(100))
					b.Start, b.Coefficient, b.Mark = append(b.Start, at*10), append(b.Coefficient, v), append(b.Mark, series.Valid)
					want[at*10] = v
					at += 1 + int64(r.IntN(3))
				}
				list = append(list, b)
			}
			layers = append(layers, list)
		}
		got := map[int64]int64{}
		last := int64(-1)
		for _, b := range layered(layers) {
			for i, s := range b.Start {
				if s <= last {
					t.Fatalf("round %d: not in order of time", round)
				}
				got[s], last = b.Coefficient[i], s
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Fatalf("round %d: %v, want %v", round, got, want)
		}
	}
}

func TestReadingsStillRunningAreLeftOut(t *testing.T) {
	blocks := []*series.Block{blockOf(0, 10, 1, 2), blockOf(20, 10, 3, 4)}
	for at, want := range map[int64]string{40: "0:1 10:2 20:3 30:4 ", 39: "0:1 10:2 20:3 ", 20: "0:1 10:2 ", 9: "", 0: ""} {
		if got := said(endedBy(blocks, at)); got != want {
			t.Errorf("at %d: %q, want %q", at, got, want)
		}
	}
}

// Selecting windows by sweeping agrees with asking each window by itself.
func TestSelectOpenAgreesWithTheRuleAsWritten(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	at := func(n int) time.Time { return time.Date(2026, 1, 1, n, 0, 0, 0, time.UTC) }
	for range 300 {
		var open []calendar.Span
		for n := r.IntN(3); n < 40; {
			end := n + 1 + r.IntN(6)
			open = append(open, calendar.Span{From: at(n), To: at(end)})
			n = end + 1 + r.IntN(4)
		}
		var list []window
		for n := 0; n < 40; n += 1 + r.IntN(4) {
			list = append(list, window{span: calendar.Span{From: at(n), To: at(n + 1 + r.IntN(5))}})
		}
		for _, cut := range []bool{false, true} {
			got := ""
			for _, w := range selectOpen(list, open, cut) {
				got += fmt.Sprint(w.span.From.Hour(), w.length().Hours(), " ")
			}
			want := ""
			for _, w := range list {
				whole, inside := false, time.Duration(0)
				for _, o := range open {
					whole = whole || o.Contains(w.span)
					if p := o.Overlap(w.span); !p.Empty() {
						inside += p.Length()
					}
				}
				if whole || cut && inside > 0 {
					want += fmt.Sprint(w.span.From.Hour(), inside.Hours(), " ")
				}
			}
			if got != want {
				t.Fatalf("cut %v: %s, want %s", cut, got, want)
			}
		}
	}
}
