package handover

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/server/seal"
)

// Chunk is one encoded run of readings as it is kept.
type Chunk struct {
	Import  int64 // seq of the import entry
	Channel string
	Number  int       // 0, 1, 2 … within import and channel, in time order
	SHA256  book.Hash // of Data
	Data    []byte    // as series.Encode wrote it
}

// Record is what a pack is made of beside the entries: originals and readings.
type Record interface {
	// OpenFile opens an original; one that was erased fails with an error that
	// wraps ErrErased.
	OpenFile(ctx context.Context, h book.Hash) (io.ReadCloser, error)
	// Chunks calls do for every chunk, ordered by import, channel, number.
	Chunks(ctx context.Context, do func(Chunk) error) error
}

// ErrErased says that an original was erased by a redaction.
var ErrErased = errors.New("erased")

// Input is everything a pack is a function of.
type Input struct {
	Site    string
	Created time.Time     // of the book; in its genesis hash
	Entries []*book.Entry // in seq order, from 1 without gap
	At      time.Time     // judged to
	Program string        // version of the program
	Key     *seal.Key
	// Withhold leaves out bodies that only name persons; the chain still
	// verifies without them.
	Withhold   bool
	Record     Record
	Sources    judge.Sources
	Kinds      *book.Kinds
	Quantities *quantity.List
	Temp       string // folder for temporary files; "" = the system's
	// Tell, when set, hears how far the making is (0 to 1), in words.
	Tell func(share float64, words string)
}

func (in *Input) tell(share float64, words string) {
	if in.Tell != nil {
		in.Tell(share, words)
	}
}

// withheldKind opens the names of the kinds whose bodies may be left out of a
// pack: they say who is behind an opaque id and nothing that is judged.
const withheldKind = "person."

// packed is the part of a book that goes into a pack.
type packed struct {
	site     string
	created  time.Time
	entries  []*book.Entry
	withheld map[int64]bool // whose bodies were left out
}

func (p *packed) last() *book.Entry { return p.entries[len(p.entries)-1] }

// packed checks the chain and takes what goes into the pack: entries at the end
// that only say that packs were made stay out, so that making a pack does not
// change the next one.
func (in *Input) packed() (*packed, error) {
	entries := in.Entries
	for len(entries) > 0 && strings.HasPrefix(entries[len(entries)-1].Kind, "handover.") {
		entries = entries[:len(entries)-1]
	}
	if len(entries) == 0 {
		return nil, errors.New("the book is empty; there is nothing to hand over")
	}
	p := &packed{site: in.Site, created: in.Created, withheld: map[int64]bool{}}
	genesis := book.Genesis(in.Site, in.Created)
	var prev *book.Entry
	for _, e := range entries {
		if err := book.CheckLink(genesis, prev, e); err != nil {
			return nil, fmt.Errorf("the book is not handed over: %w", err)
		}
		prev = e
		if in.Withhold && e.Body != nil && strings.HasPrefix(e.Kind, withheldKind) {
			bare := *e
			bare.Body, bare.Salt = nil, nil
			p.withheld[e.Seq] = true
			e = &bare
		}
		p.entries = append(p.entries, e)
	}
	if err := checkErasures(p.entries); err != nil {
		return nil, fmt.Errorf("the book is not handed over: %w", err)
	}
	return p, nil
}

func hashOf(b []byte) book.Hash { return sha256.Sum256(b) }
