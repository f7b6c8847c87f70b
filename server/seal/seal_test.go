package seal

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func small(t testing.TB, names ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := NewWriter(&b, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if _, err := w.Add(n, strings.NewReader("content of "+n+strings.Repeat(" grass", 40))); err != nil {
			t.Fatal(err)
		}
	}
	done, err := w.Close(NewKey([32]byte{1}))
	if err != nil {
		t.Fatal(err)
	}
	if done.Bytes != int64(b.Len()) || done.SHA256 != sha256.Sum256(b.Bytes()) || done.Members != len(names) {
		t.Fatalf("%+v is not what was written", done)
	}
	return b.Bytes()
}

// check opens a pack as a verifier does: form, signature, every byte of content.
func check(b []byte) error {
	r, err := Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return err
	}
	if err := r.Signed(); err != nil {
		return err
	}
	for i := range r.Members {
		c := r.Content(&r.Members[i])
		if _, err := io.Copy(io.Discard, c); err != nil {
			return err
		}
	}
	return nil
}

func TestPackOpensAsWritten(t *testing.T) {
	b := small(t, "a.txt", "record/ä.csv", "z")
	if err := check(b); err != nil {
		t.Fatal(err)
	}
	r, _ := Open(bytes.NewReader(b), int64(len(b)))
	m, there := r.Member("record/ä.csv")
	if !there {
		t.Fatal("a member is missing")
	}
	text, err := io.ReadAll(r.Content(m))
	if err != nil || !strings.HasPrefix(string(text), "content of record/ä.csv") {
		t.Fatalf("read %q, %v", text, err)
	}
}

func TestSameContentSameBytes(t *testing.T) {
	if !bytes.Equal(small(t, "a", "b"), small(t, "a", "b")) {
		t.Fatal("two packs of one content differ")
	}
}

// A pack is an ordinary archive: general programs list and unpack it.
func TestOrdinaryProgramsReadIt(t *testing.T) {
	unzip, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 here to read the archive with")
	}
	path := filepath.Join(t.TempDir(), "p.zip")
	if err := os.WriteFile(path, small(t, "a.txt", "b/c.txt"), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(unzip, "-m", "zipfile", "-t", path).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "Done testing") {
		t.Fatalf("%s %v", out, err)
	}
}

func TestEverySingleBitFlipIsDetected(t *testing.T) {
	b := small(t, "a.txt", "b/c.csv")
	for i := range b {
		for bit := 0; bit < 8; bit++ {
			b[i] ^= 1 << bit
			if check(b) == nil {
				t.Fatalf("bit %d of byte %d was flipped and nothing noticed", bit, i)
			}
			b[i] ^= 1 << bit
		}
	}
}

func TestOddFilesAreRefused(t *testing.T) {
	good := small(t, "a.txt", "b.txt")
	r, err := Open(bytes.NewReader(good), int64(len(good)))
	if err != nil {
		t.Fatal(err)
	}
	at := int(r.Members[1].offset)
	tests := []struct {
		name string
		file []byte
	}{
		{"empty", nil},
		{"cut in half", good[:len(good)/2]},
		{"a byte before", append([]byte{0}, good...)},
		{"a byte after", append(append([]byte{}, good...), 0)},
		{"a gap between members", append(append(append([]byte{}, good[:at]...), 0, 0, 0), good[at:]...)},
		{"no signature", good[:len(good)-commentSize]},
		{"another kind of file", bytes.Repeat([]byte("text "), 100)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if err := check(tt.file); !errors.Is(err, ErrNotSealed) {
				t.Fatalf("got %v", err)
			}
		})
	}
}

func TestNamesAreKeptInside(t *testing.T) {
	for _, name := range []string{"", "/etc/passwd", "../up", "a/../b", "a\\b", "c:x", "a//b", "a/", "\xff"} {
		t.Run(fmt.Sprintf("%q", name), func(t *testing.T) {
			w, err := NewWriter(io.Discard, t.TempDir())
			if err != nil {
				t.Fatal(err)
			}
			defer w.Abandon()
			if _, err := w.Add(name, strings.NewReader("x")); err == nil {
				t.Fatal("taken")
			}
		})
	}
}

func TestMembersStandByName(t *testing.T) {
	if !bytes.Equal(small(t, "b", "a", "c/d"), small(t, "a", "b", "c/d")) {
		t.Fatal("the order of adding shows in the pack")
	}
	w, err := NewWriter(io.Discard, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abandon()
	for i, wantErr := range []bool{false, true} {
		if _, err := w.Add("b", strings.NewReader("")); (err != nil) != wantErr {
			t.Fatalf("time %d: %v", i+1, err)
		}
	}
}

// What a member is deflated to depends on its content alone: not on what was
// written before it, nor on the sizes it is handed over in.
func TestPackedBytesDependOnContentAlone(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	text := func() string {
		var b strings.Builder
		for n := r.IntN(200_000); b.Len() < n; {
			fmt.Fprintf(&b, "%d,%.1f\r\n", r.IntN(50), 40+r.Float64()*20)
		}
		return b.String()
	}
	members := map[string]string{"a": text(), "b": text(), "c": strings.Repeat("x", 70_000), "d": text(), "e": ""}
	write := func(order []string, step int) []byte {
		var b bytes.Buffer
		w, err := NewWriter(&b, t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range order {
			if _, err := w.Add(n, &stepReader{strings.NewReader(members[n]), step}); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := w.Close(NewKey([32]byte{1})); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	want := write([]string{"a", "b", "c", "d", "e"}, 1<<15)
	var b bytes.Buffer
	w, err := NewWriter(&b, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	var streams []*Stream
	for _, n := range []string{"d", "b"} {
		s, err := w.Create(n)
		if err != nil {
			t.Fatal(err)
		}
		streams = append(streams, s)
	}
	for at := 0; at < 300_000; at += 777 { // two members written by turns, others between
		for _, s := range streams {
			text := members[s.Member.Name]
			if _, err := s.Write([]byte(text[min(at, len(text)):min(at+777, len(text))])); err != nil {
				t.Fatal(err)
			}
		}
		if n := map[int]string{0: "e", 777: "a", 7770: "c"}[at]; n != "" {
			if _, err := w.Add(n, strings.NewReader(members[n])); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, s := range streams {
		if err := s.Close(); err != nil || s.Member.SHA256 != sha256.Sum256([]byte(members[s.Member.Name])) {
			t.Fatal(err)
		}
	}
	if _, err := w.Close(NewKey([32]byte{1})); err != nil || !bytes.Equal(want, b.Bytes()) {
		t.Fatalf("written by turns they are other bytes: %v", err)
	}
	for i, order := range [][]string{{"e", "d", "c", "b", "a"}, {"c", "a", "e", "b", "d"}} {
		if !bytes.Equal(want, write(order, 1+i*4096)) {
			t.Fatalf("order %v gives other bytes", order)
		}
	}
}

// stepReader hands out a few bytes at a time.
type stepReader struct {
	r    io.Reader
	step int
}

func (s *stepReader) Read(b []byte) (int, error) { return s.r.Read(b[:min(len(b), s.step)]) }

func TestKeyIsKeptAndFoundAgain(t *testing.T) {
	path := filepath.Join(t.TempDir(), "keys", "signing.pem")
	k, made, err := LoadOrCreate(path)
	if err != nil || !made {
		t.Fatal(made, err)
	}
	again, made, err := LoadOrCreate(path)
	if err != nil || made || again.Fingerprint() != k.Fingerprint() {
		t.Fatal(made, err)
	}
	info, err := os.Stat(path)
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Fatalf("the key's file is open to others: %v %v", info.Mode(), err)
	}
}

func TestFingerprintAsTyped(t *testing.T) {
	k := NewKey([32]byte{2})
	plain := strings.ReplaceAll(k.Fingerprint(), " ", "")
	tests := []struct {
		name, typed string
		same, fault bool
	}{
		{"as shown", k.Fingerprint(), true, false},
		{"without spaces", plain, true, false},
		{"in capitals with colons", strings.ToUpper(plain[:2] + ":" + plain[2:]), true, false},
		{"of another key", NewKey([32]byte{3}).Fingerprint(), false, false},
		{"only its beginning", plain[:16], false, true},
		{"empty", "", false, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			same, err := SameFingerprint(tt.typed, k.Public())
			if same != tt.same || (err != nil) != tt.fault {
				t.Fatalf("same %v, %v", same, err)
			}
		})
	}
}

func FuzzOpen(f *testing.F) {
	f.Add(small(f, "a"))
	f.Add(small(f, "a", "b/c"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if check(b) == nil && !bytes.Equal(b, small(t, "a")) && !bytes.Equal(b, small(t, "a", "b/c")) {
			t.Fatal("a file nobody sealed passed")
		}
	})
}

func TestSeededFlips(t *testing.T) {
	b := small(t, "a", "b", "c")
	r := rand.New(rand.NewPCG(7, 11))
	for n := 0; n < 1000; n++ {
		i, bit := r.IntN(len(b)), r.IntN(8)
		b[i] ^= 1 << bit
		if check(b) == nil {
			t.Fatalf("flip of bit %d at %d was not noticed", bit, i)
		}
		b[i] ^= 1 << bit
	}
}

// Bytes after the end of the deflated stream, inside what a member claims, are
// found though the signature covers them.
func TestBytesAfterTheStreamAreFound(t *testing.T) {
	var b bytes.Buffer
	w, err := NewWriter(&b, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Add("a", strings.NewReader("text")); err != nil {
		t.Fatal(err)
	}
	if _, err := w.temp[0].WriteAt([]byte("hidden"), w.end); err != nil {
		t.Fatal(err)
	}
	w.members[0].packed += 6
	if _, err := w.Close(NewKey([32]byte{1})); err != nil {
		t.Fatal(err)
	}
	if err := check(b.Bytes()); !errors.Is(err, ErrNotSealed) || !strings.Contains(err.Error(), "checksum") {
		t.Fatalf("got %v", err)
	}
}
