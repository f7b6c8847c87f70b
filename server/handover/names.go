package handover

import (
	"crypto/sha256"
	"hash"
	"sort"
)

func newSum() hash.Hash { return sha256.New() }

func sortedNames(set map[string]bool) []string {
	out := make([]string, 0, len(set))
	for n := range set {
		out = append(out, n)
	}
	sort.Strings(out)
	return out
}

func sortedParts(set map[string]part) []string {
	out := make([]string, 0, len(set))
	for n := range set {
		out = append(out, n)
	}
	sort.Strings(out)
	return out
}
