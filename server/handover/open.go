package handover

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/seal"
)

// opened is a pack opened for judging it again: its record is the only source.
type opened struct {
	r        *seal.Reader
	site     string
	created  time.Time
	manifest book.Object
	entries  []*book.Entry
	withheld map[int64]bool
	chunks   map[int64]map[string][]chunkRef // import → channel → in order
	blocks   map[string][]*series.Block      // member → decoded, kept while judging
}

type chunkRef struct {
	name string
	ref  Chunk // without Data
}

const mostText = 1 << 30 // bytes of one derived member

func (p *opened) text(name string) ([]byte, error) {
	m, there := p.r.Member(name)
	if !there {
		return nil, fmt.Errorf("the pack has no %s", name)
	}
	if m.Size > mostText {
		return nil, fmt.Errorf("%s is larger than this program reads whole", name)
	}
	c := p.r.Content(m)
	b, err := io.ReadAll(c)
	return b, errors.Join(err, c.Close())
}

// openRecord reads genesis, book and the list of chunks.
func (p *opened) openRecord() error {
	b, err := p.text(genesisName)
	if err != nil {
		return err
	}
	if p.site, p.created, err = readGenesis(b); err != nil {
		return err
	}
	if b, err = p.text(bookName); err != nil {
		return err
	}
	if p.entries, p.withheld, err = readBook(bytes.NewReader(b), book.Genesis(p.site, p.created)); err != nil {
		return err
	}
	for _, e := range p.entries {
		if e.Site != p.site {
			return fmt.Errorf("entry %d is of the site %s, the book of %s", e.Seq, e.Site, p.site)
		}
	}
	return p.openChunks()
}

func (p *opened) openChunks() error {
	b, err := p.text(chunksName)
	if err != nil {
		return err
	}
	rows, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil || len(rows) == 0 {
		return fmt.Errorf("%s: %w", chunksName, errors.Join(err, errors.New("not a list of readings")))
	}
	p.chunks, p.blocks = map[int64]map[string][]chunkRef{}, map[string][]*series.Block{}
	for i, row := range rows[1:] {
		if len(row) != 5 {
			return fmt.Errorf("%s line %d: five cells are wanted", chunksName, i+2)
		}
		seq, err1 := strconv.ParseInt(row[0], 10, 64)
		n, err2 := strconv.Atoi(row[2])
		sum, err3 := book.ParseHash(row[3])
		if err := errors.Join(err1, err2, err3); err != nil {
			return fmt.Errorf("%s line %d: %w", chunksName, i+2, err)
		}
		ref := Chunk{Import: seq, Channel: row[1], Number: n, SHA256: sum}
		if p.chunks[seq] == nil {
			p.chunks[seq] = map[string][]chunkRef{}
		}
		p.chunks[seq][row[1]] = append(p.chunks[seq][row[1]], chunkRef{chunkMember(ref), ref})
	}
	return nil
}

// Blocks gives the judge the readings of an import, from the pack's chunks.
func (p *opened) Blocks(e *book.Entry, channel string, from, to time.Time) ([]*series.Block, error) {
	all, err := p.channel(e.Seq, channel)
	if err != nil {
		return nil, err
	}
	a, b := from.UnixMilli(), to.UnixMilli()
	var out []*series.Block
	for _, one := range all {
		if n := one.Len(); n > 0 && one.Start[0] < b && one.Start[n-1]+max(one.Span, 1) > a {
			out = append(out, one)
		}
	}
	return out, nil
}

func (p *opened) channel(seq int64, channel string) ([]*series.Block, error) {
	key := fmt.Sprintf("%d/%s", seq, channel)
	if known, there := p.blocks[key]; there {
		return known, nil
	}
	var out []*series.Block
	for _, c := range p.chunks[seq][channel] {
		data, err := p.text(c.name)
		if err != nil {
			return nil, err
		}
		if hashOf(data) != c.ref.SHA256 {
			return nil, fmt.Errorf("%s is not what its hash says", c.name)
		}
		one, err := series.Decode(data)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", c.name, err)
		}
		out = append(out, one)
	}
	p.blocks[key] = out
	return out, nil
}

// File gives the judge an original from the pack.
func (p *opened) File(h book.Hash) (io.ReadCloser, error) {
	m, there := p.r.Member(filesDir + h.String())
	if !there {
		return nil, &fs.PathError{Op: "open", Path: h.String(), Err: fs.ErrNotExist}
	}
	return p.r.Content(m), nil
}

// OpenFile, FileSize and Chunks let the pack's content be made again.

func (p *opened) OpenFile(_ context.Context, h book.Hash) (io.ReadCloser, error) { return p.File(h) }

func (p *opened) FileSize(_ context.Context, h book.Hash) (int64, error) {
	m, there := p.r.Member(filesDir + h.String())
	if !there {
		return 0, ErrErased
	}
	return m.Size, nil
}

func (p *opened) Chunks(_ context.Context, do func(Chunk) error) error {
	for i := range p.r.Members {
		m := &p.r.Members[i]
		if !strings.HasPrefix(m.Name, chunksDir) || m.Name == chunksName {
			continue
		}
		c, known := p.chunkNamed(m.Name)
		if !known {
			return fmt.Errorf("%s stands in no list", m.Name)
		}
		data, err := p.text(m.Name)
		if err != nil {
			return err
		}
		c.SHA256, c.Data = hashOf(data), data
		if err := do(c); err != nil {
			return err
		}
	}
	return nil
}

func (p *opened) chunkNamed(name string) (Chunk, bool) {
	rest := strings.TrimPrefix(name, chunksDir)
	number, _, _ := strings.Cut(rest, "/")
	seq, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return Chunk{}, false
	}
	for _, list := range p.chunks[seq] {
		for _, c := range list {
			if c.name == name {
				return c.ref, true
			}
		}
	}
	return Chunk{}, false
}
