package folder_test

import (
	"io"
	"os"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/folder"
)

// sources lets the judge read a folder's own files.
type sources struct{ c *folder.Contents }

func (s sources) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	var out []*series.Block
	for _, b := range s.c.Parsed[e.ID][channel] {
		if n := b.Len(); n > 0 && b.Start[0] < to.UnixMilli() && b.Start[n-1]+max(b.Span, 1) > from.UnixMilli() {
			out = append(out, b)
		}
	}
	return out, nil
}

func (s sources) File(h book.Hash) (io.ReadCloser, error) { return s.c.OpenFile(h) }

// judged seals and judges a folder at its own time.
func judged(t testing.TB, c *folder.Contents) *judge.Report {
	t.Helper()
	entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		t.Fatal(err)
	}
	record, err := judge.NewRecord(entries, sources{c})
	if err != nil {
		t.Fatal(err)
	}
	_, quantities := lists(t)
	r, err := judge.All(record, quantities, judge.Options{At: c.Site.JudgeAt, Windows: true})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRealInputsAreJudgedAsExpected: every figure from outside the program,
// with its source, stands in the folder's expected.yaml.
func TestRealInputsAreJudgedAsExpected(t *testing.T) {
	fsys := os.DirFS(realInputs)
	r := judged(t, read(t, fsys))
	differ, err := folder.Differences(fsys, r)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range differ {
		t.Error(d)
	}
	if r.Clauses.Total != 12 || r.Clauses.Accounted != 12 {
		t.Errorf("clauses %d, accounted for %d; want 12 and 12", r.Clauses.Total, r.Clauses.Accounted)
	}
	if len(r.Judgements) != 14 {
		t.Errorf("%d judgements, want 14", len(r.Judgements))
	}
}

// TestWorkedExamplesAreJudgedAsPrinted: eighteen examples with figures worked by
// hand, and the two that are printed for an earlier time.
func TestWorkedExamplesAreJudgedAsPrinted(t *testing.T) {
	fsys := os.DirFS("../../testdata/sites/worked-examples")
	r := judged(t, read(t, fsys))
	differ, err := folder.Differences(fsys, r)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range differ {
		t.Error(d)
	}
	if n := len(r.Judgements); n != 53 {
		t.Errorf("%d judgements, want 53", n)
	}
}
