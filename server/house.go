package server

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"sort"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/folder"
	"github.com/swardbook/swardbook/server/store"
)

// House is a data directory opened for one of its sites.
type House struct {
	Store   *store.Store
	Site    string
	App     *app.Service
	People  *app.People
	Loggers *app.Loggers // nil where nothing may be changed
}

// Options say how a data directory is opened.
type Options struct {
	Site     string           // which site; "" = the only one
	Create   bool             // make the directory when there is none
	ReadOnly bool             // change nothing; a server may run beside
	Now      func() time.Time // nil = the system's clock
}

// Open opens a data directory that holds the site already.
func Open(dir string, o Options) (*House, error) {
	h, err := open(dir, o)
	if err != nil {
		return nil, err
	}
	if h.Site, err = h.onlySite(o.Site); err == nil {
		err = h.join(o)
	}
	if err != nil {
		return nil, errors.Join(err, h.Close())
	}
	return h, nil
}

func open(dir string, o Options) (*House, error) {
	s, err := store.Open(dir, store.Options{Create: o.Create, ReadOnly: o.ReadOnly, Now: o.Now})
	if err != nil {
		return nil, err
	}
	return &House{Store: s}, nil
}

// onlySite settles which site is meant.
func (h *House) onlySite(asked string) (string, error) {
	sites, err := h.Store.Sites(context.Background())
	if err != nil {
		return "", err
	}
	var ids []string
	for _, s := range sites {
		if s.ID == asked {
			return asked, nil
		}
		ids = append(ids, s.ID)
	}
	switch {
	case asked != "":
		return "", fmt.Errorf("there is no site %q in %s; there is %s", asked, h.Store.Dir(), strings.Join(ids, ", "))
	case len(ids) == 0:
		return "", fmt.Errorf("%s holds no site; import a site folder first", h.Store.Dir())
	case len(ids) > 1:
		return "", fmt.Errorf("%s holds several sites; say which with --site: %s", h.Store.Dir(), strings.Join(ids, ", "))
	}
	return ids[0], nil
}

func (h *House) join(o Options) error {
	kinds, quantities, err := lists()
	if err != nil {
		return err
	}
	now := o.Now
	if now == nil {
		now = time.Now
	}
	h.App = &app.Service{Book: &kept{h.Store, h.Site, now}, Kinds: kinds, Quantities: quantities, DutySources: catalogue.Duties(), Now: now}
	h.People = &app.People{Accounts: accounts{h.Store}, Now: now}
	if o.ReadOnly {
		return nil
	}
	h.Loggers, err = app.NewLoggers(context.Background(), h.App, loggers{h.Store, h.Site})
	return err
}

func lists() (*book.Kinds, *quantity.List, error) {
	kinds, err := catalogue.Kinds()
	if err != nil {
		return nil, nil, err
	}
	quantities, err := catalogue.Quantities()
	return kinds, quantities, err
}

// Close closes the data directory.
func (h *House) Close() error { return h.Store.Close() }

// Imported says what a site folder brought into a book.
type Imported struct {
	Site    string
	Added   int // entries new in the book
	Already int // rows that were in it
	Files   int // originals kept
	Notes   []folder.Problem
}

// Import takes a site folder into the book of its site, which is opened when
// the data directory does not hold it yet. All of it or nothing; importing
// again adds nothing.
func Import(ctx context.Context, fsys fs.FS, dir string, o Options) (*Imported, error) {
	kinds, quantities, err := lists()
	if err != nil {
		return nil, err
	}
	c, err := folder.Read(fsys, kinds, quantities)
	if err != nil {
		return nil, err
	}
	o.Create = true
	h, err := open(dir, o)
	if err != nil {
		return nil, err
	}
	h.Site = c.Site.ID
	done, err := h.take(ctx, c, o)
	return done, errors.Join(err, h.Close())
}

func (h *House) take(ctx context.Context, c *folder.Contents, o Options) (*Imported, error) {
	if err := h.join(o); err != nil {
		return nil, err
	}
	if _, err := h.Store.CreateSite(ctx, c.Site.ID, c.Site.Created); err != nil && !errors.Is(err, store.ErrSiteExists) {
		return nil, err
	}
	n, err := h.keepFiles(ctx, c)
	if err != nil {
		return nil, err
	}
	readings := map[book.ID]app.Readings{}
	for id, channels := range c.Parsed {
		readings[id] = channels
	}
	done, err := h.App.Book.Append(ctx, c.Drafts, readings)
	if err != nil {
		return nil, err
	}
	return &Imported{Site: h.Site, Added: len(done.Entries), Already: len(done.Already), Files: n, Notes: c.Notes}, nil
}

// keepFiles keeps every original a draft names. What a failed import leaves
// behind is named by no entry and is swept at the next start.
func (h *House) keepFiles(ctx context.Context, c *folder.Contents) (int, error) {
	var hashes []book.Hash
	for sum := range c.Files {
		hashes = append(hashes, sum)
	}
	sort.Slice(hashes, func(i, j int) bool { return hashes[i].String() < hashes[j].String() })
	for _, sum := range hashes {
		f := c.Files[sum]
		r, err := f.Open()
		if err != nil {
			return 0, fmt.Errorf("%s: %w", f.Path, err)
		}
		got, _, err := h.Store.PutFile(ctx, r, f.Size)
		err = errors.Join(err, r.Close())
		if err == nil && got != sum {
			err = errors.New("the file changed while it was read; import again")
		}
		if err != nil {
			return 0, fmt.Errorf("%s: %w", f.Path, err)
		}
	}
	return len(hashes), nil
}
