package store

import (
	"bytes"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
)

// entryRow is a row of entry.
type entryRow struct {
	Site       string
	Seq        int64
	ID         string
	Kind       string
	At         int64
	Until      *int64
	Recorded   int64
	ByPerson   string
	Supersedes *string
	Envelope   []byte
	Prev       []byte
	Hash       []byte
	Salt       []byte
	Body       []byte
	ErasedBy   *int64
}

// TableName is for gorm.
func (entryRow) TableName() string { return "entry" }

// entryColumns are the columns of an entryRow, in the order scan reads them.
const entryColumns = `site, seq, id, kind, at, until, recorded, by_person, supersedes, envelope, prev, hash, salt, body, erased_by`

// scan returns where to read entryColumns to.
func (r *entryRow) scan() []any {
	return []any{&r.Site, &r.Seq, &r.ID, &r.Kind, &r.At, &r.Until, &r.Recorded, &r.ByPerson,
		&r.Supersedes, &r.Envelope, &r.Prev, &r.Hash, &r.Salt, &r.Body, &r.ErasedBy}
}

// rowOf writes an entry as a row.
func rowOf(e *book.Entry) entryRow {
	r := entryRow{
		Site: e.Site, Seq: e.Seq, ID: string(e.ID), Kind: e.Kind, At: e.At.UnixMilli(),
		Recorded: e.Recorded.UnixMilli(), ByPerson: e.By,
		Envelope: e.Envelope.Bytes(), Prev: e.Prev[:], Hash: e.Hash[:], Salt: e.Salt,
	}
	if !e.Until.IsZero() {
		r.Until = new(e.Until.UnixMilli())
	}
	if e.Supersedes != "" {
		r.Supersedes = new(string(e.Supersedes))
	}
	if e.Body != nil {
		r.Body = e.Body.Bytes()
	}
	return r
}

// entry reads a row: the envelope and the body are parsed, and the columns
// beside them must say what the envelope says.
func (r *entryRow) entry() (*book.Entry, error) {
	v, err := book.ParseEnvelope(r.Envelope)
	if err != nil {
		return nil, damaged("entry %d of %s: %w", r.Seq, r.Site, err)
	}
	e := &book.Entry{Envelope: *v, Salt: r.Salt}
	if len(r.Prev) != len(e.Prev) || len(r.Hash) != len(e.Hash) {
		return nil, damaged("entry %d of %s: a hash has not its length", r.Seq, r.Site)
	}
	e.Prev, e.Hash = book.Hash(r.Prev), book.Hash(r.Hash)
	if r.ErasedBy != nil {
		e.ErasedBy = *r.ErasedBy
	}
	if r.Body != nil {
		if e.Body, err = book.ParseObject(r.Body); err != nil {
			return nil, damaged("entry %d of %s, body: %w", r.Seq, r.Site, err)
		}
		if !bytes.Equal(e.Body.Bytes(), r.Body) {
			return nil, damaged("entry %d of %s: its body is not in canonical form", r.Seq, r.Site)
		}
	}
	if column := r.astray(v); column != "" {
		return nil, damaged("entry %d of %s: the column %s does not say what the envelope says", r.Seq, r.Site, column)
	}
	return e, nil
}

// astray names the first column that departs from the envelope, "" for none.
func (r *entryRow) astray(v *book.Envelope) string {
	var until *int64
	if !v.Until.IsZero() {
		until = new(v.Until.UnixMilli())
	}
	var supersedes *string
	if v.Supersedes != "" {
		supersedes = new(string(v.Supersedes))
	}
	switch {
	case r.Site != v.Site:
		return "site"
	case r.Seq != v.Seq:
		return "seq"
	case r.ID != string(v.ID):
		return "id"
	case r.Kind != v.Kind:
		return "kind"
	case r.At != v.At.UnixMilli():
		return "at"
	case !equal(r.Until, until):
		return "until"
	case r.Recorded != v.Recorded.UnixMilli():
		return "recorded"
	case r.ByPerson != v.By:
		return "by_person"
	case !equal(r.Supersedes, supersedes):
		return "supersedes"
	}
	return ""
}

func equal[T comparable](a, b *T) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// asPrevious returns as much of a row as the next entry links to.
func (r *entryRow) asPrevious() *book.Entry {
	e := &book.Entry{Envelope: book.Envelope{Seq: r.Seq, Recorded: time.UnixMilli(r.Recorded).UTC()}}
	if len(r.Hash) == len(e.Hash) {
		e.Hash = book.Hash(r.Hash)
	}
	return e
}

// siteRow is a row of site.
type siteRow struct {
	ID          string
	Created     int64
	Epoch       int64
	CheckedSeq  int64
	CheckedHash []byte
}

// TableName is for gorm.
func (siteRow) TableName() string { return "site" }
