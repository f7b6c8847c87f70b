package permit

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"
	"time"
)

// FuzzRead reads any bytes: no panic, faults with reasons, and what is read is
// written and read again as the same notice.
func FuzzRead(f *testing.F) {
	for _, text := range archetypes(f) {
		f.Add([]byte(text))
		n, err := Read(strings.NewReader(text), "seed.yaml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(ToObject(n).Bytes())
	}
	if b, err := os.ReadFile("testdata/refused/yaml.txt"); err == nil {
		for _, part := range strings.Split(string(b), "\n== ") {
			f.Add([]byte(part))
		}
	}
	q := quantities(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		n, err := Read(bytes.NewReader(text), "fuzz.yaml")
		if err != nil {
			var faults Faults
			if !errors.As(err, &faults) || len(faults) == 0 {
				t.Fatalf("error that is no fault: %v", err)
			}
			for _, one := range faults {
				if one.Reason == "" || one.Remedy == "" || one.Line < 0 {
					t.Fatalf("fault without reason or remedy: %+v", one)
				}
			}
			return
		}
		roundTrip(t, n)
		Check(n, q, func(string) bool { return false })
		CheckTogether([]*Notice{n, n})
		for _, v := range InForce([]*Notice{n}, time.UTC) {
			if Sentence(v.Condition, q) == "" {
				t.Fatal("a condition without a sentence")
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	text, err := os.ReadFile("testdata/archetypes/N01.yaml")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Read(bytes.NewReader(text), "n.yaml"); err != nil {
			b.Fatal(err)
		}
	}
}
