// Package permittest holds what tests of several packages read: the table of
// archetypes as notices.
package permittest

import (
	"io/fs"
	"strings"
	"testing"
)

// Archetypes returns the text of each notice in a folder, a row of the table
// of archetypes in our own words, by its id.
func Archetypes(t testing.TB, folder fs.FS) map[string]string {
	t.Helper()
	files, err := fs.Glob(folder, "*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, f := range files {
		text, err := fs.ReadFile(folder, f)
		if err != nil {
			t.Fatal(err)
		}
		out[strings.TrimSuffix(f, ".yaml")] = string(text)
	}
	return out
}
