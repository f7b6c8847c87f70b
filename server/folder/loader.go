package folder

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/series"
)

// loader is one run over a folder.
type loader struct {
	findings
	fsys       fs.FS
	kinds      *book.Kinds
	quantities *quantity.List
	site       Site
	people     people
	out        *Contents
	hashes     map[string]book.Hash // of the originals read so far, by path
	codes      map[string]bool      // of features on any revision of the plan
	dir        string               // where a bare file name in a table lies
	held       map[book.ID]string   // source of each draft, by id
	receipt    receipts
}

// receipts keeps track of which tables tell when their rows were received.
type receipts struct {
	with, without []string // files
	at            map[book.ID]time.Time
}

// Read reads a whole site folder. It returns everything, checked against the
// kinds and quantities given, or Problems listing all that is wrong.
func Read(fsys fs.FS, kinds *book.Kinds, quantities *quantity.List) (*Contents, error) {
	l := &loader{
		fsys: fsys, kinds: kinds, quantities: quantities,
		out:    &Contents{Files: map[book.Hash]*File{}, Parsed: map[book.ID]map[string][]*series.Block{}},
		hashes: map[string]book.Hash{}, held: map[book.ID]string{}, codes: map[string]bool{},
		receipt: receipts{at: map[book.ID]time.Time{}},
	}
	if !l.readSite() {
		return nil, l.err()
	}
	l.readCalendars()
	l.readPlans()
	l.readPermits()
	l.readDocuments()
	l.readRegisters()
	l.readSurveys()
	l.readReadings()
	l.readWithdrawals()
	l.unknownEntries()
	l.settleReceipts()
	l.order()
	if err := l.err(); err != nil {
		return nil, err
	}
	l.out.Site, l.out.Notes = l.site, l.notes
	return l.out, nil
}

// folders names what may stand in a site folder, beside files in them that
// nothing refers to.
var folders = []string{"calendars", "documents", "permits", "photos", "plan", "readings", "registers", "surveys"}

// looseFiles may stand in the folder and are not part of the record.
var looseFiles = []string{"expected.yaml", "site.yaml"}

func (l *loader) unknownEntries() {
	list, err := fs.ReadDir(l.fsys, ".")
	if err != nil {
		l.cause(".", 0, "", err)
		return
	}
	for _, e := range list {
		name := e.Name()
		known := e.IsDir() && slices.Contains(folders, name) ||
			!e.IsDir() && (slices.Contains(looseFiles, name) || strings.HasSuffix(name, ".md") || strings.HasSuffix(name, ".txt"))
		if !known && !strings.HasPrefix(name, ".") {
			l.say(name, 0, "", "nothing of this name belongs in a site folder", meant(name, append(slices.Clone(folders), looseFiles...)))
		}
	}
}

// names lists the files of a folder with one of the extensions, in order.
func (l *loader) names(dir string, exts ...string) []string {
	list, err := fs.ReadDir(l.fsys, dir)
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			l.cause(dir, 0, "", err)
		}
		return nil
	}
	var out []string
	for _, e := range list {
		if !e.IsDir() && slices.Contains(exts, strings.ToLower(path.Ext(e.Name()))) {
			out = append(out, path.Join(dir, e.Name()))
		}
	}
	return out
}

func (l *loader) exists(name string) bool {
	info, err := fs.Stat(l.fsys, name)
	return err == nil && !info.IsDir()
}

// bytes reads a small file of the folder's own.
func (l *loader) bytes(name string) ([]byte, bool) {
	data, err := fs.ReadFile(l.fsys, name)
	if err != nil {
		l.say(name, 0, "", plainError(err), "")
		return nil, false
	}
	return data, true
}

func plainError(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	if errors.Is(err, fs.ErrNotExist) {
		return "the file is not there"
	}
	return err.Error()
}

// extensions lists the extensions of the files in a folder, each once.
func (l *loader) extensions(dir string) []string {
	list, err := fs.ReadDir(l.fsys, dir)
	if err != nil {
		return nil
	}
	var out []string
	for _, e := range list {
		ext := strings.ToLower(path.Ext(e.Name()))
		if !e.IsDir() && !strings.HasPrefix(e.Name(), ".") && !slices.Contains(out, ext) {
			out = append(out, ext)
		}
	}
	return out
}

// pathOf returns the path of an original by the text of its hash.
func (l *loader) pathOf(hash string) string {
	h, err := book.ParseHash(hash)
	if err != nil || l.out.Files[h] == nil {
		return ""
	}
	return l.out.Files[h].Path
}

// file takes an original into Contents and returns its hash.
func (l *loader) file(name string) (book.Hash, error) {
	if l.dir != "" && !strings.Contains(name, "/") {
		name = l.dir + name
	}
	if h, ok := l.hashes[name]; ok {
		return h, nil
	}
	if !fs.ValidPath(name) || name == "." {
		return book.Hash{}, fmt.Errorf("%q is no path inside the folder; write it such as documents/letter.pdf", name)
	}
	if top, _, _ := strings.Cut(name, "/"); !slices.Contains(folders, top) || top == "registers" || path.Base(name) == "index.csv" {
		return book.Hash{}, fmt.Errorf("%q is not among the originals; put the file under documents/ or photos/", name)
	}
	r, err := l.fsys.Open(name)
	if err != nil {
		return book.Hash{}, fmt.Errorf("%s: %s", name, plainError(err))
	}
	defer r.Close()
	sum := sha256.New()
	head := make([]byte, 512)
	n, err := io.ReadFull(r, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return book.Hash{}, fmt.Errorf("%s: %w", name, err)
	}
	size, err := io.Copy(sum, io.MultiReader(bytes.NewReader(head[:n]), r))
	if err != nil {
		return book.Hash{}, fmt.Errorf("%s: %w", name, err)
	}
	h := book.Hash(sum.Sum(nil))
	l.hashes[name] = h
	if l.out.Files[h] == nil {
		l.out.Files[h] = &File{Path: name, MediaType: mediaType(name, head[:n]), Size: size,
			open: func() (io.ReadCloser, error) { return l.fsys.Open(name) }}
	}
	return h, nil
}

// mediaType tells what a file is from its first bytes, and from its name only
// among kinds of text.
func mediaType(name string, head []byte) string {
	t, _, _ := strings.Cut(http.DetectContentType(head), ";")
	if t != "text/plain" {
		return t
	}
	switch strings.ToLower(path.Ext(name)) {
	case ".csv":
		return "text/csv"
	case ".json":
		return "application/json"
	case ".geojson":
		return "application/geo+json"
	case ".yaml", ".yml":
		return "application/yaml"
	}
	return t
}

// memory takes bytes that stand in no file of the folder.
func (l *loader) memory(name string, data []byte) book.Hash {
	h := book.Hash(sha256.Sum256(data))
	if l.out.Files[h] == nil {
		l.out.Files[h] = &File{Path: name, MediaType: mediaType(name, data[:min(len(data), 512)]), Size: int64(len(data)),
			open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }}
	}
	return h
}

// add checks a draft and takes it. recorded is zero when not told.
func (l *loader) add(d book.Draft, file string, line int, recorded time.Time) bool {
	before := len(l.problems)
	if other, there := l.held[d.ID]; there {
		l.say(file, line, "id", fmt.Sprintf("entry id %s stands twice, first at %s", d.ID, other), "give each entry its own id")
		return false
	}
	for _, fault := range l.kinds.Check(&d) {
		l.fault(file, line, fault)
	}
	l.checkCodes(&d, file, line)
	l.held[d.ID] = d.Source
	if !recorded.IsZero() {
		l.receipt.at[d.ID] = recorded
		if d.Made.IsZero() {
			d.Made = recorded
		}
	}
	l.out.Drafts = append(l.out.Drafts, d)
	return len(l.problems) == before
}

// checkCodes looks for the places of a draft on the plan.
func (l *loader) checkCodes(d *book.Draft, file string, line int) {
	on := l.onPlan()
	if on == nil {
		return
	}
	for _, code := range d.Places {
		if !on(code) {
			l.say(file, line, "places", fmt.Sprintf("%s is on no revision of the plan", code), "correct the code, or add the feature to the plan")
		}
	}
}

func source(file string, line int) string {
	if line == 0 {
		return file
	}
	return fmt.Sprintf("%s line %d", file, line)
}
