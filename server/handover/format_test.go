package handover

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/server/seal"
)

// block returns the code that FORMAT.md gives in a language.
func block(t *testing.T, language string) string {
	t.Helper()
	_, rest, there := strings.Cut(string(formatText), "```"+language+"\n")
	code, _, closed := strings.Cut(rest, "```")
	if !there || !closed {
		t.Fatalf("FORMAT.md gives nothing in %s", language)
	}
	return code
}

// beside runs a program in a folder with the pack and its members unpacked.
func beside(t *testing.T, pack []byte, program string, args ...string) (string, error) {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skipf("%s is not here to check with", program)
	}
	dir := t.TempDir()
	files := unpacked(t, pack)
	files["pack.zip"] = pack
	for name, text := range files {
		at := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(at), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	c := exec.Command(path, args...)
	c.Dir = dir
	out, err := c.CombinedOutput()
	return string(out), err
}

// The chain and the hashes are those of Python's own library, by the lines
// that FORMAT.md gives the reader.
func TestChainByPython(t *testing.T) {
	k := build(t)
	b := pack(t, k.input(testKey()))
	out, err := beside(t, b, "python3", "-c", block(t, "python"))
	want := "chain whole, 12 entries, last " + k.entries[11].Hash.String() + "\n"
	if err != nil || out != want {
		t.Fatalf("%v\n%s", err, out)
	}
	m := unpacked(t, b)
	replaced(t, m, bookName, "fence panels", "fence planks")
	if out, err := beside(t, sealed(t, m, testKey()), "python3", "-c", block(t, "python")); err == nil {
		t.Fatalf("a changed body was not found: %s", out)
	}
}

// The signature is what OpenSSL takes for one, by the lines of FORMAT.md.
func TestSignatureByOpenSSL(t *testing.T) {
	if _, err := exec.LookPath("openssl"); err != nil {
		t.Skip("openssl is not here to check with")
	}
	key := testKey()
	b := pack(t, build(t).input(key))
	out, err := beside(t, b, "sh", "-c", block(t, "sh"))
	if err != nil || !strings.Contains(out, "Verified Successfully") || !strings.Contains(out, strings.ReplaceAll(seal.Fingerprint(key.Public()), " ", "")) {
		t.Fatalf("%v\n%s", err, out)
	}
	c := exec.Command("sh", "-c", block(t, "sh"))
	c.Dir = t.TempDir()
	bad := bytes.Clone(b)
	bad[100] ^= 4
	if err := os.WriteFile(filepath.Join(c.Dir, "pack.zip"), bad, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, _ := c.CombinedOutput(); strings.Contains(string(out), "Verified Successfully") {
		t.Fatalf("a changed byte was not found:\n%s", out)
	}
}

func TestSumsByCoreutils(t *testing.T) {
	out, err := beside(t, pack(t, build(t).input(testKey())), "sha256sum", "-c", "--strict", "SHA256SUMS")
	if err != nil || strings.Contains(out, "FAILED") {
		t.Fatalf("%v\n%s", err, out)
	}
}

func TestArchiveByUnzip(t *testing.T) {
	out, err := beside(t, pack(t, build(t).input(testKey())), "unzip", "-t", "pack.zip")
	if err != nil || !strings.Contains(out, "No errors detected") {
		t.Fatalf("%v\n%s", err, out)
	}
}

func TestCoverByQPDF(t *testing.T) {
	out, err := beside(t, pack(t, build(t).input(testKey())), "qpdf", "--check", "cover.pdf")
	if err != nil || !strings.Contains(out, "No syntax or stream encoding errors") {
		t.Fatalf("%v\n%s", err, out)
	}
}
