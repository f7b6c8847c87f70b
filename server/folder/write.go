package folder

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
)

// Creator makes the files of a folder; paths have slashes.
type Creator interface {
	Create(path string) (io.WriteCloser, error)
}

// Receipts says what is written of when each row was received.
type Receipts int

// What can be written. A folder that came without receipts goes back without;
// one that came with them and was brought into a kept book has them as the
// times its rows were made.
const (
	NoReceipts Receipts = iota // nothing
	Received                   // when this book received it
	AsTold                     // when the folder it came from said it was received
)

// WriteOptions steer Write.
type WriteOptions struct {
	Receipts Receipts
	JudgeAt  time.Time // of tests; zero writes none
}

// Left is an entry that a folder cannot hold, and why.
type Left struct {
	Entry *book.Entry
	Why   string
}

// Write puts the entries of one site's book, in order, into a folder in its
// canonical form: what came as an original goes back byte for byte, tables and
// site.yaml are written anew. Read gives the same drafts again. It returns
// what was left out: entries about the book itself, and erased ones.
func Write(to Creator, entries []*book.Entry, kinds *book.Kinds, open func(book.Hash) (io.ReadCloser, error), o WriteOptions) ([]Left, error) {
	w := &writer{to: to, kinds: kinds, open: open, opts: o, paths: map[book.Hash]string{}, taken: map[string]bool{},
		byID: map[book.ID]*book.Entry{}, byKind: map[string][]*book.Entry{}}
	if err := w.sort(entries); err != nil {
		return nil, err
	}
	for _, step := range []func() error{
		w.namePaths, w.site, w.calendars, w.plans, w.permits, w.documents, w.registers, w.surveys, w.readings, w.withdrawals, w.originals,
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return w.left, nil
}

// writer is one run of Write.
type writer struct {
	to      Creator
	kinds   *book.Kinds
	open    func(book.Hash) (io.ReadCloser, error)
	opts    WriteOptions
	siteID  string
	loc     *time.Location
	created time.Time
	people  people
	byID    map[book.ID]*book.Entry
	byKind  map[string][]*book.Entry // what is written, by seq
	gone    []*book.Entry            // withdrawals of what stands in no table
	paths   map[book.Hash]string     // where an original goes
	more    []placed                 // further places of an original
	taken   map[string]bool
	dir     string
	left    []Left
}

// placed is an original that goes to a path.
type placed struct {
	hash book.Hash
	path string
}

// aboutBook are the kinds of entry that concern the book, not the site.
var aboutBook = []string{"redaction.1", "handover.1"}

// inTables are the kinds not kept in registers whose rows stand in an index.
var inTables = []string{"document.1", "survey.1"}

// ErrNoSite says that entries cannot be written as a folder.
var ErrNoSite = errors.New("the book holds no site entry")

func (w *writer) sort(entries []*book.Entry) error {
	for _, e := range entries {
		w.byID[e.ID] = e
		kind := w.kinds.Named(e.Kind)
		switch {
		case kind == nil:
			return fmt.Errorf("entry %d: kind %s is not known", e.Seq, e.Kind)
		case slices.Contains(aboutBook, e.Kind):
			w.left = append(w.left, Left{e, "it concerns the book itself"})
		case e.ErasedBy > 0:
			w.left = append(w.left, Left{e, fmt.Sprintf("erased by entry %d", e.ErasedBy)})
		case e.Withdrawal() && !kind.Plain && !slices.Contains(inTables, e.Kind):
			w.gone = append(w.gone, e)
		default:
			w.byKind[e.Kind] = append(w.byKind[e.Kind], e)
		}
	}
	if len(w.byKind["site.1"]) == 0 {
		return ErrNoSite
	}
	site := w.byKind["site.1"][0]
	loc, err := calendar.LoadZone(site.Body.Text("zone"))
	if err != nil {
		return err
	}
	w.siteID, w.loc, w.created, w.people.by = site.Site, loc, site.At, site.By
	for _, e := range w.byKind["role.1"] {
		if e.Supersedes == "" {
			w.people.roles = append(w.people.roles, heldRole{e.Body.Text("person"), e.Body.Text("role"), e.At, e.Until})
		}
	}
	w.people.sort(w.byKind["person.1"])
	return nil
}

// sort puts roles in the order that site.yaml lists them: by person.
func (p *people) sort(persons []*book.Entry) {
	at := map[string]int{}
	for i, e := range persons {
		if _, there := at[e.Body.Text("ref")]; !there {
			at[e.Body.Text("ref")] = i
		}
	}
	slices.SortStableFunc(p.roles, func(a, b heldRole) int { return at[a.person] - at[b.person] })
}

// free returns a path that nothing else has, the one wanted where it can.
func (w *writer) free(want string) string {
	name := want
	for n := 2; w.taken[strings.ToLower(name)]; n++ {
		ext := path.Ext(want)
		name = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(want, ext), n, ext)
	}
	w.taken[strings.ToLower(name)] = true
	return name
}

// place gives an original a path of its own.
func (w *writer) place(h book.Hash, want string) string {
	name := w.free(want)
	if _, there := w.paths[h]; there {
		w.more = append(w.more, placed{h, name})
	} else {
		w.paths[h] = name
	}
	return name
}

// namePaths gives every original its place. Documents keep the name they came
// by; what only an entry's cell names goes by its hash.
func (w *writer) namePaths() error {
	for _, e := range w.byKind["document.1"] {
		h, err := book.ParseHash(e.Body.Text("file"))
		if err != nil {
			continue
		}
		name := e.Body.Text("name")
		if !strings.HasPrefix(name, "photos/") {
			name = "documents/" + name
		}
		if e.Body.Text("name") == "" || !fs.ValidPath(name) || path.Base(name) == "index.csv" {
			ext, err := w.extension(h)
			if err != nil {
				return err
			}
			name = "documents/" + h.String()[:16] + ext
		}
		w.place(h, name)
	}
	for _, k := range w.kinds.All() {
		if !k.Plain {
			continue
		}
		for _, e := range w.byKind[k.Name] {
			for _, h := range e.Files {
				if _, there := w.paths[h]; there {
					continue
				}
				ext, err := w.extension(h)
				if err != nil {
					return err
				}
				w.place(h, "documents/"+h.String()[:16]+ext)
			}
		}
	}
	return nil
}

// extension tells what to call an original whose name is not on file.
func (w *writer) extension(h book.Hash) (string, error) {
	r, err := w.open(h)
	if err != nil {
		return "", fmt.Errorf("original %s: %w", h, err)
	}
	defer r.Close()
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", fmt.Errorf("original %s: %w", h, err)
	}
	switch mediaType("", head[:n]) {
	case "application/pdf":
		return ".pdf", nil
	case "image/jpeg":
		return ".jpg", nil
	case "image/png":
		return ".png", nil
	case "text/plain":
		return ".txt", nil
	}
	return ".bin", nil
}

// pathOfText is where the original of that hash goes; inside the folder of an
// index it is the name alone.
func (w *writer) pathOfText(hash string) string {
	h, err := book.ParseHash(hash)
	if err != nil {
		return hash
	}
	return strings.TrimPrefix(w.paths[h], w.dir)
}

// originals writes every original to its places.
func (w *writer) originals() error {
	list := slices.Clone(w.more)
	for h, p := range w.paths {
		list = append(list, placed{h, p})
	}
	slices.SortFunc(list, func(a, b placed) int { return strings.Compare(a.path, b.path) })
	for _, one := range list {
		r, err := w.open(one.hash)
		if err != nil {
			return fmt.Errorf("%s: %w", one.path, err)
		}
		err = w.copy(one.path, r)
		if err = errors.Join(err, r.Close()); err != nil {
			return fmt.Errorf("%s: %w", one.path, err)
		}
	}
	return nil
}

func (w *writer) copy(name string, r io.Reader) error {
	f, err := w.to.Create(name)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, r)
	return errors.Join(err, f.Close())
}

func (w *writer) file(name string, data []byte) error {
	if err := w.copy(name, bytes.NewReader(data)); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// recorded is the time of receipt to be written of an entry; zero for none.
func (w *writer) recorded(e *book.Entry) time.Time {
	switch w.opts.Receipts {
	case Received:
		return e.Recorded
	case AsTold:
		return e.Made
	}
	return time.Time{}
}

// made is the time an entry was first typed, as far as it is to be written.
func (w *writer) made(e *book.Entry) time.Time {
	if w.opts.Receipts == AsTold || w.opts.Receipts == Received && e.Made.Equal(e.Recorded) {
		return time.Time{}
	}
	return e.Made
}

// draftOf is what an entry said before it was sealed.
func draftOf(e *book.Entry) book.Draft {
	return book.Draft{ID: e.ID, Kind: e.Kind, Places: e.Places, At: e.At, Until: e.Until, Precision: e.Precision, Offset: e.Offset,
		Made: e.Made, By: e.By, For: e.For, Role: e.Role, Supersedes: e.Supersedes, Reason: e.Reason, Files: e.Files, Body: e.Body}
}

// momentOf is when an entry happened.
func momentOf(e *book.Entry) moment { return moment{e.At, e.Precision, e.Offset} }

// stamp writes an instant in UTC with Z, to the millisecond where it has any.
func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return formatMoment(moment{t, book.ToMinute, ""}, time.UTC)
}
