package handover

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
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

// Record is what a pack is made of: one site's book up to an entry, with the
// originals and readings it rests on.
type Record interface {
	// OpenFile opens an original; FileSize says how many bytes it has. Both
	// fail with an error that wraps ErrErased when it was erased.
	OpenFile(ctx context.Context, h book.Hash) (io.ReadCloser, error)
	FileSize(ctx context.Context, h book.Hash) (int64, error)
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

	// When a pack is made again to compare it: the key it was sealed with, and
	// the entries whose bodies it withholds.
	signer ed25519.PublicKey
	held   map[int64]bool
}

func (in *Input) fingerprint() string {
	if in.signer != nil {
		return seal.Fingerprint(in.signer)
	}
	return in.Key.Fingerprint()
}

func (in *Input) tell(share float64, words string) {
	if in.Tell != nil {
		in.Tell(share, words)
	}
}

func (in *Input) check() error {
	if len(in.Entries) == 0 {
		return errors.New("the book is empty; there is nothing to hand over")
	}
	var prev *book.Entry
	genesis := book.Genesis(in.Site, in.Created)
	for _, e := range in.Entries {
		if err := book.CheckLink(genesis, prev, e); err != nil {
			return fmt.Errorf("the book is not handed over: %w", err)
		}
		prev = e
	}
	return nil
}

// last returns the last entry the pack holds.
func (in *Input) last() *book.Entry { return in.Entries[len(in.Entries)-1] }

// judged judges the book, with every window.
func judged(entries []*book.Entry, src judge.Sources, quantities *quantity.List, at time.Time) (*judge.Report, *judge.Record, error) {
	record, err := judge.NewRecord(entries, src)
	if err != nil {
		return nil, nil, err
	}
	report, err := judge.All(record, quantities, judge.Options{At: at, Windows: true})
	return report, record, err
}
