package main

import (
	"fmt"
	"io"
	"time"
)

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
