package handover

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

func newHash() hash.Hash { return sha256.New() }

// derived makes everything derived again and compares it, byte by byte and
// judgement by judgement.
func (v *verifying) derived() error {
	if !v.out.RulesHeld {
		return v.otherRules()
	}
	j, err := v.packed.open(&v.opened, v.check.Quantities, judge.Options{At: v.manifest.at, Rules: int(v.manifest.rules)})
	if err != nil {
		v.stop("the record cannot be judged: %v", err)
		return nil
	}
	files := 0
	for name := range v.sums {
		if strings.HasPrefix(name, filesDir) {
			files++
		}
	}
	f := facts{program: v.manifest.program, fingerprint: v.out.Signer, files: files, runs: len(v.runs)}
	s := &comparison{v: v, made: map[string]member{}}
	if err := derive(&v.packed, j, f, v.check.Kinds, s); err != nil {
		v.stop("the record cannot be judged: %v", err)
		return nil
	}
	if err := v.judgements(s.judgements, s.made[judgementsName].sum != v.sums[judgementsName]); err != nil {
		return err
	}
	s.settle()
	return nil
}

// otherRules lists the judgements of a pack whose rules this program no longer
// holds.
func (v *verifying) otherRules() error {
	words := fmt.Sprintf("this program no longer holds rules %d", v.out.Rules)
	return v.sealed(func(j *judge.Judgement, _ []byte) {
		v.out.Judgements = append(v.out.Judgements, Line{j.Permit, j.Clause, j.Condition, j.Place, words, j.Verdict.String(), ""})
	})
}

// sealed reads the judgements of the pack, one line of judgements.json each.
func (v *verifying) sealed(do func(j *judge.Judgement, line []byte)) error {
	return v.lines(func(line []byte) error {
		var j judge.Judgement
		if err := json.Unmarshal(line, &j); err != nil {
			return fmt.Errorf("%s: %w", judgementsName, err)
		}
		do(&j, line)
		return nil
	})
}

// lines hands over the lines of judgements.json that are judgements. What do
// finds wrong is a fault of the pack.
func (v *verifying) lines(do func(line []byte) error) error {
	r, err := v.stream(judgementsName)
	if err != nil {
		v.stop("%v", err)
		return nil
	}
	lines := bufio.NewReaderSize(r, 1<<20)
	for n := 0; ; n++ {
		line, err := lines.ReadBytes('\n')
		if err != nil && err != io.EOF {
			return errors.Join(err, r.Close())
		}
		one := bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte(","))
		if n > 0 && bytes.HasPrefix(one, []byte("{")) { // not the head, nor the tail
			if err := do(one); err != nil {
				v.stop("%v", err)
				return r.Close()
			}
		}
		if err == io.EOF {
			return r.Close()
		}
	}
}

// remade is a judgement made again, by its text.
type remade struct {
	key     judgementKey
	clause  string
	verdict judge.Verdict
	sum     book.Hash
}

// judgements compares the roll-ups, each with all its months and windows.
func (v *verifying) judgements(again []remade, differ bool) error {
	if !differ {
		for i := range again {
			m := &again[i]
			v.out.take(Line{m.key.permit, m.clause, m.key.condition, m.key.place, Same, m.verdict.String(), m.verdict.String()})
		}
		return nil
	}
	byKey := map[judgementKey]*remade{}
	for i := range again {
		byKey[again[i].key] = &again[i]
	}
	err := v.sealed(func(j *judge.Judgement, line []byte) {
		k := keyOf(j)
		one := Line{j.Permit, j.Clause, j.Condition, j.Place, Differs, j.Verdict.String(), ""}
		if m := byKey[k]; m != nil {
			one.Made = m.verdict.String()
			if m.sum == hashOf(line) {
				one.Outcome = Same
			}
			delete(byKey, k)
		}
		v.out.take(one)
	})
	for i := range again {
		if m := &again[i]; byKey[m.key] == m {
			v.out.take(Line{m.key.permit, m.clause, m.key.condition, m.key.place, Differs, "left out", m.verdict.String()})
		}
	}
	return err
}

// comparison takes what is made again and compares it with the pack.
type comparison struct {
	v          *verifying
	made       map[string]member
	names      []string
	differ     []string // members that came out otherwise
	judgements []remade
}

func (s *comparison) create(name, media, what string) (io.WriteCloser, error) {
	return &comparing{s: s, h: newHash(), m: member{name: name, media: media, what: what}}, nil
}

func (s *comparison) judgement(j *judge.Judgement, line []byte) {
	s.judgements = append(s.judgements, remade{keyOf(j), j.Clause, j.Verdict, hashOf(line)})
}

// comparing is one member being made again.
type comparing struct {
	s *comparison
	h hash.Hash
	m member
}

func (c *comparing) Write(b []byte) (int, error) {
	c.h.Write(b)
	c.m.size += int64(len(b))
	return len(b), nil
}

// Close compares what was written with the pack's member.
func (c *comparing) Close() error {
	c.m.sum = book.Hash(c.h.Sum(nil))
	c.s.made[c.m.name] = c.m
	c.s.names = append(c.s.names, c.m.name)
	if sum, there := c.s.v.sums[c.m.name]; there && sum != c.m.sum {
		c.s.differ = append(c.s.differ, c.m.name)
	}
	return nil
}

// settle says what differs, what is missing and what was added.
func (s *comparison) settle() {
	v := s.v
	for _, name := range s.names {
		if _, there := v.sums[name]; !there {
			v.out.fault("%s is missing, though it follows from the record", name)
		}
	}
	for _, name := range s.differ {
		if v.out.LayoutHeld || name == bookName || name == genesisName {
			v.out.fault("%s does not say what follows from the record", name)
		}
	}
	for i := range v.r.Members {
		name := v.r.Members[i].Name
		_, made := s.made[name]
		known := made || name == manifestName || name == sumsName || strings.HasPrefix(name, filesDir) || strings.HasPrefix(name, chunksDir) || strings.HasPrefix(name, zoneDir)
		if !known && v.out.LayoutHeld {
			v.out.fault("%s does not follow from the record", name)
		}
	}
	for _, m := range v.manifest.members {
		made, there := s.made[m.name]
		if there && v.out.LayoutHeld && (made.media != m.media || made.what != m.what) {
			v.out.fault("%s does not describe %s as it is", manifestName, m.name)
		}
	}
	if !v.out.LayoutHeld {
		v.out.note("tables, page and cover sheet are set in layout %d, this program sets layout %d: they were not compared byte by byte", v.out.Layout, Layout)
		return
	}
	if len(s.differ) == 0 {
		v.out.checked("%d derived members come out the same, byte by byte", len(s.names))
	}
}
