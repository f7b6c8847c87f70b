package api

import (
	"bytes"
	"flag"
	"os"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// TestOpenAPIDocument keeps the committed document the one that is served:
// types for the pages are made from it.
func TestOpenAPIDocument(t *testing.T) {
	const golden = "openapi.json"
	got, err := OpenAPI()
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		if err := os.WriteFile(golden, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Error("openapi.json is not the document of the operations; run the test with -update and read the difference")
	}
	for _, words := range []string{`"not complied"`, `"/conditions/{permit}/{condition}/working"`, `"application/problem+json"`} {
		if !bytes.Contains(got, []byte(words)) {
			t.Errorf("%s is not in the document", words)
		}
	}
}
