package store

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

func TestPutFile(t *testing.T) {
	s := withSite(t)
	content := bytes.Repeat([]byte("stacked grass to grass\n"), 5000)
	want := book.Hash(sha256.Sum256(content))
	for range 2 { // the second time it is there already
		sum, size, err := s.PutFile(ctx, iotest.OneByteReader(bytes.NewReader(content[:0:0])), 10)
		if err != nil || size != 0 {
			t.Errorf("an empty file: %s %d %v", sum, size, err)
		}
		sum, size, err = s.PutFile(ctx, bytes.NewReader(content), int64(len(content)))
		if err != nil || sum != want || size != int64(len(content)) {
			t.Fatalf("%s %d %v", sum, size, err)
		}
	}
	r, err := s.OpenFile(ctx, want)
	if err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(r)
	if err != nil || !bytes.Equal(got, content) {
		t.Errorf("read back %d bytes, %v", len(got), err)
	}
	r.Close()
	if n, err := s.FileSize(ctx, want); err != nil || n != int64(len(content)) {
		t.Errorf("size %d, %v", n, err)
	}
	if _, _, err := s.PutFile(ctx, bytes.NewReader(content), int64(len(content))-1); !errors.Is(err, ErrTooLarge) {
		t.Errorf("one byte over: %v", err)
	}
	if _, _, err := s.PutFile(ctx, iotest.TimeoutReader(bytes.NewReader(content)), 1<<30); !errors.Is(err, iotest.ErrTimeout) {
		t.Errorf("a reader that fails: %v", err)
	}
	if _, err := s.OpenFile(ctx, book.Hash{1}); !errors.Is(err, ErrNoFile) {
		t.Errorf("a file that is not held: %v", err)
	}
	if parts := names(t, s, tempPrefix); len(parts) != 0 {
		t.Errorf("left behind: %v", parts)
	}
}

func TestDamagedFileIsNotReadToItsEnd(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(path string) error
	}{
		{"changed", func(p string) error { return os.WriteFile(p, []byte("12345"), 0o600) }},
		{"cut", func(p string) error { return os.Truncate(p, 2) }},
		{"grown", func(p string) error { return os.WriteFile(p, []byte("abcdef"), 0o600) }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := withSite(t)
			sum, _, err := s.PutFile(ctx, strings.NewReader("abcde"), 10)
			if err != nil {
				t.Fatal(err)
			}
			if err := tt.change(s.filePath(sum)); err != nil {
				t.Fatal(err)
			}
			r, err := s.OpenFile(ctx, sum)
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			if _, err := io.Copy(io.Discard, r); !errors.Is(err, ErrDamaged) {
				t.Errorf("got %v", err)
			}
		})
	}
}

func TestPutFileFromManySides(t *testing.T) {
	s := withSite(t)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for i := range 5 {
				if _, _, err := s.PutFile(ctx, strings.NewReader(strings.Repeat("x", i)), 10); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if got := names(t, s, ""); len(got) != 5 {
		t.Errorf("%d files: %v", len(got), got)
	}
}

func TestSweepFiles(t *testing.T) {
	s := withSite(t)
	put := func(text string) book.Hash {
		t.Helper()
		sum, _, err := s.PutFile(ctx, strings.NewReader(text), 100)
		if err != nil {
			t.Fatal(err)
		}
		return sum
	}
	named, orphan := put("named"), put("orphan")
	d := diary("a", 1)[0]
	d.Files = []book.Hash{named}
	mustAppend(t, s, []book.Draft{d}, testOptions(1))
	s.Close()
	root := filepath.Join(s.Dir(), FilesName)
	stray := filepath.Join(root, "00", strings.Repeat("0", 64)) // in place, but its row was never written
	for _, path := range []string{filepath.Join(root, tempPrefix+"123"), stray, filepath.Join(root, "README")} {
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, tt := range []struct {
		name  string
		after time.Duration
		want  []string
	}{
		{"within a day", 23 * time.Hour, []string{"README", named.String(), orphan.String()}},
		{"after a day", 25 * time.Hour, []string{"README", named.String()}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := open(t, s.Dir(), Options{Now: func() time.Time { return fixedTime().Add(tt.after) }})
			got := map[string]bool{}
			for _, n := range names(t, s, "") {
				got[n] = true
			}
			for _, w := range tt.want {
				if !got[w] {
					t.Errorf("%s is gone", w)
				}
			}
			if len(got) != len(tt.want) {
				t.Errorf("held: %v", got)
			}
			mustSound(t, s)
			s.Close()
		})
	}
}

// names lists the files under files/ whose names begin so.
func names(t *testing.T, s *Store, prefix string) []string {
	t.Helper()
	var out []string
	err := filepath.WalkDir(filepath.Join(s.Dir(), FilesName), func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.HasPrefix(d.Name(), prefix) {
			out = append(out, d.Name())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}
