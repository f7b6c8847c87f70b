package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/handover"
	"github.com/swardbook/swardbook/server/jobs"
	"github.com/swardbook/swardbook/server/seal"
	"github.com/swardbook/swardbook/server/store"
)

// Packs makes, keeps and verifies handover packs of one site.
type Packs struct {
	house   *House
	key     *seal.Key
	program string
}

// packsName is the folder of a data directory that made packs are kept in.
const packsName = "packs"

// OpenPacks opens the packs of a house with the data directory's signing key,
// which is drawn when there is none. A key drawn for a book that has entries
// is said in the book, so that a reader of later packs knows.
func OpenPacks(h *House, program string) (*Packs, error) {
	key, _, err := seal.LoadOrCreate(filepath.Join(h.Store.Dir(), store.KeysName, "signing.pem"))
	if err != nil {
		return nil, err
	}
	return &Packs{house: h, key: key, program: program}, nil
}

// Fingerprint returns the signing key's fingerprint.
func (p *Packs) Fingerprint() string { return p.key.Fingerprint() }

// Write seals a pack of the book judged to an instant into w. It enters
// nothing in the book: Enter does.
func (p *Packs) Write(ctx context.Context, w io.Writer, at time.Time, tell func(float64, string)) (*handover.Result, error) {
	info, err := p.house.App.Book.Info(ctx)
	if err != nil {
		return nil, err
	}
	entries, err := p.house.App.Book.Entries(ctx)
	if err != nil {
		return nil, err
	}
	return handover.Write(ctx, w, handover.Input{
		Site: p.house.Site, Created: info.Created, Entries: entries, At: at, Program: p.program, Key: p.key,
		Record: originals{p.house}, Sources: app.Sources(ctx, p.house.App.Book), Kinds: p.house.App.Kinds, Quantities: p.house.App.Quantities,
		Temp: p.house.Store.Dir(), Tell: tell,
	})
}

// WriteFile seals a pack into a new file, whole or not at all, and returns its
// SHA-256 and size.
func (p *Packs) WriteFile(ctx context.Context, path string, at time.Time, tell func(float64, string)) (r *handover.Result, sum string, size int64, err error) {
	if _, err := os.Lstat(path); err == nil {
		return nil, "", 0, fmt.Errorf("%s is there already; name another file", path)
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".pack-*.part")
	if err != nil {
		return nil, "", 0, err
	}
	defer func() { _ = os.Remove(f.Name()) }()
	h := sha256.New()
	r, err = p.Write(ctx, io.MultiWriter(f, h), at, tell)
	if err := errors.Join(err, f.Sync()); err != nil {
		return nil, "", 0, errors.Join(err, f.Close())
	}
	size, err = f.Seek(0, io.SeekCurrent)
	if err := errors.Join(err, f.Close(), os.Chmod(f.Name(), 0o644), os.Rename(f.Name(), path)); err != nil {
		return nil, "", 0, err
	}
	return r, hex.EncodeToString(h.Sum(nil)), size, nil
}

// Enter says in the book that a pack was made.
func (p *Packs) Enter(ctx context.Context, who app.Actor, r *handover.Result, name string) (*book.Entry, error) {
	now := p.house.App.Now().UTC().Truncate(time.Millisecond)
	counts := map[judge.Verdict]int64{}
	for i := range r.Report.Judgements {
		counts[r.Report.Judgements[i].Verdict]++
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "handover %d %s %s", r.Upto, r.Manifest, book.FormatInstant(now)))
	d := book.Draft{
		ID: book.ID(hex.EncodeToString(sum[:16])), Kind: "handover.1", At: now, Precision: book.ToMillisecond, Made: now, By: who.Person, Role: string(who.Role),
		Body: book.Object{
			"upto_seq": r.Upto, "judged_at": book.FormatInstant(r.Report.At), "rules": int64(r.Report.Rules), "program": p.program,
			"fingerprint": strings.ReplaceAll(p.Fingerprint(), " ", ""), "contents_digest": r.Manifest.String(), "name": name,
			"judgements": book.Object{
				"complied": counts[judge.Complied], "not_complied": counts[judge.NotComplied], "cannot_be_judged": counts[judge.CannotBeJudged],
				"not_applicable": counts[judge.NotApplicable], "not_yet_due": counts[judge.NotYetDue],
			},
		},
	}
	if faults := p.house.App.Kinds.Check(&d); len(faults) > 0 {
		return nil, faults[0]
	}
	e, _, err := p.house.App.Enter(ctx, who, d)
	if err != nil {
		return nil, errors.Join(err, errors.New("the pack was made, but the book does not say so"))
	}
	return e, nil
}

// originals are the files and chunks a pack takes from the store.
type originals struct{ h *House }

func (o originals) OpenFile(ctx context.Context, sum book.Hash) (io.ReadCloser, error) {
	f, err := o.h.Store.OpenFile(ctx, sum)
	if errors.Is(err, store.ErrErased) {
		return nil, fmt.Errorf("%w: %w", handover.ErrErased, err)
	}
	return f, err
}

func (o originals) FileSize(ctx context.Context, sum book.Hash) (int64, error) {
	return o.h.Store.FileSize(ctx, sum)
}

func (o originals) Chunks(ctx context.Context, do func(handover.Chunk) error) error {
	return o.h.Store.Chunks(ctx, o.h.Site, func(c store.Chunk) error {
		return do(handover.Chunk{Import: c.Import, Channel: c.Channel, Number: c.K, SHA256: c.SHA256, Data: c.Data})
	})
}

// Make seals a pack into the data directory and enters it in the book. What
// loggers sent becomes part of the book first.
func (p *Packs) Make(ctx context.Context, who app.Actor, at time.Time, tell func(float64, string)) (jobs.Result, error) {
	if err := p.house.Loggers.SealAll(ctx); err != nil {
		return jobs.Result{}, err
	}
	dir := filepath.Join(p.house.Store.Dir(), packsName)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return jobs.Result{}, err
	}
	info, err := p.house.App.Book.Info(ctx)
	if err != nil {
		return jobs.Result{}, err
	}
	name := fmt.Sprintf("%s-%d-%s.zip", plainID(p.house.Site), info.Seq, at.UTC().Format("20060102t150405"))
	r, sum, _, err := p.WriteFile(ctx, filepath.Join(dir, name), at, tell)
	if err != nil {
		return jobs.Result{}, err
	}
	if _, err := p.Enter(ctx, who, r, name); err != nil {
		return jobs.Result{}, errors.Join(err, os.Remove(filepath.Join(dir, name)))
	}
	return jobs.Result{Name: name, Lines: []string{"made " + name, "sha256 " + sum, "signed by " + p.Fingerprint()}}, nil
}

func plainID(site string) string { return strings.NewReplacer(".", "-", "_", "-").Replace(site) }

var packName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]*\.zip$`)

func (p *Packs) path(name string) (string, error) {
	if !packName.MatchString(name) {
		return "", fmt.Errorf("there is no pack %q", name)
	}
	return filepath.Join(p.house.Store.Dir(), packsName, name), nil
}

// Open opens a pack made here.
func (p *Packs) Open(name string) (io.ReadSeekCloser, int64, error) {
	path, err := p.path(name)
	if err != nil {
		return nil, 0, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	info, err := f.Stat()
	if err != nil {
		return nil, 0, errors.Join(err, f.Close())
	}
	return f, info.Size(), nil
}

// List returns the packs the book says were made, newest first, as far as
// their files are here.
func (p *Packs) List(ctx context.Context) ([]app.Pack, error) {
	snap, err := p.house.App.Current(ctx)
	if err != nil {
		return nil, err
	}
	made := snap.View.Current("handover.1")
	var out []app.Pack
	for i := len(made) - 1; i >= 0; i-- {
		e := made[i]
		k := app.Pack{
			Entry: e.ID, Seq: e.Body.Integer("upto_seq"), Name: e.Body.Text("name"), Fingerprint: e.Body.Text("fingerprint"),
			MadeBy: snap.NameOf(e.By), MadeAt: e.Recorded,
		}
		if k.MadeBy == "" {
			k.MadeBy = e.By
		}
		if k.At, err = book.ParseInstant(e.Body.Text("judged_at")); err != nil {
			continue
		}
		f, size, err := p.Open(k.Name)
		if err != nil {
			continue
		}
		h := sha256.New()
		_, err = io.Copy(h, f)
		if err := errors.Join(err, f.Close()); err != nil {
			return nil, err
		}
		k.Bytes, k.SHA256 = size, hex.EncodeToString(h.Sum(nil))
		out = append(out, k)
	}
	return out, nil
}

// Verify checks a pack made here and judges it again.
func (p *Packs) Verify(ctx context.Context, name string, tell func(float64, string)) (jobs.Result, error) {
	path, err := p.path(name)
	if err != nil {
		return jobs.Result{}, err
	}
	out, err := VerifyFile(ctx, path, VerifyOptions{Fingerprint: p.Fingerprint(), Program: p.program, Tell: tell})
	if err != nil {
		return jobs.Result{}, err
	}
	return jobs.Result{Name: name, Lines: out.Lines()}, nil
}

// VerifyOptions say how a pack is verified.
type VerifyOptions struct {
	Fingerprint   string // of the key expected; "" = the signer is not checked
	FromOriginals bool
	Program       string
	Tell          func(share float64, words string)
}

// VerifyFile checks a pack's file and judges it again.
func VerifyFile(ctx context.Context, path string, o VerifyOptions) (*handover.Outcome, error) {
	kinds, quantities, err := lists()
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	return handover.Verify(ctx, f, info.Size(), handover.Check{
		Fingerprint: o.Fingerprint, FromOriginals: o.FromOriginals, Kinds: kinds, Quantities: quantities, Program: o.Program,
		Reparse: reparse, Tell: o.Tell,
	})
}
