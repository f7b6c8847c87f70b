package folder

import (
	"io"
	"io/fs"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
)

// Site is what site.yaml says of the site as a whole.
type Site struct {
	ID      string
	Name    string
	Zone    string         // IANA name
	Loc     *time.Location // of Zone, from the program's own release
	Created time.Time      // when the book was or is to be opened; in the genesis hash
	JudgeAt time.Time      // instant that tests judge at; zero when not given
}

// File is one original of the folder.
type File struct {
	Path      string // in the folder, with slashes
	MediaType string // as sniffed from the bytes
	Size      int64
	open      func() (io.ReadCloser, error)
}

// Open opens the original for reading.
func (f *File) Open() (io.ReadCloser, error) { return f.open() }

// Contents is a whole site folder, read and checked.
type Contents struct {
	Site Site
	// Drafts stand in an order in which each can be appended: whatever an
	// entry corrects or rests on comes before it.
	Drafts []book.Draft
	// Files holds every original that a draft names, by SHA-256.
	Files map[book.Hash]*File
	// Parsed holds the readings of each import draft, by channel code.
	Parsed map[book.ID]map[string][]*series.Block
	// Recorded holds the time of receipt of every draft, when the folder tells
	// it; nil when it does not.
	Recorded map[book.ID]time.Time
	// Notes are things worth a look that stop nothing.
	Notes []Problem
}

// HasReceipts tells whether the folder says when each entry was received, so
// that it can be judged as known at an earlier instant.
func (c *Contents) HasReceipts() bool { return c.Recorded != nil }

// OpenFile opens the original with that hash.
func (c *Contents) OpenFile(h book.Hash) (io.ReadCloser, error) {
	f := c.Files[h]
	if f == nil {
		return nil, &fs.PathError{Op: "open", Path: h.String(), Err: fs.ErrNotExist}
	}
	return f.Open()
}
