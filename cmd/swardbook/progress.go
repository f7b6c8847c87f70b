package main

import (
	"fmt"
	"io"
	"time"
)

// progress says on stderr what is going on once a second has passed.
type progress struct {
	steps chan string
	done  chan struct{}
}

func startProgress(name string, stderr io.Writer) *progress {
	p := &progress{make(chan string, 64), make(chan struct{})}
	go func() {
		defer close(p.done)
		now, shown := "", ""
		tick := time.NewTicker(time.Second)
		defer tick.Stop()
		for {
			select {
			case s, open := <-p.steps:
				if !open {
					return
				}
				now = s
			case <-tick.C:
				if now != shown {
					_, _ = fmt.Fprintf(stderr, "swardbook %s: %s …\n", name, now)
					shown = now
				}
			}
		}
	}()
	return p
}

func (p *progress) step(what string) { p.steps <- what }

// stop ends the reporting; a second call does nothing.
func (p *progress) stop() {
	if p.steps != nil {
		close(p.steps)
		<-p.done
		p.steps = nil
	}
}

// telling says on a stream how far a long work is: nothing in its first
// second, then a line at most every second.
func telling(w io.Writer) func(share float64, words string) {
	began := time.Now()
	last := began
	return func(share float64, words string) {
		now := time.Now()
		if now.Sub(began) < time.Second || now.Sub(last) < time.Second {
			return
		}
		last = now
		_, _ = fmt.Fprintf(w, "%3.0f %%  %s\n", 100*share, words)
	}
}
