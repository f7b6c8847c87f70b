package folder_test

import (
	"bytes"
	"io"
	"io/fs"
	"os"
	"sort"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/server/folder"
)

func lists(t testing.TB) (*book.Kinds, *quantity.List) {
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

// inMemory is a folder being written into memory.
type inMemory fstest.MapFS

type memoryFile struct {
	bytes.Buffer
	into inMemory
	name string
}

func (m inMemory) Create(name string) (io.WriteCloser, error) {
	return &memoryFile{into: m, name: name}, nil
}

func (f *memoryFile) Close() error {
	f.into[f.name] = &fstest.MapFile{Data: f.Bytes()}
	return nil
}

// read reads a folder and fails on any problem.
func read(t testing.TB, fsys fs.FS) *folder.Contents {
	t.Helper()
	kinds, quantities := lists(t)
	c, err := folder.Read(fsys, kinds, quantities)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// back seals a folder and writes the book into a folder again.
func back(t testing.TB, c *folder.Contents, o folder.WriteOptions) fstest.MapFS {
	t.Helper()
	kinds, _ := lists(t)
	entries, genesis, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		t.Fatal(err)
	}
	var prev *book.Entry
	for _, e := range entries {
		if err := book.CheckLink(genesis, prev, e); err != nil {
			t.Fatal(err)
		}
		prev = e
	}
	out := inMemory{}
	left, err := folder.Write(out, entries, kinds, c.OpenFile, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range left {
		t.Errorf("entry %d was left out: %s", l.Entry.Seq, l.Why)
	}
	return fstest.MapFS(out)
}

// loose are files that are no part of the record.
func loose(name string) bool {
	return name == "expected.yaml" || strings.HasSuffix(name, ".md")
}

// sameFiles compares two folders byte for byte.
func sameFiles(t testing.TB, want, got fs.FS) {
	t.Helper()
	a, b := contents(t, want), contents(t, got)
	var names []string
	for n := range a {
		names = append(names, n)
	}
	for n := range b {
		if _, there := a[n]; !there {
			names = append(names, n)
		}
	}
	sort.Strings(names)
	for _, n := range names {
		x, inA := a[n]
		y, inB := b[n]
		switch {
		case !inA:
			t.Errorf("%s was written and did not stand before", n)
		case !inB:
			t.Errorf("%s is gone", n)
		case x != y && len(x) < 1<<20:
			t.Errorf("%s differs (-before +after):\n%s", n, cmp.Diff(strings.SplitAfter(x, "\n"), strings.SplitAfter(y, "\n")))
		case x != y:
			t.Errorf("%s differs", n)
		}
	}
}

func contents(t testing.TB, fsys fs.FS) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || loose(name) {
			return err
		}
		data, err := fs.ReadFile(fsys, name)
		out[name] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestFolderToBookToFolder(t *testing.T) {
	for _, site := range []string{"real-inputs"} {
		t.Run(site, func(t *testing.T) {
			fsys := os.DirFS("../../testdata/sites/" + site)
			c := read(t, fsys)
			receipts := folder.NoReceipts
			if c.HasReceipts() {
				receipts = folder.Received
			}
			sameFiles(t, fsys, back(t, c, folder.WriteOptions{Receipts: receipts, JudgeAt: c.Site.JudgeAt}))
		})
	}
}
