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

// withheldKind is the one kind whose bodies may be left out of a pack: it says
// who is behind an opaque id and nothing that is judged.
const withheldKind = "person."

// bookLine writes an entry as one line of book.jsonl.
func bookLine(e *book.Entry, withhold, held bool) ([]byte, error) {
	envelope, err := book.ParseObject(e.Envelope.Bytes())
	if err != nil {
		return nil, fmt.Errorf("entry %d: %w", e.Seq, err)
	}
	o := book.Object{"envelope": envelope, "prev": e.Prev.String(), "hash": e.Hash.String()}
	switch {
	case e.ErasedBy > 0:
		o["erased_by"] = e.ErasedBy
	case held, e.Body != nil && withhold && strings.HasPrefix(e.Kind, withheldKind):
		o["withheld"] = true
	case e.Body != nil:
		o["body"], o["salt"] = e.Body, hex.EncodeToString(e.Salt)
	}
	return append(o.Bytes(), '\n'), nil
}

func (in *Input) bookLines() ([]byte, error) {
	var b bytes.Buffer
	for _, e := range in.Entries {
		line, err := bookLine(e, in.Withhold, in.held[e.Seq])
		if err != nil {
			return nil, err
		}
		b.Write(line)
	}
	return b.Bytes(), nil
}

// longestLine bounds one entry in a pack.
const longestLine = 64 << 20

// readBook reads book.jsonl and checks the chain from its genesis. Withheld
// tells which entries came without their body.
func readBook(r io.Reader, genesis book.Hash) (entries []*book.Entry, withheld map[int64]bool, err error) {
	withheld = map[int64]bool{}
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 1<<20), longestLine)
	var prev *book.Entry
	for n := 1; s.Scan(); n++ {
		e, held, err := parseLine(s.Bytes())
		if err != nil {
			return nil, nil, fmt.Errorf("%s line %d: %w", bookName, n, err)
		}
		link := *e
		if held {
			withheld[e.Seq] = true
			link.ErasedBy = -1 // its body is accounted for otherwise
		}
		if err := book.CheckLink(genesis, prev, &link); err != nil {
			return nil, nil, fmt.Errorf("%s line %d: %w", bookName, n, err)
		}
		entries, prev = append(entries, e), e
	}
	if err := s.Err(); err != nil {
		return nil, nil, fmt.Errorf("%s: %w", bookName, err)
	}
	if len(entries) == 0 {
		return nil, nil, fmt.Errorf("%s holds no entry", bookName)
	}
	return entries, withheld, checkErasures(entries)
}

func parseLine(line []byte) (*book.Entry, bool, error) {
	o, err := book.ParseObject(line)
	if err != nil {
		return nil, false, err
	}
	if !bytes.Equal(o.Bytes(), line) {
		return nil, false, errors.New("not in canonical form")
	}
	envelope, ok := o["envelope"].(book.Object)
	if !ok {
		return nil, false, errors.New("the envelope is missing")
	}
	v, err := book.ParseEnvelope(envelope.Bytes())
	if err != nil {
		return nil, false, err
	}
	e := &book.Entry{Envelope: *v, ErasedBy: o.Integer("erased_by")}
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
	held := o.Flag("withheld")
	if held && (e.Body != nil || !strings.HasPrefix(e.Kind, withheldKind)) {
		return nil, false, errors.New("only bodies that name persons may be withheld")
	}
	return e, held, nil
}

// checkErasures sees that every erased body is accounted for by a redaction
// entry that names it.
func checkErasures(entries []*book.Entry) error {
	named := map[int64]int64{}
	for _, e := range entries {
		if strings.HasPrefix(e.Kind, "redaction.") && e.Body != nil {
			named[e.Body.Integer("seq")] = e.Seq
		}
	}
	for _, e := range entries {
		if e.ErasedBy > 0 && named[e.Seq] != e.ErasedBy {
			return fmt.Errorf("entry %d says it was erased by entry %d, which is no redaction of it", e.Seq, e.ErasedBy)
		}
	}
	return nil
}

// genesisText writes what the first entry links to.
func genesisText(site string, created time.Time) []byte {
	o := book.Object{"format": book.FormatName, "site": site, "created": book.FormatInstant(created), "hash": book.Genesis(site, created).String()}
	return append(o.Bytes(), '\n')
}

func readGenesis(b []byte) (site string, created time.Time, err error) {
	o, err := book.ParseObject(bytes.TrimSuffix(b, []byte("\n")))
	if err != nil {
		return "", created, fmt.Errorf("%s: %w", genesisName, err)
	}
	site = o.Text("site")
	if created, err = book.ParseInstant(o.Text("created")); err != nil {
		return "", created, fmt.Errorf("%s: %w", genesisName, err)
	}
	if !bytes.Equal(b, genesisText(site, created)) {
		return "", created, fmt.Errorf("%s is not as it is written", genesisName)
	}
	return site, created, nil
}
