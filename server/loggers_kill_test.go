package server

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/app"
)

// pushBegins is when the logger of these tests begins: a row a minute.
var pushBegins = time.Date(2026, 4, 30, 10, 0, 0, 0, time.UTC)

const (
	pushBatch   = 5  // rows a batch
	pushBatches = 60 // that the killed process sends: five hours of minutes
)

func batchText(i int) string {
	var b strings.Builder
	b.WriteString("time,laeq\n")
	for k := range pushBatch {
		n := i*pushBatch + k
		fmt.Fprintf(&b, "%s,%d.%d\n", pushBegins.Add(time.Duration(n)*time.Minute).Format(time.RFC3339), 40+n%30, n%10)
	}
	return b.String()
}

// afterBatch is the server's clock once the rows of batch i are over.
func afterBatch(i int) time.Time {
	return pushBegins.Add(time.Duration((i+1)*pushBatch) * time.Minute)
}

func openAt(dir string, now *time.Time) (*House, error) {
	return Open(dir, Options{Now: func() time.Time { return *now }})
}

// pushedSite makes a site with one logger, and returns its token.
func pushedSite(t *testing.T, dir string) string {
	t.Helper()
	now := pushBegins
	if _, err := Import(t.Context(), os.DirFS("../testdata/sites/real-inputs"), dir, Options{Now: func() time.Time { return now }}); err != nil {
		t.Fatal(err)
	}
	h, err := openAt(dir, &now)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = h.Close() }()
	m := series.Mapping{
		Time:   series.TimeColumns{Columns: []string{"time"}, Layout: "iso", Stamp: "begin", Interval: "60", Zone: "UTC"},
		Values: []series.ValueColumn{{Column: "laeq", Channel: "NM9-LAEQ", Quantity: "noise.laeq", Unit: "dB"}},
	}
	_, token, err := h.Loggers.MakeLogger(t.Context(), app.Actor{Person: "officer", Role: app.Officer}, "noise-nm9", m, []monitoring.ImportChannel{{Place: "NSR1"}})
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// TestKilledServer is run by TestPushedIsNeverLost in a process of its own: it
// takes what a logger sends and seals the hours that are over, saying what it
// has acknowledged, until it is killed.
func TestKilledServer(t *testing.T) {
	dir, token := os.Getenv("SERVER_KILL"), os.Getenv("SERVER_TOKEN")
	if dir == "" {
		t.Skip("run by TestPushedIsNeverLost")
	}
	now := pushBegins
	h, err := openAt(dir, &now)
	if err != nil {
		t.Fatal(err)
	}
	for i := range pushBatches {
		now = afterBatch(i)
		if _, err := h.Loggers.Push(context.Background(), token, false, []byte(batchText(i))); err != nil {
			t.Fatal(err)
		}
		_, _ = fmt.Printf("@taken %d\n", i)
		if err := h.Loggers.Seal(context.Background()); err != nil {
			t.Fatal(err)
		}
	}
	_, _ = fmt.Println("@done")
}

// TestPushedIsNeverLost kills the server at any instant: what it acknowledged
// is there when it is opened again, once, whether it was spooled or sealed.
// What the logger then sends again because it got no answer adds nothing twice.
func TestPushedIsNeverLost(t *testing.T) {
	for n := range 8 {
		t.Run(fmt.Sprintf("killed after %d ms", n*60), func(t *testing.T) {
			dir := t.TempDir()
			token := pushedSite(t, dir)
			taken := pushUntilKilled(t, dir, token, time.Duration(n*60)*time.Millisecond)
			now := afterBatch(pushBatches)
			h, err := openAt(dir, &now)
			if err != nil {
				t.Fatal(err)
			}
			defer func() { _ = h.Close() }()
			for i := range taken + 1 {
				done, err := h.Loggers.Push(t.Context(), token, false, []byte(batchText(i)))
				if err != nil || done.Kept != 0 || done.Already != pushBatch {
					t.Fatalf("of batch %d, which was acknowledged, %d rows were kept anew: %v", i, done.Kept, err)
				}
			}
			for i := range pushBatches {
				if _, err := h.Loggers.Push(t.Context(), token, false, []byte(batchText(i))); err != nil {
					t.Fatal(err)
				}
			}
			if err := h.Loggers.SealAll(t.Context()); err != nil {
				t.Fatal(err)
			}
			snap, err := h.App.Current(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if p, _ := h.Loggers.Pending(); p != nil {
				t.Errorf("the spool is not empty: %v", p.Channels)
			}
			blocks, err := snap.Record.Readings("NM9-LAEQ", pushBegins, now)
			if err != nil {
				t.Fatal(err)
			}
			i := 0
			for _, b := range blocks {
				for k, at := range b.Start {
					want := series.Block{Places: 1, Coefficient: []int64{int64(40+i%30)*10 + int64(i%10)}}
					if at != pushBegins.Add(time.Duration(i)*time.Minute).UnixMilli() || b.Places != want.Places || b.Coefficient[k] != want.Coefficient[0] {
						t.Fatalf("reading %d is %d·10^-%d at %s", i, b.Coefficient[k], b.Places, time.UnixMilli(at).UTC())
					}
					i++
				}
			}
			stored := 0
			for _, e := range snap.View.Current(monitoring.ImportKind) {
				for _, c := range e.Body.Objects("channels") {
					if c.Text("channel") == "NM9-LAEQ" {
						stored += int(c.Integer("count"))
					}
				}
			}
			if sent := pushBatches * pushBatch; i != sent || stored != sent {
				t.Errorf("%d sent, %d read, %d in imports", sent, i, stored)
			}
		})
	}
}

// pushUntilKilled returns the last batch that was acknowledged; -1 = none.
func pushUntilKilled(t *testing.T, dir, token string, after time.Duration) int {
	t.Helper()
	child := exec.Command(os.Args[0], "-test.run=^TestKilledServer$", "-test.timeout=2m")
	child.Env = append(os.Environ(), "SERVER_KILL="+dir, "SERVER_TOKEN="+token)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	taken, begun := -1, false
	said := bufio.NewScanner(out)
	for said.Scan() {
		var i int
		if _, err := fmt.Sscanf(said.Text(), "@taken %d", &i); err == nil {
			taken = i
		}
		if !begun {
			begun = true
			time.AfterFunc(after, func() { _ = child.Process.Kill() })
		}
	}
	_ = child.Wait() // killed, or done before
	t.Logf("%d of %d batches acknowledged", taken+1, pushBatches)
	return taken
}
