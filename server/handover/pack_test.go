package handover

import (
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
