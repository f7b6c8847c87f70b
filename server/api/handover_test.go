package api

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/jobs"
)

// ended asks for a job until it has ended.
func (p *browser) ended(job string) jobs.Job {
	p.site.t.Helper()
	for range 600 {
		var j jobs.Job
		p.send("GET", "/api/jobs/"+job, nil).want(200).into(&j)
		if j.Ended() {
			return j
		}
		time.Sleep(50 * time.Millisecond)
	}
	p.site.t.Fatal("the job does not end")
	return jobs.Job{}
}

func TestHandover(t *testing.T) {
	s := serve(t)
	p := s.as(app.Manager)
	var before Handover
	p.send("GET", "/api/handover", nil).want(200).into(&before)
	held := map[string]int{}
	for _, h := range before.WillHold {
		held[h.What] = h.Count
	}
	if held["judgements"] != 14 || held["original files"] != 14 || held["entries: Water sample"] != 606 || len(before.Packs) != 0 || before.Fingerprint == "" {
		t.Errorf("%+v", before)
	}
	job := p.send("POST", "/api/handover", map[string]any{}).want(202).text("job")
	done := p.ended(job)
	equal(t, "state", done.State, jobs.Done)

	var after Handover
	p.send("GET", "/api/handover", nil).want(200).into(&after)
	if len(after.Packs) != 1 {
		t.Fatalf("%d packs", len(after.Packs))
	}
	made := after.Packs[0]
	if made.Seq != 624 || made.Name != done.Result.Name || made.MadeBy == "" || made.Fingerprint == "" {
		t.Errorf("%+v", made)
	}
	p.send("GET", "/api/entries?kind=handover.1", nil).want(200).has(made.Entry)
	p.send("GET", "/api/entries/"+made.Entry, nil).want(200).has(made.Name)

	t.Run("download", func(t *testing.T) {
		got := s.as(app.Regulator).send("GET", "/api/packs/"+made.Name, nil).want(200)
		sum := sha256.Sum256(got.body)
		equal(t, "sha256", hex.EncodeToString(sum[:]), made.SHA256)
		equal(t, "bytes", int64(len(got.body)), made.Bytes)
		equal(t, "as", got.header.Get("Content-Disposition"), `attachment; filename="`+made.Name+`"`)
		if _, err := zip.NewReader(bytes.NewReader(got.body), int64(len(got.body))); err != nil {
			t.Error(err)
		}
	})
	t.Run("verified by the regulator", func(t *testing.T) {
		r := s.as(app.Regulator)
		checked := r.ended(r.send("POST", "/api/packs/"+made.Name+"/verify", nil).want(202).text("job"))
		words := strings.Join(checked.Result.Lines, "\n")
		if checked.State != jobs.Done || !strings.Contains(words, "14") || !strings.Contains(words, "same") || strings.Contains(words, "differs") {
			t.Errorf("%s: %s", checked.State, words)
		}
	})
	t.Run("one's job is not another's", func(t *testing.T) {
		s.as(app.Officer).send("GET", "/api/jobs/"+job, nil).problem(404, app.NotFound)
		s.as(app.Officer).send("GET", "/api/jobs/"+job+"/events", nil).problem(404, app.NotFound)
	})
	t.Run("judged to an earlier time", func(t *testing.T) {
		done := p.ended(p.send("POST", "/api/handover", map[string]any{"at": "2025-06-01T00:00:00Z"}).want(202).text("job"))
		if done.State != jobs.Done || !strings.Contains(done.Result.Name, "20250601t000000") {
			t.Errorf("%+v", done)
		}
	})
	p.send("POST", "/api/handover", map[string]any{"at": "tomorrow"}).problem(422, app.Invalid)
	p.send("POST", "/api/handover", map[string]any{"name": "x"}).problem(422, app.Invalid)
	p.send("POST", "/api/packs/..%2Fx.zip/verify", nil).problem(422, app.Invalid)
}

// TestEventsComeAsTheyHappen reads a job's events while it runs: each arrives
// before the next happens.
func TestEventsComeAsTheyHappen(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	step := make(chan string)
	id, err := s.api.Jobs.Start("Counting", p.id, func(ctx context.Context, tell func(float64, string)) (jobs.Result, error) {
		for words := range step {
			tell(0.5, words)
		}
		return jobs.Result{Lines: []string{"counted"}}, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	answer := p.open("GET", "/api/jobs/"+id+"/events", nil, "Accept-Encoding", "gzip", "Accept", "text/event-stream")
	defer func() { _ = answer.Body.Close() }()
	if answer.StatusCode != 200 || answer.Header.Get("Content-Type") != "text/event-stream" || answer.Header.Get("Content-Encoding") != "" || answer.Header.Get("X-Accel-Buffering") != "no" {
		t.Fatalf("%d %v", answer.StatusCode, answer.Header)
	}
	lines := bufio.NewScanner(answer.Body)
	until := func(good func(jobs.Job) bool) {
		t.Helper()
		for lines.Scan() {
			data, found := strings.CutPrefix(lines.Text(), "data: ")
			var j jobs.Job
			if !found {
				continue
			}
			if err := json.Unmarshal([]byte(data), &j); err != nil {
				t.Fatal(err)
			}
			if good(j) {
				return
			}
		}
		t.Fatal("the events end")
	}
	until(func(j jobs.Job) bool { return j.State == jobs.Running })
	for _, words := range []string{"one", "two", "three"} {
		step <- words
		until(func(j jobs.Job) bool { return j.Words == words })
	}
	close(step)
	until(func(j jobs.Job) bool { return j.State == jobs.Done && j.Result.Lines[0] == "counted" })
	if lines.Scan() && lines.Text() != "" {
		t.Errorf("after the end comes %q", lines.Text())
	}
}

// TestTooManyJobs are refused in words, and failures tell nothing of the server.
func TestTooManyJobs(t *testing.T) {
	s := serve(t)
	p := s.as(app.Officer)
	hold := make(chan struct{})
	held, err := s.api.Jobs.Start("Holding", p.id, func(context.Context, func(float64, string)) (jobs.Result, error) {
		<-hold
		return jobs.Result{}, errors.New("open /secret/place: no such file")
	})
	if err != nil {
		t.Fatal(err)
	}
	for p.send("GET", "/api/jobs/"+held, nil).text("state") != "running" {
		time.Sleep(time.Millisecond)
	}
	for range 4 {
		p.send("POST", "/api/handover", map[string]any{}).want(202)
	}
	p.send("POST", "/api/handover", map[string]any{}).problem(409, app.Conflict)
	s.as(app.Manager).send("POST", "/api/handover", map[string]any{}).want(202)
	close(hold)
	failed := p.ended(held)
	if failed.State != jobs.Failed || failed.Error == "" || strings.Contains(failed.Error, "secret") {
		t.Errorf("%+v", failed)
	}
	s.api.Jobs.Close()
	p.send("POST", "/api/handover", map[string]any{}).problem(409, app.Conflict)
}
