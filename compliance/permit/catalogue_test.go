package permit_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/permit"
)

// TestArchetypesInTheCatalogue checks every archetype against the quantities
// that the program registers, so that what the language can say can be judged.
func TestArchetypesInTheCatalogue(t *testing.T) {
	q, err := catalogue.Quantities()
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob("testdata/archetypes/*.yaml")
	if err != nil || len(files) < 30 {
		t.Fatalf("%d archetypes, %v", len(files), err)
	}
	for _, path := range files {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			f, err := os.Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			n, err := permit.Read(f, path)
			if err != nil {
				t.Fatal(err)
			}
			if faults := permit.Check(n, q, nil); len(faults) > 0 {
				t.Error(faults)
			}
		})
	}
}
