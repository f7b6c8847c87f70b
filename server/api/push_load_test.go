package api

import (
	"context"
	"flag"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

var pushSeconds = flag.Int("push.seconds", 3, "how long TestLoggersPushWhileReadersBrowse lets loggers push")

// Twelve loggers push a row of two channels each second while sixteen readers
// browse: everything that was acknowledged is in the book in the end, once. How
// long answers took is written down, for reading with -v -push.seconds=600.
func TestLoggersPushWhileReadersBrowse(t *testing.T) {
	const loggers, readers = 12, 16
	s := serveBy(t, time.Now)
	tokens := make([]string, loggers)
	for i := range tokens {
		m := rowsOf(fmt.Sprintf("L%d-LAEQ", i), map[string]any{"interval": "1", "stamp": "begin"})
		m["values"] = append(m["values"].([]any), map[string]any{"column": "lamax", "channel": fmt.Sprintf("L%d-LAMAX", i), "quantity": "noise.lafmax", "unit": "dB", "place": "NSR1"})
		tokens[i] = s.setUp(fmt.Sprintf("logger-%d", i), m).Token
	}
	officer := s.as(app.Officer)
	ctx, stop := context.WithTimeout(t.Context(), time.Duration(*pushSeconds)*time.Second)
	defer stop()
	var all sync.WaitGroup
	var pushes, reads took
	var sent [loggers]atomic.Int64
	for i := range tokens {
		all.Go(func() {
			at := time.Now().UTC().Truncate(time.Second).Add(-time.Duration(*pushSeconds+2) * time.Second)
			tick := time.NewTicker(time.Second)
			defer tick.Stop()
			for n := 0; ; n++ {
				body := fmt.Sprintf("time,laeq,lamax\n%s,%d.%d,%d\n", at.Add(time.Duration(n)*time.Second).Format(time.RFC3339), 40+n%25, i%10, 70+n%20)
				began := time.Now()
				answer := s.nobody().open("POST", "/api/push", raw{"text/csv", []byte(body)}, "Authorization", "Bearer "+tokens[i])
				_ = answer.Body.Close()
				pushes.add(time.Since(began))
				if answer.StatusCode != http.StatusOK {
					t.Errorf("logger %d, row %d: status %d", i, n, answer.StatusCode)
					return
				}
				sent[i].Add(1)
				select {
				case <-ctx.Done():
					return
				case <-tick.C:
				}
			}
		})
	}
	paths := []string{"/api/today", "/api/conditions", "/api/entries?limit=50", noisy + "?place=NSR1", "/api/duties",
		"/api/readings?channel=NSR1-LAEQ&from=2025-03-21T00:00:00Z&to=2025-03-29T00:00:00Z&px=800"}
	for i := range readers {
		all.Go(func() {
			for n := i; ctx.Err() == nil; n++ {
				began := time.Now()
				answer := officer.open("GET", paths[n%len(paths)], nil)
				_ = answer.Body.Close()
				reads.add(time.Since(began))
				if answer.StatusCode != http.StatusOK {
					t.Errorf("%s: status %d", paths[n%len(paths)], answer.StatusCode)
					return
				}
				time.Sleep(250 * time.Millisecond)
			}
		})
	}
	all.Go(func() { // as the server does
		for ctx.Err() == nil {
			if err := s.house.Loggers.Seal(context.WithoutCancel(ctx)); err != nil {
				t.Error(err)
			}
			time.Sleep(time.Second)
		}
	})
	all.Wait()
	if err := s.house.Loggers.SealAll(t.Context()); err != nil {
		t.Fatal(err)
	}
	snap, err := s.house.App.Current(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	sum := int64(0)
	for i := range tokens {
		stored := map[string]int64{}
		for _, e := range snap.View.Current("import.1") {
			for _, c := range e.Body.Objects("channels") {
				stored[c.Text("channel")] += c.Integer("count")
			}
		}
		for _, what := range []string{"LAEQ", "LAMAX"} {
			if code := fmt.Sprintf("L%d-%s", i, what); stored[code] != sent[i].Load() {
				t.Errorf("%s: %d sent, %d stored", code, sent[i].Load(), stored[code])
			}
		}
		sum += sent[i].Load()
	}
	t.Logf("%d rows of two channels sent and stored in %d s; pushes: %s; %d readers: %s", sum, *pushSeconds, &pushes, readers, &reads)
}

// took are times that answers took.
type took struct {
	mu  sync.Mutex
	all []time.Duration
}

func (k *took) add(d time.Duration) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.all = append(k.all, d)
}

func (k *took) String() string {
	slices.Sort(k.all)
	at := func(q float64) string {
		return k.all[int(q*float64(len(k.all)-1))].Round(100 * time.Microsecond).String()
	}
	return strings.Join([]string{fmt.Sprint(len(k.all)), "answers, half within " + at(0.5), "99 % within " + at(0.99), "all within " + at(1)}, " ")
}
