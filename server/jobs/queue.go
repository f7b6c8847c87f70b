package jobs

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"time"

	"github.com/swardbook/swardbook/server/app"
)

// State is where a job is.
type State string

// The states there are.
const (
	Waiting State = "waiting"
	Running State = "running"
	Done    State = "done"
	Failed  State = "failed"
)

// Result is what a job leaves to be shown.
type Result struct {
	Name  string   `json:"name,omitempty"`
	Lines []string `json:"lines,omitempty"`
}

// Job is one job as it stands.
type Job struct {
	ID       string  `json:"id"`
	Kind     string  `json:"kind"`
	Owner    string  `json:"-"` // person who asked
	State    State   `json:"state" enum:"waiting,running,done,failed"`
	Progress float64 `json:"progress"`
	Words    string  `json:"words"`
	Result   *Result `json:"result,omitempty"`
	Error    string  `json:"error,omitempty"`
}

// Ended tells whether the job is done or failed.
func (j Job) Ended() bool { return j.State == Done || j.State == Failed }

// Work does a job; tell says how far it is (0 to 1) in words.
type Work func(ctx context.Context, tell func(share float64, words string)) (Result, error)

// How many jobs wait at most, in all and of one person, and how many ended ones
// can still be asked for.
const (
	mostWaiting = 64
	mostOfOne   = 4
	kept        = 200
)

// Queue runs jobs one after another.
type Queue struct {
	mu      sync.Mutex
	jobs    map[string]*Job
	order   []string      // ids, oldest first
	changed chan struct{} // closed at the next change of any job
	waiting []waiting
	more    chan struct{} // holds one token when something may wait
	closed  bool
	stop    context.CancelFunc
	ended   chan struct{} // closed when no job runs any more
}

type waiting struct {
	id   string
	work Work
}

// New starts a queue. Close ends it.
func New() *Queue {
	ctx, stop := context.WithCancel(context.Background())
	q := &Queue{jobs: map[string]*Job{}, changed: make(chan struct{}), more: make(chan struct{}, 1), stop: stop, ended: make(chan struct{})}
	go q.serve(ctx)
	return q
}

// patience is how long Close waits for the job that runs.
const patience = 5 * time.Second

// Close takes no more jobs, fails those that wait, stops the one that runs and
// waits a little for it.
func (q *Queue) Close() {
	q.mu.Lock()
	q.closed = true
	for _, w := range q.waiting {
		q.jobs[w.id].fail("the server was stopped before its turn; ask again")
	}
	q.waiting = nil
	q.tell()
	q.mu.Unlock()
	q.stop()
	select {
	case <-q.ended:
	case <-time.After(patience):
	}
}

// Start queues work and returns the job's id. It returns a Conflict when too
// much waits already.
func (q *Queue) Start(kind, owner string, work Work) (string, error) {
	b := make([]byte, 16)
	_, _ = rand.Read(b) // never fails since Go 1.24
	id := hex.EncodeToString(b)
	q.mu.Lock()
	defer q.mu.Unlock()
	own := 0
	for _, w := range q.waiting {
		if q.jobs[w.id].Owner == owner {
			own++
		}
	}
	switch {
	case q.closed:
		return "", &app.Error{Code: app.Conflict, Words: "the server is being stopped; ask again when it is back"}
	case own >= mostOfOne || len(q.waiting) >= mostWaiting:
		return "", &app.Error{Code: app.Conflict, Words: "too much is waiting to be done already; ask again when something has ended"}
	}
	q.jobs[id] = &Job{ID: id, Kind: kind, Owner: owner, State: Waiting, Words: "waiting for its turn"}
	q.order = append(q.order, id)
	for len(q.order) > kept && q.jobs[q.order[0]].Ended() {
		delete(q.jobs, q.order[0])
		q.order = q.order[1:]
	}
	q.waiting = append(q.waiting, waiting{id, work})
	select {
	case q.more <- struct{}{}:
	default:
	}
	return id, nil
}

func (q *Queue) serve(ctx context.Context) {
	defer close(q.ended)
	for {
		select {
		case <-ctx.Done():
			return
		case <-q.more:
		}
		for w, there := q.next(); there; w, there = q.next() {
			q.run(ctx, w)
		}
	}
}

func (q *Queue) next() (waiting, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if len(q.waiting) == 0 {
		return waiting{}, false
	}
	w := q.waiting[0]
	q.waiting = q.waiting[1:]
	return w, true
}

func (q *Queue) run(ctx context.Context, w waiting) {
	q.set(w.id, func(j *Job) { j.State, j.Words = Running, "begun" })
	result, err := guarded(ctx, w.work, func(share float64, words string) {
		q.set(w.id, func(j *Job) { j.Progress, j.Words = max(j.Progress, min(max(share, 0), 1)), words })
	})
	q.set(w.id, func(j *Job) {
		if err != nil {
			j.fail(inWords(j.Kind, err))
			return
		}
		j.State, j.Progress, j.Words, j.Result = Done, 1, "done", &result
	})
}

// guarded does the work; a panic in it fails the job and nothing else.
func guarded(ctx context.Context, work Work, tell func(float64, string)) (r Result, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	return work(ctx, tell)
}

// inWords is what whoever asked is told; what the server alone should know goes
// to the log.
func inWords(kind string, err error) string {
	var known *app.Error
	if errors.As(err, &known) && known.Code != app.Internal {
		return known.Error()
	}
	if errors.Is(err, context.Canceled) {
		return "the server was stopped while this ran; ask again"
	}
	slog.Error("job", "kind", kind, "cause", err)
	return "something went wrong on the server; its log says what"
}

func (j *Job) fail(words string) { j.State, j.Words, j.Error = Failed, "failed", words }

func (q *Queue) set(id string, change func(*Job)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	change(q.jobs[id])
	q.tell()
}

// tell wakes whoever waits for a change. The lock is held.
func (q *Queue) tell() {
	close(q.changed)
	q.changed = make(chan struct{})
}

// Get returns a job, and a channel that closes at the next change of any job.
func (q *Queue) Get(id string) (job Job, changed <-chan struct{}, there bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	j := q.jobs[id]
	if j == nil {
		return Job{}, nil, false
	}
	return *j, q.changed, true
}
