package catalogue

import (
	"slices"
	"testing"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/site"
)

// The kind that keeps an answer takes every way an answer can come out.
func TestAskedTakesEveryOutcome(t *testing.T) {
	kind := mustKinds(t).Named(site.AskedKind)
	for _, f := range kind.Fields {
		if f.Name == "outcome" {
			want := []string{judge.NothingStands, judge.UntilThen, judge.StandsAgainst, judge.NoAnswer}
			if !slices.Equal(f.Options, want) {
				t.Errorf("%q, want %q", f.Options, want)
			}
		}
	}
}
