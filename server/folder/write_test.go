package folder_test

import (
	"crypto/sha256"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/server/folder"
)

// kept is a book as a running program keeps it: begun from the small site,
// with ids drawn by devices, corrections and withdrawals of every sort.
type kept struct {
	t       *testing.T
	c       *folder.Contents
	entries []*book.Entry
	files   map[book.Hash][]byte
}

func newKept(t *testing.T) *kept {
	c := read(t, small())
	entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		t.Fatal(err)
	}
	return &kept{t, c, entries, map[book.Hash][]byte{}}
}

func (k *kept) file(text string) book.Hash {
	h := book.Hash(sha256.Sum256([]byte(text)))
	k.files[h] = []byte(text)
	return h
}

func (k *kept) open(h book.Hash) (io.ReadCloser, error) {
	if data, ok := k.files[h]; ok {
		return io.NopCloser(strings.NewReader(string(data))), nil
	}
	return k.c.OpenFile(h)
}

// first returns the first entry of a kind.
func (k *kept) first(kind string) *book.Entry {
	for _, e := range k.entries {
		if e.Kind == kind {
			return e
		}
	}
	k.t.Fatalf("no entry of kind %s", kind)
	return nil
}

// enter seals one more entry, an id and time of its own where it has none.
func (k *kept) enter(d book.Draft) book.ID {
	n := len(k.entries)
	last := k.entries[n-1]
	if d.ID == "" {
		d.ID = book.ID(fmt.Sprintf("%032x", 0xabc000+n))
	}
	if d.At.IsZero() {
		d.At, d.Precision, d.Offset = time.Date(2026, 3, 5, 9, n, 0, 0, time.UTC), book.ToMinute, "+00:00"
	}
	if d.By == "" {
		d.By, d.Role = "p2", "surveyor"
	}
	kinds, _ := lists(k.t)
	for _, f := range kinds.Check(&d) {
		k.t.Fatalf("%s: %v", d.Kind, f)
	}
	k.entries = append(k.entries, book.Seal(d.Envelope("small", int64(n+1), last.Recorded.Add(time.Minute)), []byte("0123456789abcdef"), d.Body, last.Hash))
	return d.ID
}

func with1(o book.Object, key string, v any) book.Object {
	out := book.Object{key: v}
	for k, e := range o {
		if k != key {
			out[k] = e
		}
	}
	return out
}

func (k *kept) correct(e *book.Entry, reason string, body book.Object) book.ID {
	return k.enter(book.Draft{Kind: e.Kind, Supersedes: e.ID, Reason: reason, Body: body, Places: e.Places, Files: e.Files, At: e.At, Until: e.Until, Precision: e.Precision, Offset: e.Offset, By: "p1", Role: "officer"})
}

func (k *kept) fill() {
	k.correct(k.first("site.1"), "retention agreed", with1(k.first("site.1").Body, "retention", "ten years"))
	k.correct(k.first("person.1"), "name misspelt", with1(k.first("person.1").Body, "name", "A. Persson"))
	k.enter(book.Draft{Kind: "role.1", Body: book.Object{"person": "p2", "role": "manager"}, Until: time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)})
	k.correct(k.first("permit.1"), "clause number mistyped", k.first("permit.1").Body)
	notice := k.first("permit.1").Body
	head := with1(notice["permit"].(book.Object), "reference", "API/7")
	k.enter(book.Draft{Kind: "permit.1", Body: with1(notice, "permit", head)})
	revised := k.file(`{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"code":"N1","kind":"monitoring point"},"geometry":{"type":"Point","coordinates":[1001,2001]}}]}`)
	plan := k.enter(book.Draft{Kind: "plan.1", Body: book.Object{"coordinates": "site grid", "file": revised.String(), "title": "Revised: N1 moved"}, Files: []book.Hash{revised}})
	k.enter(book.Draft{Kind: "plan.1", Supersedes: plan, Reason: "drawn by mistake"})
	k.enter(book.Draft{Kind: "import.1", Supersedes: k.first("import.1").ID, Reason: "logger stood elsewhere"})
	k.enter(book.Draft{Kind: "calendar.1", Body: book.Object{"id": "local", "source": "parish", "from_year": int64(2026), "to_year": int64(2027),
		"days": []any{book.Object{"date": "2026-07-11", "title": "Fair", "note": "moved, “once”"}}}})
	letter := k.file("%PDF-1.7 letter")
	k.enter(book.Draft{Kind: "document.1", Body: book.Object{"title": "Letter, with \"quotes\"", "type": "letter", "file": letter.String(), "name": "letters/one.pdf"}, Files: []book.Hash{letter}})
	k.enter(book.Draft{Kind: "document.1", Body: book.Object{"title": "The same again", "type": "letter", "file": letter.String(), "name": "two.pdf"}, Files: []book.Hash{letter}})
	photo := k.file("\xff\xd8\xff\xe0 photo")
	k.enter(book.Draft{Kind: "document.1", Body: book.Object{"title": "Photo", "type": "photograph", "file": photo.String(), "name": "photos/gate.jpg"}, Files: []book.Hash{photo}})
	loose := k.file("\x89PNG\r\n\x1a\n no document names this")
	k.diary(loose, photo)
	ticket := k.first("ticket.1")
	again := k.correct(ticket, "weighed again", with1(ticket.Body, "net", "18.55"))
	k.enter(book.Draft{Kind: "ticket.1", Supersedes: again, Reason: "not ours", Places: nil})
	k.enter(book.Draft{Kind: "survey.1", Supersedes: k.first("survey.1").ID, Reason: "wrong control"})
}

// diary enters lines with every form of time, and files of two sorts.
func (k *kept) diary(loose, photo book.Hash) {
	for _, d := range []book.Draft{
		{Body: book.Object{"act": "none", "text": "  leading blanks, a \"quote\"\nand a second line"}, Files: []book.Hash{loose, photo}},
		{Body: book.Object{"act": "none"}, At: time.Date(2026, 3, 5, 13, 14, 15, 167e6, time.UTC), Precision: book.ToMillisecond, Offset: "-05:30"},
		{Body: book.Object{"act": "none"}, At: time.Date(2026, 3, 5, 13, 14, 0, 0, time.UTC), Precision: book.ToMillisecond},
		{Body: book.Object{"act": "none"}, At: time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC), Precision: book.ToMinute, Offset: "+01:00", Until: time.Date(2026, 10, 25, 1, 30, 5, 0, time.UTC)},
		{Body: book.Object{"act": "none"}, At: time.Date(2026, 6, 30, 23, 0, 0, 0, time.UTC), Precision: book.ToDay, Offset: "+01:00", Until: time.Date(2026, 7, 2, 23, 0, 0, 0, time.UTC)},
		{Body: book.Object{"act": "none", "ref": "D5"}, Made: time.Date(2026, 3, 5, 9, 0, 0, 1e6, time.UTC), For: "p1", By: "p2", Role: "manager"},
		{Body: book.Object{"act": "none"}}, {Body: book.Object{"act": "none"}, At: time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC), Precision: book.ToDay, Offset: "+00:00"},
	} {
		d.Kind = "diary.1"
		k.enter(d)
	}
}

// TestBookToFolderToBook: what a folder is written from, reading it gives back
// entry by entry, ids included.
func TestBookToFolderToBook(t *testing.T) {
	k := newKept(t)
	k.fill()
	kinds, _ := lists(t)
	out := inMemory{}
	left, err := folder.Write(out, k.entries, kinds, k.open, folder.WriteOptions{})
	if err != nil || len(left) > 0 {
		t.Fatal(err, left)
	}
	c := read(t, fstest.MapFS(out))
	drafts := map[book.ID]*book.Draft{}
	for i := range c.Drafts {
		drafts[c.Drafts[i].ID] = &c.Drafts[i]
	}
	for _, e := range k.entries {
		d := drafts[e.ID]
		switch {
		case d == nil:
			t.Errorf("entry %d, %s, is not in the folder", e.Seq, e.Kind)
		case !d.Same(e):
			v := d.Envelope(e.Site, e.Seq, e.Recorded)
			t.Errorf("entry %d, %s, comes back changed:\n%s\n%s\n%s\n%s", e.Seq, e.Kind, e.Envelope.Bytes(), v.Bytes(), e.Body.Bytes(), d.Body.Bytes())
		}
		delete(drafts, e.ID)
	}
	for id, d := range drafts {
		t.Errorf("%s %s stands in the folder and not in the book", d.Kind, id)
	}
	if t.Failed() {
		return
	}
	if _, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil); err != nil {
		t.Error(err)
	}
	again := inMemory{}
	entries, _, _ := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if _, err := folder.Write(again, entries, kinds, c.OpenFile, folder.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	sameFiles(t, fstest.MapFS(out), fstest.MapFS(again))
}

// TestReceiptsGoOut: a folder written with receipts is judged as known at an
// earlier instant; one that told them gives them back.
func TestReceiptsGoOut(t *testing.T) {
	k := newKept(t)
	k.fill()
	kinds, _ := lists(t)
	out := inMemory{}
	if _, err := folder.Write(out, k.entries, kinds, k.open, folder.WriteOptions{Receipts: folder.Received}); err != nil {
		t.Fatal(err)
	}
	c := read(t, fstest.MapFS(out))
	for _, e := range k.entries {
		if !c.Recorded[e.ID].Equal(e.Recorded) {
			t.Errorf("entry %d, %s: received %s, the folder says %s", e.Seq, e.Kind, e.Recorded, c.Recorded[e.ID])
		}
	}
	// Brought into another book later, the receipts are the times made.
	entries, _, err := folder.Seal(c, "small", c.Site.Created, func(*book.Draft) time.Time { return time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC) })
	if err != nil {
		t.Fatal(err)
	}
	told := inMemory{}
	if _, err := folder.Write(told, entries, kinds, c.OpenFile, folder.WriteOptions{Receipts: folder.AsTold}); err != nil {
		t.Fatal(err)
	}
	if got, want := string(told["registers/tickets.csv"].Data), string(out["registers/tickets.csv"].Data); got != want {
		t.Errorf("receipts as told:\n%s\nwant\n%s", got, want)
	}
}

// TestErasedAndOwnEntriesStayOut: what a folder cannot hold is named.
func TestErasedAndOwnEntriesStayOut(t *testing.T) {
	k := newKept(t)
	ticket := k.first("ticket.1")
	k.enter(book.Draft{Kind: "redaction.1", Reason: "asked by the driver", Body: book.Object{"seq": ticket.Seq, "what": "body", "ground": "request of a person"}})
	ticket.ErasedBy, ticket.Body, ticket.Salt = int64(len(k.entries)), nil, nil
	kinds, _ := lists(t)
	out := inMemory{}
	left, err := folder.Write(out, k.entries, kinds, k.open, folder.WriteOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(left) != 2 || !strings.Contains(left[0].Why+left[1].Why, "erased by entry") || !strings.Contains(left[0].Why+left[1].Why, "concerns the book") {
		t.Errorf("left out: %v", left)
	}
	if strings.Contains(string(out["registers/tickets.csv"].Data), "18.40") {
		t.Error("an erased row was written")
	}
	read(t, fstest.MapFS(out))
}

// TestRefusesABookWithoutASite and an original that is gone.
func TestWriteFails(t *testing.T) {
	k := newKept(t)
	kinds, _ := lists(t)
	if _, err := folder.Write(inMemory{}, k.entries[1:], kinds, k.open, folder.WriteOptions{}); err == nil || !strings.Contains(err.Error(), "no site") {
		t.Errorf("without a site: %v", err)
	}
	gone := func(book.Hash) (io.ReadCloser, error) { return nil, fs.ErrNotExist }
	if _, err := folder.Write(inMemory{}, k.entries, kinds, gone, folder.WriteOptions{}); err == nil || !strings.Contains(err.Error(), "not exist") {
		t.Errorf("with its originals gone: %v", err)
	}
}
