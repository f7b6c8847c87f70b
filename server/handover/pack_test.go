package handover

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestPackVerifies(t *testing.T) {
	k := build(t)
	b := pack(t, k.input(testKey()))
	t.Logf("pack of %d bytes", len(b))
	out := verify(t, b, testKey().Fingerprint())
	if !out.Good() || out.Same == 0 {
		t.Fatalf("not good:\n%s", strings.Join(out.Lines(), "\n"))
	}
	t.Log(strings.Join(out.Lines(), "\n"))
}

func TestLook(t *testing.T) {
	dir := os.Getenv("PACK_LOOK")
	if dir == "" {
		t.Skip("set PACK_LOOK to a folder to look at the pack of the tests")
	}
	k := build(t)
	if err := os.WriteFile(filepath.Join(dir, "pack.zip"), pack(t, k.input(testKey())), 0o600); err != nil {
		t.Fatal(err)
	}
}
