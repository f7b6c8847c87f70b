package handover

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/folder"
	"github.com/swardbook/swardbook/server/seal"
)

// packsDir holds one pack for each rules number there was, for ever.
const packsDir = "../../testdata/packs"

// frozenKey signs them. It is public, as the packs prove nothing but that they
// can still be read and judged the same.
func frozenKey() *seal.Key {
	return seal.NewKey([32]byte([]byte("the key of frozen packs: public.")))
}

// Every frozen pack still verifies; one of rules this program no longer holds
// is said to be so, and nothing of it is wrong.
func TestFrozenPacksVerify(t *testing.T) {
	files, err := filepath.Glob(packsDir + "/rules-*.zip")
	if err != nil || len(files) == 0 {
		t.Fatalf("no frozen pack is there: %v", err)
	}
	held := false
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			rules, err := strconv.Atoi(regexp.MustCompile(`\d+`).FindString(filepath.Base(path)))
			if err != nil {
				t.Fatal(err)
			}
			out := verify(t, b, frozenKey().Fingerprint())
			all := strings.Join(out.Lines(), "\n")
			if out.Rules != int64(rules) || len(out.Faults) > 0 || out.Differ > 0 {
				t.Fatalf("not as it was sealed:\n%s", all)
			}
			held = held || rules == judge.Rules
			if judge.Holds(int64(rules)) {
				if !out.Good() || out.Same == 0 {
					t.Fatalf("not judged the same:\n%s", all)
				}
			} else if out.RulesHeld || !strings.Contains(all, fmt.Sprintf("no longer holds rules %d", rules)) {
				t.Fatalf("other rules are not said to be so:\n%s", all)
			}
		})
	}
	if !held {
		t.Errorf("there is no frozen pack of rules %d; make it with -update", judge.Rules)
	}
}

// The site of real inputs gives the frozen pack of this rules number to the
// last byte, on every processor, as long as the layout is the same.
func TestRealInputsGiveTheFrozenPack(t *testing.T) {
	got := pack(t, realInputs(t))
	path := filepath.Join(packsDir, fmt.Sprintf("rules-%d.zip", judge.Rules))
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil { //nolint:gosec // test data, for everybody
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Equal(got, want) {
		return
	}
	a, b := unpacked(t, want), unpacked(t, got)
	m, err := readManifest(a[manifestName])
	if err != nil {
		t.Fatal(err)
	}
	var differ []string
	for _, n := range names(b) {
		if n != manifestName && n != sumsName && !bytes.Equal(a[n], b[n]) {
			differ = append(differ, n)
		}
	}
	if m.layout != Layout && bytes.Equal(a[judgementsName], b[judgementsName]) && bytes.Equal(a[bookName], b[bookName]) {
		return // set otherwise since, judged the same
	}
	t.Fatalf("the same book gives another pack: %s; once a version is out the rules or the layout number must be raised, before that run with -update", strings.Join(differ, ", "))
}

// realInputs is the site of testdata/sites/real-inputs as a book in memory.
func realInputs(t *testing.T) Input {
	t.Helper()
	kinds, err := catalogue.Kinds()
	if err != nil {
		t.Fatal(err)
	}
	list, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	c, err := folder.Read(os.DirFS("../../testdata/sites/real-inputs"), kinds, list)
	if err != nil {
		t.Fatal(err)
	}
	entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		t.Fatal(err)
	}
	k := folded{c, entries}
	return Input{Site: c.Site.ID, Created: c.Site.Created, Entries: entries, At: c.Site.JudgeAt, Program: "frozen", Key: frozenKey(),
		Record: k, Sources: k, Kinds: kinds, Quantities: list}
}

// folded gives what a site folder holds.
type folded struct {
	c       *folder.Contents
	entries []*book.Entry
}

func (f folded) OpenFile(_ context.Context, h book.Hash) (io.ReadCloser, error) {
	return f.c.OpenFile(h)
}

func (f folded) File(h book.Hash) (io.ReadCloser, error) { return f.c.OpenFile(h) }

func (f folded) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	var out []*series.Block
	for _, b := range f.c.Parsed[e.ID][channel] {
		if n := b.Len(); n > 0 && b.Start[0] < to.UnixMilli() && b.Start[n-1]+max(b.Span, 1) > from.UnixMilli() {
			out = append(out, b)
		}
	}
	return out, nil
}

func (f folded) Chunks(_ context.Context, do func(Chunk) error) error {
	for _, e := range f.entries {
		channels := map[string][]byte{}
		for code := range f.c.Parsed[e.ID] {
			channels[code] = nil
		}
		for _, code := range names(channels) {
			for i, b := range f.c.Parsed[e.ID][code] {
				data := series.Encode(b)
				if err := do(Chunk{Import: e.Seq, Channel: code, Number: i, SHA256: hashOf(data), Data: data}); err != nil {
					return err
				}
			}
		}
	}
	return nil
}
