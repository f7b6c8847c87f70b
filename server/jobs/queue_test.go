package jobs

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"
)

func ended(t *testing.T, q *Queue, id string) Job {
	t.Helper()
	limit := time.After(10 * time.Second)
	for {
		job, changed, there := q.Get(id)
		if !there {
			t.Fatal("the job is gone")
		}
		if job.Ended() {
			return job
		}
		select {
		case <-changed:
		case <-limit:
			t.Fatalf("still %s", job.State)
		}
	}
}

func TestJobs(t *testing.T) {
	tests := []struct {
		name string
		work Work
		want State
	}{
		{"done", func(_ context.Context, tell func(float64, string)) (Result, error) {
			tell(0.5, "half way")
			return Result{Name: "pack.zip"}, nil
		}, Done},
		{"failed", func(context.Context, func(float64, string)) (Result, error) { return Result{}, errors.New("no room") }, Failed},
		{"fallen over", func(context.Context, func(float64, string)) (Result, error) { panic("a fault of the program") }, Failed},
	}
	q := New()
	defer q.Close()
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			id, err := q.Start("Making", "p1", tt.work)
			if err != nil {
				t.Fatal(err)
			}
			job := ended(t, q, id)
			if job.State != tt.want || job.Owner != "p1" {
				t.Fatalf("%+v", job)
			}
			if tt.want == Done && (job.Progress != 1 || job.Result == nil || job.Result.Name != "pack.zip") {
				t.Fatalf("%+v", job)
			}
			if tt.want == Failed && job.Error == "" {
				t.Fatal("it does not say why")
			}
		})
	}
}

func TestOneAfterAnother(t *testing.T) {
	q := New()
	defer q.Close()
	running, most := 0, 0
	work := func(context.Context, func(float64, string)) (Result, error) {
		running++ // one at a time: the race detector would tell
		most = max(most, running)
		time.Sleep(time.Millisecond)
		running--
		return Result{}, nil
	}
	var ids []string
	for i := range 5 {
		id, err := q.Start("Verifying", fmt.Sprint("p", i), work)
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id)
	}
	for _, id := range ids {
		ended(t, q, id)
	}
	if most != 1 {
		t.Fatalf("%d ran at once", most)
	}
}

func TestUnknownJob(t *testing.T) {
	q := New()
	defer q.Close()
	if _, _, there := q.Get("none"); there {
		t.Fatal("found")
	}
}

func TestOnePersonDoesNotFillTheQueue(t *testing.T) {
	q := New()
	defer q.Close()
	hold := make(chan struct{})
	defer close(hold)
	work := func(ctx context.Context, _ func(float64, string)) (Result, error) {
		select {
		case <-hold:
		case <-ctx.Done():
		}
		return Result{}, nil
	}
	refused := false
	for range 100 {
		if _, err := q.Start("Making", "p1", work); err != nil {
			refused = true
			break
		}
	}
	if !refused {
		t.Fatal("a hundred jobs of one person were taken")
	}
}
