package store

import (
	"archive/tar"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
)

func backup(t testing.TB, s *Store) (string, *BackupInfo) {
	t.Helper()
	out := filepath.Join(t.TempDir(), "book.backup")
	info, err := s.Backup(ctx, out)
	if err != nil {
		t.Fatal(err)
	}
	return out, info
}

func TestBackupAndRestore(t *testing.T) {
	s := open(t, full(t), Options{})
	if err := os.MkdirAll(filepath.Join(s.Dir(), KeysName), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(s.Dir(), KeysName, "signing.key"), []byte("the signing key itself"), 0o600); err != nil {
		t.Fatal(err)
	}
	out, info := backup(t, s)
	if len(info.Sites) != 1 || info.Sites[0].Seq != 6 || info.Sites[0].Epoch != 1 || info.Files != 2 || info.Notice != KeyNotice {
		t.Errorf("backup %+v", info)
	}
	if b, err := os.ReadFile(out); err != nil || bytes.Contains(b, []byte("the signing key itself")) || bytes.Contains(b, []byte(secret)) {
		t.Errorf("the backup holds a key or what was erased (%v)", err)
	}
	if _, err := s.Backup(ctx, out); err == nil {
		t.Error("a backup was overwritten")
	}
	want, err := s.All(ctx, testSite)
	if err != nil {
		t.Fatal(err)
	}
	if _, beside := backup(t, open(t, s.Dir(), Options{ReadOnly: true})); beside.Sites[0] != info.Sites[0] {
		t.Errorf("a backup made beside the process that writes: %+v", beside)
	}

	empty := t.TempDir()
	for _, dir := range []string{empty, filepath.Join(t.TempDir(), "deep", "er")} {
		got, err := Restore(ctx, out, dir, VerifyOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Sites[0].Epoch != 2 || got.Sites[0].Head != info.Sites[0].Head {
			t.Errorf("restored %+v", got)
		}
		r := open(t, dir, Options{})
		all, err := r.All(ctx, testSite)
		if err != nil || len(all) != len(want) || all[5].Hash != want[5].Hash {
			t.Errorf("%d entries, %v", len(all), err)
		}
		report := mustSound(t, r)
		if report.Files != 2 || report.Readings != 6000 || report.Site.Epoch != 2 {
			t.Errorf("report %+v", report)
		}
		mustAppend(t, r, diary("after", 3), testOptions(9))
		r.Close()
	}
	if _, err := Restore(ctx, out, empty, VerifyOptions{}); !errors.Is(err, ErrNotEmpty) {
		t.Errorf("restoring over a book: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(filepath.Dir(empty), ".swardbook-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestBackupBesideAWriter(t *testing.T) {
	s := withSite(t)
	mustAppend(t, s, diary("first", 2000), testOptions(1))
	stop := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			default:
			}
			if _, err := s.Append(ctx, testSite, diary(fmt.Sprint("busy ", i), 3), testOptions(int64(i))); err != nil {
				t.Error(err)
				return
			}
		}
	})
	for range 3 {
		out, info := backup(t, s)
		dir := t.TempDir()
		if _, err := Restore(ctx, out, dir, VerifyOptions{}); err != nil {
			t.Fatal(err)
		}
		if n := info.Sites[0].Seq; n < 2000 || (n-2000)%3 != 0 {
			t.Errorf("the backup ends inside an append, at %d", n)
		}
	}
	close(stop)
	wg.Wait()
	mustSound(t, s)
}

func TestBackupRefusesADamagedFile(t *testing.T) {
	s := open(t, full(t), Options{})
	h := book.Hash{}
	for sum := range must(s.filesHeld(ctx)) {
		h = sum
	}
	if err := os.WriteFile(s.filePath(h), []byte("something else"), 0o600); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "b")
	if _, err := s.Backup(ctx, out); !errors.Is(err, ErrDamaged) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(out); !errors.Is(err, os.ErrNotExist) {
		t.Error("a backup was left")
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// member is one file of a tar.
type member struct {
	name string
	data []byte
}

func members(t *testing.T, file string) []member {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all []member
	for r := tar.NewReader(f); ; {
		h, err := r.Next()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, member{h.Name, must(io.ReadAll(r))})
	}
}

func TestRestoreRefuses(t *testing.T) {
	s := open(t, full(t), Options{})
	out, _ := backup(t, s)
	good := members(t, out)
	tests := []struct {
		name   string
		change func(m []member) []member
	}{
		{"a file changed", func(m []member) []member { m[2].data = append([]byte("x"), m[2].data[1:]...); return m }},
		{"the database changed", func(m []member) []member { m[1].data[5000] ^= 1; return m }},
		{"the facts changed", func(m []member) []member {
			m[0].data = bytes.Replace(m[0].data, []byte(`"seq": 6`), []byte(`"seq": 5`), 1)
			return m
		}},
		{"a file left out", func(m []member) []member { return append(m[:2:2], m[3:]...) }},
		{"two members changed about", func(m []member) []member { m[2], m[3] = m[3], m[2]; return m }},
		{"a member twice", func(m []member) []member { return append(append(m[:3:3], m[2]), m[3:]...) }},
		{"a member outside", func(m []member) []member { m[2].name = "files/../../../x"; return m }},
		{"an absolute member", func(m []member) []member { m[2].name = "/x"; return m }},
		{"a key slipped in", func(m []member) []member { return append(m[:2:2], append([]member{{"keys/a", nil}}, m[2:]...)...) }},
		{"no sums", func(m []member) []member { return m[:len(m)-1] }},
		{"a member after the sums", func(m []member) []member { return append(m, member{"files/x", nil}) }},
		{"another format", func(m []member) []member {
			m[0].data = bytes.Replace(m[0].data, []byte(BackupFormat), []byte("swardbook/backup/9"), 1)
			return m
		}},
		{"nothing", func([]member) []member { return nil }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var m []member
			for _, one := range good {
				m = append(m, member{one.name, bytes.Clone(one.data)})
			}
			bad := filepath.Join(t.TempDir(), "bad")
			var b bytes.Buffer
			w := tar.NewWriter(&b)
			for _, one := range tt.change(m) {
				if err := w.WriteHeader(memberHeader(one.name, int64(len(one.data)))); err != nil {
					t.Fatal(err)
				}
				must(w.Write(one.data))
			}
			w.Close()
			if err := os.WriteFile(bad, b.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
			refused(t, bad)
		})
	}
	t.Run("a sparse member", func(t *testing.T) {
		var b bytes.Buffer
		w := tar.NewWriter(&b)
		h := memberHeader(aboutName, 5)
		h.PAXRecords = map[string]string{"GNU_sparse.map": "0,5", "GNU_sparse.size": "1099511627776", "GNU_sparse.numblocks": "1"}
		if err := errors.Join(w.WriteHeader(h), w.Close()); err != nil && b.Len() == 0 {
			t.Fatal(err)
		}
		bad := filepath.Join(t.TempDir(), "bad")
		text := bytes.ReplaceAll(b.Bytes(), []byte("GNU_sparse"), []byte("GNU.sparse"))
		if err := os.WriteFile(bad, append(text, make([]byte, 2048)...), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := ReadBackup(bad); !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "sparse") {
			t.Errorf("got %v", err)
		}
	})
	t.Run("cut anywhere", func(t *testing.T) {
		whole := must(os.ReadFile(out))
		random := rand.New(rand.NewSource(4))
		for range 25 {
			bad := filepath.Join(t.TempDir(), "bad")
			if err := os.WriteFile(bad, whole[:random.Intn(len(whole)-1024)], 0o600); err != nil {
				t.Fatal(err)
			}
			refused(t, bad)
		}
	})
	t.Run("something after the end", func(t *testing.T) {
		bad := filepath.Join(t.TempDir(), "bad")
		if err := os.WriteFile(bad, append(must(os.ReadFile(out)), "more"...), 0o600); err != nil {
			t.Fatal(err)
		}
		refused(t, bad)
	})
}

// A backup comes from anywhere: whatever its bytes, it is read without harm,
// and what is taken has the form Backup writes.
func FuzzReadBackup(f *testing.F) {
	w := &bytes.Buffer{}
	p := &packer{tar: tar.NewWriter(w)}
	for _, m := range []member{
		{aboutName, []byte(`{"format": "` + BackupFormat + `", "files": 1}`)}, {DatabaseName, []byte("rows")},
		{memberOf(sha256.Sum256([]byte("photo"))), []byte("photo")},
	} {
		p.add(m.name, int64(len(m.data)), bytes.NewReader(m.data), nil)
	}
	list := bytes.Clone(p.list.Bytes())
	p.add(sumsName, int64(len(list)), bytes.NewReader(list), nil)
	if err := errors.Join(p.err, p.tar.Close()); err != nil {
		f.Fatal(err)
	}
	f.Add(w.Bytes())
	f.Add(w.Bytes()[:1536])
	f.Add([]byte{})
	good := filepath.Join(f.TempDir(), "good")
	if err := os.WriteFile(good, w.Bytes(), 0o600); err != nil {
		f.Fatal(err)
	}
	if _, err := ReadBackup(good); err != nil {
		f.Fatal(err)
	}
	file := filepath.Join(f.TempDir(), "fuzzed")
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := os.WriteFile(file, data, 0o600); err != nil {
			t.Fatal(err)
		}
		info, err := ReadBackup(file)
		if err == nil && info.Format != BackupFormat {
			t.Errorf("taken with the form %q", info.Format)
		}
		if err != nil && !errors.Is(err, ErrDamaged) {
			t.Errorf("refused for another reason: %v", err)
		}
	})
}

// refused restores a bad backup and wants nothing of it left.
func refused(t *testing.T, bad string) {
	t.Helper()
	parent := t.TempDir()
	dir := filepath.Join(parent, "data")
	if _, err := Restore(ctx, bad, dir, VerifyOptions{}); !errors.Is(err, ErrDamaged) {
		t.Errorf("got %v", err)
	}
	var left []string
	for _, d := range must(os.ReadDir(parent)) {
		left = append(left, d.Name())
	}
	if len(left) > 0 {
		t.Errorf("left behind: %s", strings.Join(left, " "))
	}
}
