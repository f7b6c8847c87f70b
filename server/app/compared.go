package app

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/site"
)

// Comparison is a clause held against the notice by a second person.
type Comparison struct {
	Entry  *book.Entry
	ByName string
	Agrees bool
	Lapsed bool // the clause or its conditions were changed since
	Own    bool // by who entered the notice: it does not count
}

// Counts tells whether the comparison stands for a second person's check.
func (c *Comparison) Counts() bool { return c != nil && c.Agrees && !c.Lapsed && !c.Own }

// Applied is a change of a notice that was applied for: shown, never judged.
type Applied struct {
	Entry     *book.Entry
	ByName    string
	Condition string // id; "" = a new one
	Reference string
	Sentence  string
	Wanted    string // in the condition language
	At        time.Time
}

// words names a clause and what is judged of it, as entered: the SHA-256 of
// the clause and its conditions in the language.
func words(n *permit.Notice, c *permit.Clause) string {
	one := permit.Notice{Reference: n.Reference, Clauses: []permit.Clause{{Number: c.Number, Text: c.Text, Treated: c.Treated, Role: c.Role}}}
	for _, k := range n.Conditions {
		if k.Clause == c.Number {
			one.Conditions = append(one.Conditions, k)
		}
	}
	sum := sha256.Sum256(permit.ToObject(&one).Bytes())
	return hex.EncodeToString(sum[:])
}

// compared returns the last comparison of a clause, or nil.
func (h *Snapshot) compared(f *filed, c *permit.Clause, words string) *Comparison {
	var out *Comparison
	for _, e := range h.View.Current(site.ComparedKind) {
		if e.Body == nil || e.Body.Text("permit") != f.notice.Reference || e.Body.Text("clause") != c.Number {
			continue
		}
		one := &Comparison{Entry: e, ByName: h.NameOf(e.By), Agrees: e.Body.Flag("agrees"), Lapsed: e.Body.Text("words") != words, Own: e.By == f.entry.By}
		if out == nil || e.Seq > out.Entry.Seq {
			out = one
		}
	}
	return out
}

// appliedFor lists the changes of a notice that were applied for.
func (s *Service) appliedFor(h *Snapshot, reference string) []Applied {
	var out []Applied
	for _, e := range h.View.Current(site.AppliedKind) {
		if e.Body == nil || e.Body.Text("permit") != reference {
			continue
		}
		a := Applied{Entry: e, ByName: h.NameOf(e.By), Condition: e.Body.Text("condition"), Reference: e.Body.Text("reference"), Wanted: e.Body.Text("wanted"), At: e.At}
		if c, _, err := permit.ReadCondition(strings.NewReader(a.Wanted), "", e.Body.Text("zone")); err == nil {
			a.Sentence = permit.Sentence(c, s.Quantities)
		}
		out = append(out, a)
	}
	return out
}
