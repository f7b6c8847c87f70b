package handover

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"sort"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/seal"
)

// Result says what was written.
type Result struct {
	Upto     int64 // last entry it holds
	Members  int
	Manifest book.Hash // SHA-256 of the manifest, which names every other member
	Report   *judge.Report
}

func hashOf(b []byte) book.Hash { return sha256.Sum256(b) }

// Write seals a pack. The same input gives the same bytes.
func Write(ctx context.Context, w io.Writer, in Input) (*Result, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	c, err := in.contentOf(ctx)
	if err != nil {
		return nil, err
	}
	manifest := in.manifest(c)
	c.add(derived(manifestName, "application/json", "this list", manifest))
	c.add(derived(sumsName, "text/plain", "sums for sha256sum -c", sums(c.parts)))
	if err := in.write(w, c.parts); err != nil {
		return nil, err
	}
	in.tell(1, "sealed")
	return &Result{Upto: in.last().Seq, Members: len(c.parts), Manifest: hashOf(manifest), Report: c.report}, nil
}

// add puts a part where its name belongs.
func (c *content) add(p part) {
	c.parts = append(c.parts, p)
	sort.Slice(c.parts, func(i, j int) bool { return c.parts[i].name < c.parts[j].name })
}

func (in *Input) write(w io.Writer, parts []part) error {
	z, err := seal.NewWriter(w, in.Temp)
	if err != nil {
		return err
	}
	defer z.Abandon()
	for i, p := range parts {
		if i%64 == 0 {
			in.tell(0.55+0.4*float64(i)/float64(len(parts)), fmt.Sprintf("writing %d of %d", i+1, len(parts)))
		}
		if err := add(z, p); err != nil {
			return err
		}
	}
	_, err = z.Close(in.Key)
	return err
}

func add(z *seal.Writer, p part) error {
	var r io.ReadCloser = io.NopCloser(bytes.NewReader(p.text))
	if p.open != nil {
		var err error
		if r, err = p.open(); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	m, err := z.Add(p.name, r)
	if err := errors.Join(err, r.Close()); err != nil {
		return err
	}
	if book.Hash(m.SHA256) != p.sum || m.Size != p.size {
		return fmt.Errorf("%s is not what its hash says; the data directory is damaged: run swardbook verify --data", p.name)
	}
	return nil
}

// manifest lists every member but itself and the sums, and what the pack is a
// function of.
func (in *Input) manifest(c *content) []byte {
	members := []any{}
	for _, p := range c.parts {
		members = append(members, book.Object{"path": p.name, "bytes": p.size, "sha256": p.sum.String(), "media": p.media, "what": p.what})
	}
	o := book.Object{
		"format": "swardbook/pack/1", "site": in.Site, "upto": in.last().Seq, "head": in.last().Hash.String(),
		"judged_at": book.FormatInstant(in.At), "rules": int64(judge.Rules), "program": in.Program,
		"fingerprint": strings.ReplaceAll(in.fingerprint(), " ", ""), "members": members,
	}
	if in.Withhold {
		o["withheld"] = "bodies that name persons"
	}
	return append(o.Bytes(), '\n')
}

func sums(parts []part) []byte {
	var b bytes.Buffer
	for _, p := range parts {
		fmt.Fprintf(&b, "%s  %s\n", p.sum, p.name)
	}
	return b.Bytes()
}
