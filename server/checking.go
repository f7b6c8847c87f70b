package server

import (
	"context"
	"encoding/hex"
	"fmt"
	"sort"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/store"
)

// Verify checks the kept book whole: chain, bodies, originals, readings
// against what their entries commit to.
func (h *House) Verify(ctx context.Context) (*store.Report, error) {
	return h.Store.Verify(ctx, h.Site, store.VerifyOptions{Readings: ReadingFaults})
}

// ReadingFaults says where the readings kept for an entry are not those it
// commits to by count and digest.
func ReadingFaults(e *book.Entry, readings map[string][]*series.Block) []string {
	var out []string
	if e.Body == nil || e.Kind != "import.1" {
		for _, channel := range sorted(readings) {
			out = append(out, fmt.Sprintf("readings of %s belong to no import", channel))
		}
		return out
	}
	left := map[string][]*series.Block{}
	for channel, blocks := range readings {
		left[channel] = blocks
	}
	for _, c := range e.Body.Objects("channels") {
		code := c.Text("channel")
		n, sum := series.Digest(readings[code])
		if n != c.Integer("count") || hex.EncodeToString(sum[:]) != c.Text("digest") {
			out = append(out, fmt.Sprintf("the readings of %s are not those the entry commits to", code))
		}
		delete(left, code)
	}
	for _, channel := range sorted(left) {
		out = append(out, fmt.Sprintf("readings of %s, which the entry does not name", channel))
	}
	return out
}

func sorted(m map[string][]*series.Block) []string {
	names := make([]string, 0, len(m))
	for n := range m {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}
