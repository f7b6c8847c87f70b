package demo

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"hash/fnv"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing/fstest"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/server/folder"
)

//go:embed text/*
var texts embed.FS

// siteZone is the zone of the invented site.
const siteZone = "Europe/London"

// scene is the site being made: its files so far, and what they share.
type scene struct {
	seed     uint64
	loc      *time.Location
	holidays *calendar.Holidays
	files    fstest.MapFS
	found    []sighting // findings of inspections, in the order written
	wrong    error      // the first time written wrongly in this package
}

// Write makes the folder of the demonstration site in dir, which must be empty
// or not exist. The same seed gives the same bytes.
func Write(dir string, seed int64) error {
	if err := empty(dir); err != nil {
		return err
	}
	fsys, err := Make(seed)
	if err != nil {
		return err
	}
	return folderToDisk(dir, fsys)
}

// Make makes the folder of the demonstration site in memory, in the canonical
// form that a folder taken out of a book has.
func Make(seed int64) (fstest.MapFS, error) {
	s, err := newScene(seed)
	if err != nil {
		return nil, err
	}
	for _, step := range []func(*scene) error{
		(*scene).frame, (*scene).notices, (*scene).drawing, (*scene).surveys, (*scene).papers,
		(*scene).works, (*scene).haulage, (*scene).looks, (*scene).measuring, (*scene).noise, (*scene).dust, (*scene).water,
	} {
		if err := step(s); err != nil {
			return nil, fmt.Errorf("demonstration site: %w", err)
		}
	}
	if s.wrong != nil {
		return nil, s.wrong
	}
	return s.canonical()
}

func newScene(seed int64) (*scene, error) {
	loc, err := calendar.LoadZone(siteZone)
	if err != nil {
		return nil, err
	}
	list, err := texts.Open("text/england-and-wales.json")
	if err != nil {
		return nil, err
	}
	defer list.Close()
	holidays, err := calendar.ReadHolidays(list, "england-and-wales")
	if err != nil {
		return nil, err
	}
	return &scene{seed: uint64(seed), loc: loc, holidays: holidays, files: fstest.MapFS{}}, nil
}

// canonical takes the folder through a book and out again, so that it has the
// very form that taking it out of a book gives.
func (s *scene) canonical() (fstest.MapFS, error) {
	kinds, err := catalogue.Kinds()
	if err != nil {
		return nil, err
	}
	quantities, err := catalogue.Quantities()
	if err != nil {
		return nil, err
	}
	c, err := folder.Read(s.files, kinds, quantities)
	if err != nil {
		return nil, fmt.Errorf("demonstration site: %w", err)
	}
	entries, _, err := folder.Seal(c, c.Site.ID, c.Site.Created, nil)
	if err != nil {
		return nil, fmt.Errorf("demonstration site: %w", err)
	}
	out := memory{}
	if _, err := folder.Write(out, entries, kinds, c.OpenFile, folder.WriteOptions{Receipts: folder.Received, JudgeAt: c.Site.JudgeAt}); err != nil {
		return nil, fmt.Errorf("demonstration site: %w", err)
	}
	expected, err := texts.ReadFile("text/expected.yaml")
	if err != nil {
		return nil, err
	}
	out["expected.yaml"] = &fstest.MapFile{Data: expected}
	return fstest.MapFS(out), nil
}

// memory is a folder being written into memory.
type memory fstest.MapFS

type memoryFile struct {
	bytes.Buffer
	into memory
	name string
}

// Create begins a file; closing it keeps it.
func (m memory) Create(name string) (io.WriteCloser, error) {
	return &memoryFile{into: m, name: name}, nil
}

// Close keeps the file.
func (f *memoryFile) Close() error {
	f.into[f.name] = &fstest.MapFile{Data: f.Bytes()}
	return nil
}

func empty(dir string) error {
	list, err := os.ReadDir(dir)
	if os.IsNotExist(err) {
		return nil
	}
	if err == nil && len(list) > 0 {
		err = fmt.Errorf("%s is not empty; name a folder that does not exist yet", dir)
	}
	return err
}

func folderToDisk(dir string, fsys fstest.MapFS) error {
	for name, f := range fsys {
		to := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, f.Data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// rng returns a source of its own for each thing made, so that a change in one
// does not change the others.
func (s *scene) rng(name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(s.seed, h.Sum64()))
}

func (s *scene) put(name, text string) { s.files[name] = &fstest.MapFile{Data: []byte(text)} }

// text puts one of the texts that come with the program into the folder.
func (s *scene) text(from, to string) error {
	data, err := texts.ReadFile("text/" + from)
	if err != nil {
		return err
	}
	s.put(to, string(data))
	return nil
}

// day returns the beginning of a date in the site's zone.
func (s *scene) day(date string) time.Time { return s.at(date + " 00:00") }

// at returns a local time of the site.
func (s *scene) at(local string) time.Time {
	t, err := time.ParseInLocation("2006-01-02 15:04", local, s.loc)
	if err != nil && s.wrong == nil {
		s.wrong = fmt.Errorf("a time written in this package is wrong: %w", err)
	}
	return t
}

// working tells whether a day is one of work on site: a weekday that is no
// holiday, with a rest over the new year.
func (s *scene) working(t time.Time) bool {
	d := calendar.DateOf(t, s.loc)
	w, err := s.holidays.Working(d)
	rest := d.Compare(calendar.Date{Year: 2025, Month: 12, Day: 20}) >= 0 && d.Compare(calendar.Date{Year: 2026, Month: 1, Day: 4}) <= 0
	return err == nil && w && !rest
}

// days calls f for the beginning of each date from the first to the last.
func (s *scene) days(first, last string, f func(time.Time)) {
	end := s.day(last)
	for d := s.day(first); !d.After(end); d = d.AddDate(0, 0, 1) {
		f(d)
	}
}

// stamp writes an instant as registers have it.
func (s *scene) stamp(t time.Time) string { return t.In(s.loc).Format("2006-01-02T15:04-07:00") }

// register is a table being made.
type register struct {
	head []string
	rows [][]string
}

func newRegister(head ...string) *register { return &register{head: head} }

// row adds a row; cells are in the order of the head.
func (r *register) row(cells ...string) { r.rows = append(r.rows, cells) }

func (s *scene) table(name string, r *register) error {
	var b strings.Builder
	w := csv.NewWriter(&b)
	if err := w.Write(r.head); err != nil {
		return err
	}
	if err := w.WriteAll(r.rows); err != nil {
		return err
	}
	s.put(name, b.String())
	return nil
}
