// Package jobs runs work that outlasts a request, tells how far it is, and
// keeps the outcome while the server runs. What a job makes is kept elsewhere;
// a job lost with the server leaves nothing half-made.
package jobs

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"sync"
	"time"
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

// Queue runs jobs one after another.
type Queue struct {
	mu      sync.Mutex
	jobs    map[string]*Job
	order   []string
	changed chan struct{}
	work    chan func()
	stop    context.CancelFunc
	ctx     context.Context
	idle    sync.WaitGroup
}

// kept is how many ended jobs can still be asked for.
const kept = 200

// New starts a queue. Close ends it.
func New() *Queue {
	ctx, stop := context.WithCancel(context.Background())
	q := &Queue{jobs: map[string]*Job{}, changed: make(chan struct{}), work: make(chan func(), 64), stop: stop, ctx: ctx}
	go func() {
		for {
			select {
			case <-ctx.Done():
				return
			case f := <-q.work:
				f()
			}
		}
	}()
	return q
}

// Close stops what runs and waits for it.
func (q *Queue) Close() {
	q.stop()
	done := make(chan struct{})
	go func() { q.idle.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(5 * time.Second):
	}
}

// Start queues work and returns the job's id.
func (q *Queue) Start(kind, owner string, work Work) string {
	b := make([]byte, 16)
	_, _ = rand.Read(b)
	id := hex.EncodeToString(b)
	q.mu.Lock()
	q.jobs[id] = &Job{ID: id, Kind: kind, Owner: owner, State: Waiting, Words: "waiting for its turn"}
	q.order = append(q.order, id)
	for len(q.order) > kept && q.jobs[q.order[0]].Ended() {
		delete(q.jobs, q.order[0])
		q.order = q.order[1:]
	}
	q.mu.Unlock()
	q.work <- func() { q.run(id, work) }
	return id
}

func (q *Queue) run(id string, work Work) {
	q.idle.Add(1)
	defer q.idle.Done()
	q.set(id, func(j *Job) { j.State, j.Words = Running, "begun" })
	result, err := work(q.ctx, func(share float64, words string) {
		q.set(id, func(j *Job) { j.Progress, j.Words = share, words })
	})
	q.set(id, func(j *Job) {
		j.Result = &result
		if err != nil {
			j.State, j.Error, j.Words = Failed, err.Error(), "failed"
			return
		}
		j.State, j.Progress, j.Words = Done, 1, "done"
	})
}

func (q *Queue) set(id string, change func(*Job)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if j := q.jobs[id]; j != nil {
		change(j)
	}
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
