package handover

import (
	_ "embed" // the format's description goes into every pack
	"errors"
	"fmt"
	"io"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Names of the members. Everything but originals and readings is derived from
// the book and made again by the verifier.
const (
	formatName     = "FORMAT.md"
	sumsName       = "SHA256SUMS"
	conditionsName = "conditions.json"
	coverName      = "cover.pdf"
	pageName       = "index.html"
	tableName      = "judgements.csv"
	judgementsName = "judgements.json"
	manifestName   = "manifest.json"
	bookName       = "record/book.jsonl"
	chunksDir      = "record/chunks/"
	chunksName     = "record/chunks/index.csv"
	filesDir       = "record/files/"
	genesisName    = "record/genesis.json"
	registersDir   = "record/registers/"
	zoneDir        = "record/zone/"
)

//go:embed FORMAT.md
var formatText []byte

// sink takes members: Write's seals them, Verify's compares them with those of
// a pack. A member is whole when its writer is closed without error.
type sink interface {
	create(name, media, what string) (io.WriteCloser, error)
	// judgement sees each judgement with its line of judgements.json.
	judgement(j *judge.Judgement, line []byte)
}

// facts are what the derived members say beside the book itself.
type facts struct {
	program     string
	fingerprint string
	files, runs int // originals, chunks in the pack
}

// derive makes every member that follows from the book, in a fixed order.
func derive(p *packed, j *judged, f facts, kinds *book.Kinds, to sink) error {
	view, err := book.NewView(p.entries)
	if err != nil {
		return err
	}
	found := newFindings()
	if err := deriveJudgements(j, found, to); err != nil {
		return err
	}
	s := newStatement(p, j, f, found)
	html, err := pageText(s)
	if err != nil {
		return err
	}
	pdf, err := coverText(s)
	if err != nil {
		return err
	}
	texts := []struct {
		name, media, what string
		text              []byte
	}{
		{formatName, "text/markdown", "how this pack is made, read and checked", formatText},
		{genesisName, "application/json", "what the first entry links to", genesisText(p.site, p.created)},
		{conditionsName, "application/json", "every condition with every default written out, and the clauses of every notice", j.conditionsText()},
		{pageName, "text/html", "cover sheet and statement as a page", html},
		{coverName, "application/pdf", "cover sheet and statement on paper", pdf},
	}
	for _, t := range texts {
		if err := put(to, t.name, t.media, t.what, func(w io.Writer) error { _, err := w.Write(t.text); return err }); err != nil {
			return err
		}
	}
	if err := put(to, bookName, "application/jsonl", "the record: every entry, one a line", p.writeBook); err != nil {
		return err
	}
	for _, r := range p.registers(kinds) {
		err := put(to, r.name, "text/csv", "entries: "+r.kind.Title, func(w io.Writer) error { return r.write(w, p, view) })
		if err != nil {
			return err
		}
	}
	return nil
}

func put(to sink, name, media, what string, write func(io.Writer) error) error {
	w, err := to.create(name, media, what)
	if err != nil {
		return err
	}
	if err := errors.Join(write(w), w.Close()); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// deriveJudgements writes both forms of the judgements in one pass.
func deriveJudgements(j *judged, found *findings, to sink) error {
	text, err := to.create(judgementsName, "application/json", "every judgement to date, by month and by window")
	if err != nil {
		return err
	}
	rows, err := to.create(tableName, "text/csv", "every judgement to date and by window, as a table")
	if err != nil {
		return errors.Join(err, text.Close())
	}
	err = func() error {
		report, t := &reportWriter{w: text}, j.table(newTable(rows))
		err := j.each(func(one *judge.Judgement) error {
			found.take(one)
			line, err := report.add(j.report, one)
			to.judgement(one, line)
			return errors.Join(err, t.add(one))
		})
		return errors.Join(err, report.close(j.report), t.flush())
	}()
	return errors.Join(err, text.Close(), rows.Close())
}
