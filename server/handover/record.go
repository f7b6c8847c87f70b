package handover

import (
	"bufio"
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// writeBook writes book.jsonl: one entry a line.
func (p *packed) writeBook(w io.Writer) error {
	for _, e := range p.entries {
		line, err := bookLine(e, p.withheld[e.Seq])
		if err != nil {
			return err
		}
		if _, err := w.Write(line); err != nil {
			return err
		}
	}
	return nil
}

// bookLine writes an entry as one line of book.jsonl.
func bookLine(e *book.Entry, withheld bool) ([]byte, error) {
	envelope, err := book.ParseObject(e.Envelope.Bytes())
	if err != nil {
		return nil, fmt.Errorf("entry %d: %w", e.Seq, err)
	}
	o := book.Object{"envelope": envelope, "prev": e.Prev.String(), "hash": e.Hash.String()}
	switch {
	case e.ErasedBy > 0:
		o["erased_by"] = e.ErasedBy
	case withheld:
		o["withheld"] = true
	case e.Body != nil:
		o["body"], o["salt"] = e.Body, hex.EncodeToString(e.Salt)
	}
	return append(o.Bytes(), '\n'), nil
}

// longestLine bounds one entry in a pack, in bytes.
const longestLine = 64 << 20

// readBook reads book.jsonl and checks the chain from its genesis.
func (p *packed) readBook(r io.Reader) error {
	p.withheld = map[int64]bool{}
	genesis := book.Genesis(p.site, p.created)
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 1<<16), longestLine)
	var prev *book.Entry
	for n := 1; s.Scan(); n++ {
		e, held, err := parseLine(s.Bytes())
		if err != nil {
			return fmt.Errorf("%s line %d: %w", bookName, n, err)
		}
		link := *e
		if held {
			p.withheld[e.Seq] = true
			link.ErasedBy = e.Seq // its body is accounted for otherwise
		}
		if err := book.CheckLink(genesis, prev, &link); err != nil {
			return fmt.Errorf("%s line %d: %w", bookName, n, err)
		}
		if e.Site != p.site {
			return fmt.Errorf("%s line %d: the entry is of the site %s, the book of %s", bookName, n, e.Site, p.site)
		}
		p.entries, prev = append(p.entries, e), e
	}
	if err := s.Err(); err != nil {
		return fmt.Errorf("%s: %w", bookName, err)
	}
	if len(p.entries) == 0 {
		return fmt.Errorf("%s holds no entry", bookName)
	}
	return checkErasures(p.entries)
}

// parseLine reads one line of book.jsonl, strictly: it must be the very bytes
// that bookLine writes.
func parseLine(line []byte) (e *book.Entry, withheld bool, err error) {
	o, err := book.ParseObject(line)
	if err != nil {
		return nil, false, err
	}
	envelope, ok := o["envelope"].(book.Object)
	if !ok {
		return nil, false, errors.New("the envelope is missing")
	}
	v, err := book.ParseEnvelope(envelope.Bytes())
	if err != nil {
		return nil, false, err
	}
	e = &book.Entry{Envelope: *v, ErasedBy: o.Integer("erased_by")}
	if e.Prev, err = book.ParseHash(o.Text("prev")); err != nil {
		return nil, false, fmt.Errorf("prev: %w", err)
	}
	if e.Hash, err = book.ParseHash(o.Text("hash")); err != nil {
		return nil, false, fmt.Errorf("hash: %w", err)
	}
	if body, there := o["body"].(book.Object); there {
		e.Body = body
		if e.Salt, err = hex.DecodeString(o.Text("salt")); err != nil || len(e.Salt) != book.SaltSize {
			return nil, false, errors.New("salt: not 16 bytes in hex")
		}
	}
	withheld = o.Flag("withheld")
	if withheld && (e.BodyHash == (book.Hash{}) || !strings.HasPrefix(e.Kind, withheldKind)) {
		return nil, false, errors.New("only bodies that name persons may be withheld")
	}
	again, err := bookLine(e, withheld)
	if err != nil {
		return nil, false, err
	}
	if !bytes.Equal(again, append(line[:len(line):len(line)], '\n')) {
		return nil, false, errors.New("not in the form that entries are written in")
	}
	return e, withheld, nil
}

// checkErasures sees that every erased body is accounted for by a redaction
// among the entries that names it.
func checkErasures(entries []*book.Entry) error {
	for _, e := range entries {
		if e.ErasedBy == 0 {
			continue
		}
		if e.ErasedBy <= e.Seq || e.ErasedBy > int64(len(entries)) {
			return fmt.Errorf("entry %d was erased by entry %d, which is not among those after it", e.Seq, e.ErasedBy)
		}
		by := entries[e.ErasedBy-1]
		if !strings.HasPrefix(by.Kind, "redaction.") || by.Body != nil && by.Body.Integer("seq") != e.Seq {
			return fmt.Errorf("entry %d says it was erased by entry %d, which is no erasure of it", e.Seq, e.ErasedBy)
		}
	}
	return nil
}

// filesErased tells whether a redaction accounts for an entry's originals
// missing.
func (p *packed) filesErased(e *book.Entry) bool {
	if e.ErasedBy <= 0 || e.ErasedBy > int64(len(p.entries)) {
		return false
	}
	by := p.entries[e.ErasedBy-1]
	return by.Body == nil || by.Body.Text("what") == "body and files"
}

// genesisText is the object whose SHA-256 the first entry links to, and
// nothing else: the file's own hash is the genesis.
func genesisText(site string, created time.Time) []byte {
	return book.Object{"format": book.FormatName, "site": site, "created": book.FormatInstant(created)}.Bytes()
}

func (p *packed) readGenesis(b []byte) error {
	o, err := book.ParseObject(b)
	if err != nil {
		return fmt.Errorf("%s: %w", genesisName, err)
	}
	p.site = o.Text("site")
	if p.created, err = book.ParseInstant(o.Text("created")); err != nil {
		return fmt.Errorf("%s: created: %w", genesisName, err)
	}
	if !bytes.Equal(b, genesisText(p.site, p.created)) {
		return fmt.Errorf("%s is not as it is written", genesisName)
	}
	return nil
}
