package folder

import (
	"crypto/sha256"
	"fmt"
	"sort"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// InOrderOfReceipt returns the drafts by time of receipt where the folder
// tells it, and as they stand where it does not. An entry never comes before
// the one it corrects.
func (c *Contents) InOrderOfReceipt() []book.Draft {
	out := append([]book.Draft(nil), c.Drafts...)
	if c.Recorded != nil {
		sort.SliceStable(out, func(i, j int) bool { return c.Recorded[out[i].ID].Before(c.Recorded[out[j].ID]) })
	}
	return out
}

// Seal makes a book in memory of a folder, so that it can be judged by itself.
// site and created name the book; recorded tells when a draft was received,
// nil takes the folder's own receipts, or created where it has none. It
// returns the entries and the hash the first links to.
//
// The salts are derived from the content, so that the same folder gives the
// same book. Such a book must not be kept: anyone could guess an erased body
// from its hash. A kept book draws its salts at random.
func Seal(c *Contents, site string, created time.Time, recorded func(*book.Draft) time.Time) ([]*book.Entry, book.Hash, error) {
	genesis := book.Genesis(site, created)
	drafts := c.InOrderOfReceipt()
	if recorded == nil {
		recorded = func(d *book.Draft) time.Time {
			if t, told := c.Recorded[d.ID]; told {
				return t
			}
			return created
		}
	}
	entries := make([]*book.Entry, 0, len(drafts))
	prev, last := genesis, created
	for i := range drafts {
		d := &drafts[i]
		at := recorded(d)
		if at.Before(last) {
			at = last // what came first is never received later
		}
		e := book.Seal(d.Envelope(site, int64(i+1), at), contentSalt(d), d.Body, prev)
		entries = append(entries, e)
		prev, last = e.Hash, at
	}
	if _, err := book.NewView(entries); err != nil {
		return nil, genesis, fmt.Errorf("the folder's entries do not make a book: %w", err)
	}
	return entries, genesis, nil
}

// contentSalt derives a salt from what a draft says.
func contentSalt(d *book.Draft) []byte {
	if d.Body == nil {
		return nil
	}
	h := sha256.New()
	h.Write([]byte("swardbook/folder/salt/1"))
	h.Write([]byte(d.ID))
	h.Write(d.Body.Bytes())
	return h.Sum(nil)[:book.SaltSize]
}
