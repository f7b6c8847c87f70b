package app

import (
	"context"
	"io"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// SiteInfo is what a kept book says of itself.
type SiteInfo struct {
	ID      string
	Created time.Time // UTC ms; in the genesis hash
	Epoch   int64     // raised by every restore
	Seq     int64     // of the head; 0 when empty
	Head    book.Hash // hash of the head, or the genesis
}

// Readings are the blocks that come with an import draft, by channel code.
type Readings map[string][]*series.Block

// Appended says what became of drafts.
type Appended struct {
	Entries []*book.Entry // new ones, in order
	Already []book.ID     // drafts that were in the book with the same content
}

// Book is what the use cases need of a store, for one site. Append is one
// transaction: all drafts or none. Its errors carry *Error with Conflict when
// an id stands with other content or a correction names no head.
type Book interface {
	Info(ctx context.Context) (SiteInfo, error)
	Entries(ctx context.Context) ([]*book.Entry, error)
	// EntriesAfter returns the entries that follow one that was read before.
	EntriesAfter(ctx context.Context, last *book.Entry) ([]*book.Entry, error)
	Append(ctx context.Context, drafts []book.Draft, readings map[book.ID]Readings) (Appended, error)
	Erase(ctx context.Context, redaction book.Draft, seq int64, files bool) (*book.Entry, error)
	PutFile(ctx context.Context, r io.Reader, limit int64) (book.Hash, int64, error)
	OpenFile(ctx context.Context, h book.Hash) (io.ReadCloser, error)
	Blocks(ctx context.Context, importSeq int64, channel string, fromMs, toMs int64) ([]*series.Block, error)
}
