package demo_test

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/demo"
	"github.com/swardbook/swardbook/server/folder"
)

func lists(t *testing.T) (*book.Kinds, *quantity.List) {
	t.Helper()
	kinds, err := catalogue.Kinds()
	if err != nil {
		t.Fatal(err)
	}
	quantities, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	return kinds, quantities
}

func made(t *testing.T, seed int64) fstest.MapFS {
	t.Helper()
	fsys, err := demo.Make(seed)
	if err != nil {
		t.Fatal(err)
	}
	return fsys
}

func read(t *testing.T, fsys fs.FS) *folder.Contents {
	t.Helper()
	kinds, quantities := lists(t)
	c, err := folder.Read(fsys, kinds, quantities)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range c.Notes {
		t.Errorf("note: %s", n)
	}
	return c
}

// sources lets the judge read the folder's own files.
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

func sealed(t *testing.T, c *folder.Contents) []*book.Entry {
	t.Helper()
	entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		t.Fatal(err)
	}
	return entries
}

func judged(t *testing.T, c *folder.Contents, entries []*book.Entry, at time.Time) *judge.Report {
	t.Helper()
	record, err := judge.NewRecord(entries, sources{c})
	if err != nil {
		t.Fatal(err)
	}
	_, quantities := lists(t)
	r, err := judge.All(record, quantities, judge.Options{At: at, Windows: true})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestSameSeedSameBytes(t *testing.T) {
	a, b, other := made(t, 7), made(t, 7), made(t, 8)
	if len(a) != len(b) {
		t.Fatalf("%d files, then %d", len(a), len(b))
	}
	for name, f := range a {
		if b[name] == nil || !bytes.Equal(f.Data, b[name].Data) {
			t.Errorf("%s differs between two runs of one seed", name)
		}
	}
	if bytes.Equal(a["readings/NM1-2025-06.csv"].Data, other["readings/NM1-2025-06.csv"].Data) {
		t.Error("another seed gives the same readings")
	}
}

func TestFolderOnDisk(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "site")
	if err := demo.Write(dir, 7); err != nil {
		t.Fatal(err)
	}
	var bytes int64
	err := filepath.Walk(dir, func(_ string, info fs.FileInfo, err error) error {
		if err == nil && !info.IsDir() {
			bytes += info.Size()
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if bytes > 15<<20 || bytes < 1<<20 {
		t.Errorf("the folder holds %d bytes, wanted 1 to 15 MB", bytes)
	}
	c := read(t, os.DirFS(dir))
	if !c.HasReceipts() {
		t.Error("the folder does not tell when its rows were received")
	}
	if err := demo.Write(dir, 7); err == nil || !strings.Contains(err.Error(), "not empty") {
		t.Errorf("writing over it again: %v", err)
	}
}

func TestStories(t *testing.T) {
	for _, seed := range []int64{1, 7, 20250602} {
		fsys := made(t, seed)
		c := read(t, fsys)
		r := judged(t, c, sealed(t, c), c.Site.JudgeAt)
		differ, err := folder.Differences(fsys, r)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range differ {
			t.Errorf("seed %d: %s", seed, d)
		}
	}
}

// TestMostIsComplied: beside the stories, everything judged is complied with,
// so that they stand out.
func TestMostIsComplied(t *testing.T) {
	c := read(t, made(t, 1))
	r := judged(t, c, sealed(t, c), c.Site.JudgeAt)
	if r.Clauses.Total != 51 || r.Clauses.Accounted != 51 {
		t.Errorf("clauses %d, accounted for %d; want 51 and 51", r.Clauses.Total, r.Clauses.Accounted)
	}
	told := map[string]judge.Verdict{
		"14 NM2": judge.NotComplied, "16-return ": judge.NotComplied, "9-topsoil MT1": judge.NotComplied, "30-low RA1": judge.NotComplied,
		"13 NM1": judge.CannotBeJudged, "14 NM1": judge.CannotBeJudged, "15 NM1": judge.CannotBeJudged,
		"32 ": judge.NotYetDue, "33 ": judge.NotYetDue, "16-measured NM1": judge.NotApplicable, "16-measured NM2": judge.NotApplicable,
	}
	complied := 0
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Severity == string(permit.AsActionLevel) {
			continue // internal, beside the verdicts
		}
		want, story := told[j.Condition+" "+j.Place]
		if !story {
			want = judge.Complied
			complied++
		}
		if j.Verdict != want {
			t.Errorf("%s %s at %q: %s, want %s: %s", j.Permit, j.Condition, j.Place, j.Verdict, want, j.Sentence)
		}
	}
	if complied < 40 {
		t.Errorf("only %d judgements are complied with", complied)
	}
}

// TestKnownBeforeTheCorrection: the wrong certificate of one sample made it a
// breach until the laboratory issued it again.
func TestKnownBeforeTheCorrection(t *testing.T) {
	c := read(t, made(t, 1))
	before := time.Date(2025, 9, 20, 12, 0, 0, 0, time.UTC)
	r := judged(t, c, book.KnownAt(sealed(t, c), before), before)
	i := slices.IndexFunc(r.Judgements, func(j judge.Judgement) bool { return j.Condition == "2.2-solids" })
	if i < 0 {
		t.Fatal("no judgement of 2.2-solids")
	}
	if j := &r.Judgements[i]; j.Verdict != judge.NotComplied || j.Value == nil || *j.Value != 64 {
		t.Errorf("as known on 20 September: %s, %v; want not complied, 64", j.Verdict, j.Value)
	}
}

// TestNothingFallsDueLater: months after the last file the verdicts stand, so
// that the site can be shown on any day.
func TestNothingFallsDueLater(t *testing.T) {
	c := read(t, made(t, 1))
	entries := sealed(t, c)
	then, later := judged(t, c, entries, c.Site.JudgeAt), judged(t, c, entries, c.Site.JudgeAt.AddDate(1, 3, 0))
	for i := range then.Judgements {
		a, b := &then.Judgements[i], &later.Judgements[i]
		if a.Verdict != b.Verdict || a.Counts != b.Counts {
			t.Errorf("%s at %q: %s %v, fifteen months later %s %v", a.Condition, a.Place, a.Verdict, a.Counts, b.Verdict, b.Counts)
		}
	}
}

// memory is a folder being written into memory.
type memory fstest.MapFS

type memoryFile struct {
	bytes.Buffer
	into memory
	name string
}

func (m memory) Create(name string) (io.WriteCloser, error) {
	return &memoryFile{into: m, name: name}, nil
}

func (f *memoryFile) Close() error {
	f.into[f.name] = &fstest.MapFile{Data: f.Bytes()}
	return nil
}

func TestFolderToBookToFolder(t *testing.T) {
	fsys := made(t, 1)
	c := read(t, fsys)
	kinds, _ := lists(t)
	out := memory{}
	left, err := folder.Write(out, sealed(t, c), kinds, c.OpenFile, folder.WriteOptions{Receipts: folder.Received, JudgeAt: c.Site.JudgeAt})
	if err != nil || len(left) > 0 {
		t.Fatal(err, left)
	}
	delete(fsys, "expected.yaml")
	for name, f := range fsys {
		if out[name] == nil || !bytes.Equal(f.Data, out[name].Data) {
			t.Errorf("%s does not come back as it was", name)
		}
	}
	if len(out) != len(fsys) {
		t.Errorf("%d files went in, %d came out", len(fsys), len(out))
	}
}
