package api

import (
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/app"
)

// asker is a client that keeps its connection, as a browser does.
func asker(b *testing.B, p *browser, path string) func() {
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 1}}
	return func() {
		r, err := http.NewRequest("GET", p.site.http.URL+path, nil)
		if err != nil {
			b.Error(err)
			return
		}
		r.AddCookie(&http.Cookie{Name: cookieName, Value: p.cookie})
		answer, err := client.Do(r)
		if err != nil {
			b.Error(err)
			return
		}
		_, err = io.Copy(io.Discard, answer.Body)
		if cerr := answer.Body.Close(); err != nil || cerr != nil || answer.StatusCode != http.StatusOK {
			b.Errorf("status %d, %v, %v", answer.StatusCode, err, cerr)
		}
	}
}

// BenchmarkListOf50At16Clients asks for a page of 50 entries from 16 clients at
// once and reports how long an answer takes: the middle one and the 99th of 100.
// The figure to reach is a p99 of at most 30 ms on two cores.
func BenchmarkListOf50At16Clients(b *testing.B) {
	s := serve(b)
	p := s.as(app.Manager)
	for _, c := range []struct{ name, path string }{
		{"first page", "/api/entries?limit=50"}, {"later page", "/api/entries?limit=50&cursor=300"}, {"words", "/api/entries?limit=50&q=nitrate"},
	} {
		b.Run(c.name, func(b *testing.B) {
			const clients = 16
			var next atomic.Int64
			took := make([][]time.Duration, clients)
			var wait sync.WaitGroup
			b.ResetTimer()
			for i := range clients {
				ask := asker(b, p, c.path)
				wait.Go(func() {
					for next.Add(1) <= int64(b.N) {
						begun := time.Now()
						ask()
						took[i] = append(took[i], time.Since(begun))
					}
				})
			}
			wait.Wait()
			b.StopTimer()
			all := slices.Concat(took...)
			slices.Sort(all)
			b.ReportMetric(ms(all[len(all)/2]), "p50-ms")
			b.ReportMetric(ms(all[len(all)*99/100]), "p99-ms")
		})
	}
}

func ms(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// BenchmarkToday asks for Today as it is held, and after an entry: for whoever
// made it, who waits until it is judged, and for another, who does not.
func BenchmarkToday(b *testing.B) {
	s := serve(b)
	writer, other := s.as(app.Officer), s.as(app.Manager)
	n := 0
	enter := func() {
		n++
		writer.send("PUT", "/api/entries/"+newID(n), diary("line")).want(201)
	}
	for _, c := range []struct {
		name  string
		who   *browser
		after bool
	}{{"held", other, false}, {"after an entry, its author", writer, true}, {"after an entry, another", other, true}} {
		b.Run(c.name, func(b *testing.B) {
			ask := asker(b, c.who, "/api/today")
			ask()
			for b.Loop() {
				if c.after {
					b.StopTimer()
					enter()
					b.StartTimer()
				}
				ask()
			}
		})
	}
}

// BenchmarkChartOf3Years asks for the chart of a channel of three years by minute,
// reduced to 900 columns. The figure to reach is 50 ms.
func BenchmarkChartOf3Years(b *testing.B) {
	s := serve(b)
	p := s.as(app.Manager)
	begin := time.Date(2022, 1, 1, 0, 0, 0, 0, time.UTC)
	const minutes = 3 * 365 * 1440
	var text strings.Builder
	text.WriteString("time,v\n")
	for i := range minutes {
		fmt.Fprintf(&text, "%s,%d.%d\n", begin.Add(time.Duration(i)*time.Minute).Format("2006-01-02T15:04:05Z"), 40+(i*7)%23, i%10)
	}
	sum, _, err := s.house.App.Book.PutFile(b.Context(), strings.NewReader(text.String()), 1<<28)
	if err != nil {
		b.Fatal(err)
	}
	in := app.Import{File: sum, Name: "three years.csv", Of: []monitoring.ImportChannel{{Place: "NSR1"}}, Mapping: series.Mapping{
		Time:   series.TimeColumns{Columns: []string{"time"}, Layout: "iso", Stamp: "begin", Interval: "60", Zone: "UTC"},
		Values: []series.ValueColumn{{Column: "v", Channel: "LONG", Quantity: "noise.laeq", Unit: "dB"}}}}
	if _, _, _, err := s.house.App.KeepImport(b.Context(), app.Actor{Person: p.id, Role: app.Manager}, book.ID(newID(1)), in); err != nil {
		b.Fatal(err)
	}
	ask := asker(b, p, "/api/readings?channel=LONG&from=2022-01-01T00:00:00Z&to=2024-12-31T00:00:00Z&px=900")
	ask()
	for b.Loop() {
		ask()
	}
}
