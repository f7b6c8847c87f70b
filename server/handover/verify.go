package handover

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"sync"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/server/seal"
)

// Check says how a pack is verified.
type Check struct {
	Fingerprint   string // of the key expected; "" = the signer is not checked
	FromOriginals bool   // parse logger files and surveys again as well
	Kinds         *book.Kinds
	Quantities    *quantity.List
	Program       string // version of this program
	// Reparse reads the original of an import or survey again and says in sentences where it
	// is read otherwise now.
	Reparse func(Original) []string
	Tell    func(share float64, words string)
}

// Original is an entry with its original, to be parsed again.
type Original struct {
	Entry *book.Entry
	File  func(book.Hash) (io.ReadCloser, error)
}

// Verify checks a pack, in this order: form, signature, signer, hashes of every
// member, chain, originals, readings; then it makes everything derived again
// from nothing but the record and compares it. The error is for what could not
// be read and for a call that is off; what is wrong with the pack stands in the
// outcome, and what depends on it is not looked at any more.
func Verify(ctx context.Context, file io.ReaderAt, size int64, c Check) (*Outcome, error) {
	out := &Outcome{Checked: []string{}, Faults: []string{}, Notes: []string{}, Judgements: []Line{}}
	if c.Tell == nil {
		c.Tell = func(float64, string) {}
	}
	r, err := seal.Open(file, size)
	if err != nil {
		if !errors.Is(err, seal.ErrNotSealed) {
			return nil, err
		}
		out.fault("%v", err)
		return out, nil
	}
	v := &verifying{ctx: ctx, check: c, out: out, opened: opened{r: r}}
	for _, step := range []struct {
		share float64
		words string
		do    func() error
	}{
		{0, "checking the signature", v.signature},
		{0.1, "checking every member's hash", v.hashes},
		{0.3, "checking the chain", v.record},
		{0.35, "checking originals", v.originals},
		{0.4, "checking readings", v.readings},
		{0.5, "judging everything again", v.derived},
		{0.9, "reading originals again", v.fromOriginals},
	} {
		c.Tell(step.share, step.words)
		if err := errors.Join(ctx.Err(), step.do()); err != nil {
			return nil, err
		}
		if v.stopped {
			break
		}
	}
	c.Tell(1, "done")
	return out, nil
}

// verifying is one pack being verified.
type verifying struct {
	ctx   context.Context
	check Check
	out   *Outcome
	opened
	sums    map[string]book.Hash // of the members, read once
	stopped bool                 // what comes after cannot be looked at
}

// stop notes a fault that leaves nothing to go on with.
func (v *verifying) stop(format string, args ...any) {
	v.out.fault(format, args...)
	v.stopped = true
}

// signature checks the signature, and that it is of the key expected.
func (v *verifying) signature() error {
	v.out.Signer = seal.Fingerprint(v.r.Public)
	if v.check.Fingerprint != "" {
		same, err := seal.SameFingerprint(v.check.Fingerprint, v.r.Public)
		if err != nil {
			return fmt.Errorf("--key: %w", err)
		}
		v.out.SignerKnown = true
		if !same {
			v.out.fault("the pack was sealed with another key than the one expected: %s", v.out.Signer)
		}
	}
	if err := v.r.Signed(); err != nil {
		if !errors.Is(err, seal.ErrNotSealed) {
			return err
		}
		v.stop("%v", err)
		return nil
	}
	v.out.checked("every byte is covered by the signature")
	return nil
}

// hashes reads every member once: sizes and checksums hold, its SHA-256 stands
// in manifest and sums, and nothing more stands there.
func (v *verifying) hashes() error {
	text, err := v.text(manifestName)
	if err == nil {
		v.manifest, err = readManifest(text)
	}
	if err != nil {
		v.stop("%s: %v", manifestName, err)
		return nil
	}
	listed := map[string]member{}
	for _, m := range v.manifest.members {
		listed[m.name] = m
	}
	v.sums = map[string]book.Hash{}
	var all []member
	for i, one := range v.sumAll() {
		m := &v.r.Members[i]
		if one.err != nil {
			v.stop("%v", one.err)
			continue
		}
		sum := one.sum
		v.sums[m.Name] = sum
		if m.Name == sumsName {
			continue
		}
		all = append(all, member{name: m.Name, sum: sum})
		if m.Name == manifestName {
			continue
		}
		want, there := listed[m.Name]
		switch {
		case !there:
			v.stop("%s stands in no list: it was added", m.Name)
		case want.sum != sum || want.size != m.Size:
			v.stop("%s is not what its hash says: it was changed", m.Name)
		}
		delete(listed, m.Name)
	}
	for _, m := range v.manifest.members {
		if _, left := listed[m.name]; left {
			v.stop("%s is missing: it was removed", m.name)
		}
	}
	if text, err := v.text(sumsName); err != nil || !bytes.Equal(text, sums(all)) {
		v.stop("%s is not the list of what the pack holds", sumsName)
	}
	if !v.manifest.signedBy(v.r) {
		v.stop("%s names another signing key than the one the pack is signed with", manifestName)
	}
	if !v.stopped {
		v.out.checked("%d members are what manifest and sums say, and there are no others", len(v.r.Members))
	}
	return nil
}

// summed is the hash of a member, or why it has none.
type summed struct {
	sum book.Hash
	err error
}

// sumAll reads every member to its end, several at a time.
func (v *verifying) sumAll() []summed {
	out := make([]summed, len(v.r.Members))
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				out[i].sum, out[i].err = v.sum(&v.r.Members[i])
			}
		})
	}
	for i := range out {
		next <- i
	}
	close(next)
	wait.Wait()
	return out
}

func (v *verifying) sum(m *seal.Member) (book.Hash, error) {
	c := v.r.Content(m)
	h := newHash()
	_, err := io.Copy(h, c)
	if err := errors.Join(err, c.Close()); err != nil {
		return book.Hash{}, fmt.Errorf("%s: %w", m.Name, err)
	}
	return book.Hash(h.Sum(nil)), nil
}

// record checks the chain of entries.
func (v *verifying) record() error {
	if err := v.openRecord(); err != nil {
		v.stop("%v", err)
		return nil
	}
	m, o := v.manifest, v.out
	o.Site, o.Upto, o.Rules, o.Layout, o.At = v.site, v.last().Seq, m.rules, m.layout, book.FormatInstant(m.at)
	o.RulesHeld, o.LayoutHeld = judge.Holds(m.rules), m.layout == Layout
	if m.site != v.site || m.upto != v.last().Seq || m.head != v.last().Hash {
		v.stop("%s does not name the site and the last entry of the book", manifestName)
	}
	if _, err := book.NewView(v.entries); err != nil {
		v.stop("the entries do not make a book: %v", err)
	}
	for seq := range v.withheld {
		if !m.withheld {
			v.stop("entry %d is withheld, though %s says that nothing is", seq, manifestName)
			break
		}
	}
	if !v.stopped {
		o.checked("the chain of %d entries is whole", len(v.entries))
	}
	return nil
}

// fromOriginals parses logger files and surveys again.
func (v *verifying) fromOriginals() error {
	if !v.check.FromOriginals || v.check.Reparse == nil {
		return nil
	}
	n := 0
	for _, e := range v.entries {
		if e.Body == nil || !strings.HasPrefix(e.Kind, "import.") && !strings.HasPrefix(e.Kind, "survey.") {
			continue
		}
		v.out.Notes = append(v.out.Notes, v.check.Reparse(Original{e, v.File})...)
		n++
	}
	v.out.checked("the originals of %d imports and surveys were read again", n)
	return nil
}
