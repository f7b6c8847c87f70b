package handover

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/seal"
)

// Check says how a pack is verified.
type Check struct {
	Fingerprint   string // of the key expected; "" = the signer is not checked
	FromOriginals bool   // parse logger files and surveys again as well
	Kinds         *book.Kinds
	Quantities    *quantity.List
	Program       string // version of this program
	Reparse       func(p Original) []string
	Tell          func(share float64, words string)
}

// Original is an entry with its original, to be parsed again.
type Original struct {
	Entry *book.Entry
	File  func(book.Hash) (io.ReadCloser, error)
}

// Outcome is what verifying found.
type Outcome struct {
	Signer      string   `json:"signer"` // fingerprint of the key that sealed it
	SignerKnown bool     `json:"signer_checked"`
	Site        string   `json:"site"`
	Upto        int64    `json:"upto"`
	Rules       int64    `json:"rules"`
	RulesHeld   bool     `json:"rules_held"`
	Same        int      `json:"same"`
	Differ      int      `json:"differ"`
	Faults      []string `json:"faults"` // what is not as it was sealed
	Notes       []string `json:"notes"`
	Judgements  []Line   `json:"judgements"`
}

// Line is one judgement compared.
type Line struct {
	Permit    string `json:"permit"`
	Condition string `json:"condition"`
	Place     string `json:"place"`
	Outcome   string `json:"outcome"` // same · differs · this program no longer holds rules N
	Sealed    string `json:"sealed"`  // verdict in the pack
	Made      string `json:"made"`    // verdict made again
}

// Good tells whether everything is as it was sealed and was judged the same.
func (o *Outcome) Good() bool { return len(o.Faults) == 0 && o.Differ == 0 && o.RulesHeld }

func (o *Outcome) fault(format string, args ...any) {
	o.Faults = append(o.Faults, fmt.Sprintf(format, args...))
}

// Verify checks a pack: form and signature, sums, chain, originals, readings,
// and everything derived, made again from nothing but its record. The error is
// for what could not be read; what is wrong with the pack is in the outcome.
func Verify(ctx context.Context, file io.ReaderAt, size int64, c Check) (*Outcome, error) {
	out := &Outcome{Faults: []string{}, Notes: []string{}, Judgements: []Line{}}
	tell := c.Tell
	if tell == nil {
		tell = func(float64, string) {}
	}
	p := &opened{}
	var err error
	if p.r, err = seal.Open(file, size); err != nil {
		out.fault("%v", err)
		return out, nil
	}
	out.Signer = seal.Fingerprint(p.r.Public)
	if err := out.signer(p.r, c.Fingerprint); err != nil {
		return nil, err
	}
	tell(0.1, "checking every file's hash")
	if err := p.checkSums(out); err != nil {
		return nil, err
	}
	if len(out.Faults) > 0 {
		return out, nil
	}
	tell(0.3, "checking the chain")
	if err := p.openRecord(); err != nil {
		out.fault("%v", err)
		return out, nil
	}
	out.Site, out.Upto, out.Rules = p.site, p.entries[len(p.entries)-1].Seq, p.manifest.Integer("rules")
	out.RulesHeld = out.Rules == judge.Rules
	p.checkOriginals(out)
	p.checkReadings(out)
	tell(0.5, "judging everything again")
	if err := p.compare(ctx, out, c); err != nil {
		return nil, err
	}
	if c.FromOriginals && c.Reparse != nil {
		for _, e := range p.entries {
			if e.Body != nil {
				out.Notes = append(out.Notes, c.Reparse(Original{e, p.File})...)
			}
		}
	}
	tell(1, "done")
	return out, nil
}

// signer checks the signature, and that it is of the key expected.
func (o *Outcome) signer(r *seal.Reader, expected string) error {
	if err := r.Signed(); err != nil {
		if !errors.Is(err, seal.ErrNotSealed) {
			return err
		}
		o.fault("%v", err)
	}
	if expected == "" {
		return nil
	}
	same, err := seal.SameFingerprint(expected, r.Public)
	if err != nil {
		return fmt.Errorf("--key: %w", err)
	}
	o.SignerKnown = true
	if !same {
		o.fault("the pack was sealed with another key: %s", seal.Fingerprint(r.Public))
	}
	return nil
}

// checkSums reads every member once: its checksum and size hold, its SHA-256
// stands in manifest and sums, and nothing more stands there.
func (p *opened) checkSums(out *Outcome) error {
	b, err := p.text(manifestName)
	if err == nil {
		p.manifest, err = book.ParseObject(bytes.TrimSuffix(b, []byte("\n")))
	}
	if err != nil {
		out.fault("%s: %v", manifestName, err)
		return nil
	}
	var parts []part
	listed := map[string]part{}
	for _, m := range p.manifest.Objects("members") {
		sum, err := book.ParseHash(m.Text("sha256"))
		if err != nil {
			out.fault("%s: %s: %v", manifestName, m.Text("path"), err)
			return nil
		}
		one := part{name: m.Text("path"), size: m.Integer("bytes"), sum: sum}
		listed[one.name] = one
	}
	listed[manifestName] = derived(manifestName, "", "", b)
	for i := range p.r.Members {
		m := &p.r.Members[i]
		sum, err := p.sum(m)
		if err != nil {
			out.fault("%v", err)
			continue
		}
		if m.Name == sumsName {
			continue
		}
		want, there := listed[m.Name]
		switch {
		case !there:
			out.fault("%s stands in no list: it was added", m.Name)
		case want.sum != sum || want.size != m.Size:
			out.fault("%s is not what its hash says: it was changed", m.Name)
		}
		delete(listed, m.Name)
		parts = append(parts, part{name: m.Name, sum: sum})
	}
	for _, m := range p.manifest.Objects("members") {
		if _, left := listed[m.Text("path")]; left {
			out.fault("%s is missing: it was removed", m.Text("path"))
		}
	}
	if text, err := p.text(sumsName); err != nil || !bytes.Equal(text, sums(parts)) {
		out.fault("%s is not the list of what the pack holds", sumsName)
	}
	return nil
}

func (p *opened) sum(m *seal.Member) (book.Hash, error) {
	c := p.r.Content(m)
	defer func() { _ = c.Close() }()
	h := newSum()
	if _, err := io.Copy(h, c); err != nil {
		return book.Hash{}, err
	}
	return book.Hash(h.Sum(nil)), nil
}

// checkOriginals sees that every original an entry names is there under its
// own hash, and that there is no other.
func (p *opened) checkOriginals(out *Outcome) {
	named := map[string]bool{}
	for _, e := range p.entries {
		for _, h := range e.Files {
			name := filesDir + h.String()
			named[name] = true
			if _, there := p.r.Member(name); !there && !p.erasedFiles(e) {
				out.fault("original %s of entry %d is missing", h, e.Seq)
			}
		}
	}
	for i := range p.r.Members {
		m := &p.r.Members[i]
		if !strings.HasPrefix(m.Name, filesDir) {
			continue
		}
		if !named[m.Name] {
			out.fault("%s is named by no entry", m.Name)
			continue
		}
		if sum, err := p.sum(m); err != nil || filesDir+sum.String() != m.Name {
			out.fault("%s is not what its name says", m.Name)
		}
	}
}

// erasedFiles tells whether a redaction accounts for an entry's files missing.
func (p *opened) erasedFiles(e *book.Entry) bool {
	if e.ErasedBy <= 0 || e.ErasedBy > int64(len(p.entries)) {
		return false
	}
	by := p.entries[e.ErasedBy-1]
	return by.Body != nil && by.Body.Text("what") == "body and files"
}

// checkReadings sees that the readings of every import are those its entry
// commits to, by count and digest, and that there are no others.
func (p *opened) checkReadings(out *Outcome) {
	left := map[int64]map[string]bool{}
	for seq, channels := range p.chunks {
		left[seq] = map[string]bool{}
		for c := range channels {
			left[seq][c] = true
		}
	}
	for _, e := range p.entries {
		if e.Body == nil || !strings.HasPrefix(e.Kind, "import.") {
			continue
		}
		for _, ch := range e.Body.Objects("channels") {
			code := ch.Text("channel")
			blocks, err := p.channel(e.Seq, code)
			if err != nil {
				out.fault("%v", err)
				continue
			}
			n, sum := series.Digest(blocks)
			if n != ch.Integer("count") || book.Hash(sum).String() != ch.Text("digest") {
				out.fault("the readings of %s are not those entry %d commits to", code, e.Seq)
			}
			delete(left[e.Seq], code)
		}
	}
	for _, e := range p.entries {
		for _, c := range sortedNames(left[e.Seq]) {
			out.fault("readings of %s stand under entry %d, which does not name them", c, e.Seq)
		}
		delete(left, e.Seq)
	}
	if len(left) > 0 {
		out.fault("there are readings under entries the pack does not hold")
	}
}

// compare makes everything derived again and compares it, judgement by
// judgement and then byte by byte.
func (p *opened) compare(ctx context.Context, out *Outcome, c Check) error {
	at, err := book.ParseInstant(p.manifest.Text("judged_at"))
	if err != nil {
		out.fault("%s: judged_at: %v", manifestName, err)
		return nil
	}
	text, err := p.text(judgementsName)
	if err != nil {
		out.fault("%v", err)
		return nil
	}
	var sealed judge.Report
	if err := json.Unmarshal(text, &sealed); err != nil {
		out.fault("%s: %v", judgementsName, err)
		return nil
	}
	if !out.RulesHeld {
		for i := range sealed.Judgements {
			j := &sealed.Judgements[i]
			out.Judgements = append(out.Judgements, Line{j.Permit, j.Condition, j.Place, fmt.Sprintf("this program no longer holds rules %d", out.Rules), j.Verdict.String(), ""})
		}
		return nil
	}
	in := Input{
		Site: p.site, Created: p.created, Entries: p.entries, At: at, Program: p.manifest.Text("program"), Record: p, Sources: p,
		Kinds: c.Kinds, Quantities: c.Quantities, Withhold: p.manifest.Text("withheld") != "", signer: p.r.Public, held: p.withheld,
	}
	made, err := in.contentOf(ctx)
	if err != nil {
		out.fault("the record cannot be judged: %v", err)
		return nil
	}
	out.judgements(&sealed, made.report)
	p.compareParts(out, made.parts, &in, c.Program)
	return nil
}

// byProgram are members whose layout belongs to the program, not to the rules:
// another version may set them otherwise.
var byProgram = map[string]bool{pageName: true, coverName: true, formatName: true}

func (p *opened) compareParts(out *Outcome, made []part, in *Input, program string) {
	want := map[string]part{}
	for _, one := range made {
		want[one.name] = one
	}
	manifest := in.manifest(&content{parts: made})
	other := in.Program != program
	for i := range p.r.Members {
		m := &p.r.Members[i]
		one, there := want[m.Name]
		delete(want, m.Name)
		switch {
		case m.Name == manifestName:
			if other {
				continue // it holds the hashes of the members set by that program
			}
			one, there = derived(manifestName, "", "", manifest), true
		case m.Name == sumsName:
			continue // compared with the members themselves already
		}
		if !there {
			out.fault("%s does not follow from the record", m.Name)
			continue
		}
		sum, err := p.sum(m)
		switch {
		case err != nil:
			out.fault("%v", err)
		case sum != one.sum && other && byProgram[m.Name]:
			out.Notes = append(out.Notes, fmt.Sprintf("%s was set by program %s and is not compared by %s; what it says is in %s", m.Name, in.Program, program, tableName))
		case sum != one.sum:
			out.fault("%s does not say what follows from the record", m.Name)
		}
	}
	for _, name := range sortedParts(want) {
		out.fault("%s is missing, though it follows from the record", name)
	}
}

// judgements compares roll-ups with all their windows.
func (o *Outcome) judgements(sealed, made *judge.Report) {
	type key struct{ permit, condition, place string }
	again := map[key]*judge.Judgement{}
	for i := range made.Judgements {
		j := &made.Judgements[i]
		again[key{j.Permit, j.Condition, j.Place}] = j
	}
	for i := range sealed.Judgements {
		j := &sealed.Judgements[i]
		k := key{j.Permit, j.Condition, j.Place}
		line := Line{Permit: j.Permit, Condition: j.Condition, Place: j.Place, Outcome: "differs", Sealed: j.Verdict.String()}
		if m := again[k]; m != nil {
			line.Made = m.Verdict.String()
			a, err1 := json.Marshal(j)
			b, err2 := json.Marshal(m)
			if err1 == nil && err2 == nil && bytes.Equal(a, b) {
				line.Outcome = "same"
			}
			delete(again, k)
		}
		o.take(line)
	}
	for i := range made.Judgements {
		j := &made.Judgements[i]
		if again[key{j.Permit, j.Condition, j.Place}] != nil {
			o.take(Line{Permit: j.Permit, Condition: j.Condition, Place: j.Place, Outcome: "differs", Sealed: "left out", Made: j.Verdict.String()})
		}
	}
}

func (o *Outcome) take(l Line) {
	if l.Outcome == "same" {
		o.Same++
	} else {
		o.Differ++
	}
	o.Judgements = append(o.Judgements, l)
}
