package handover

import (
	"bytes"
	"context"
	_ "embed" // the format's description goes into every pack
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"sort"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
)

// Names of the members. Everything but files and chunks is derived from the
// book and made again by the verifier.
const (
	bookName       = "record/book.jsonl"
	genesisName    = "record/genesis.json"
	registersDir   = "record/registers/"
	filesDir       = "record/files/"
	chunksDir      = "record/chunks/"
	chunksName     = "record/chunks/index.csv"
	judgementsName = "judgements.json"
	tableName      = "judgements.csv"
	conditionsName = "conditions.json"
	pageName       = "index.html"
	coverName      = "cover.pdf"
	formatName     = "FORMAT.md"
	manifestName   = "manifest.json"
	sumsName       = "SHA256SUMS"
)

//go:embed FORMAT.md
var formatText []byte

// part is one member before it is written.
type part struct {
	name, media, what string
	size              int64
	sum               book.Hash
	text              []byte                        // derived parts
	open              func() (io.ReadCloser, error) // files and chunks
}

func derived(name, media, what string, text []byte) part {
	return part{name: name, media: media, what: what, size: int64(len(text)), sum: hashOf(text), text: text}
}

// content is a pack's parts with the report they rest on.
type content struct {
	parts  []part
	report *judge.Report
}

// contentOf makes every part of the pack but its manifest and sums.
func (in *Input) contentOf(ctx context.Context) (*content, error) {
	in.tell(0.05, "judging the whole book")
	report, record, err := judged(in.Entries, in.Sources, in.Quantities, in.At)
	if err != nil {
		return nil, fmt.Errorf("judging: %w", err)
	}
	view, err := book.NewView(in.Entries)
	if err != nil {
		return nil, err
	}
	in.tell(0.4, "gathering originals and readings")
	files, err := in.fileParts(ctx)
	if err != nil {
		return nil, err
	}
	chunks, index, err := in.chunkParts(ctx)
	if err != nil {
		return nil, err
	}
	in.tell(0.5, "writing tables and cover sheet")
	parts, err := in.derivedParts(report, record, view, len(files), len(chunks))
	if err != nil {
		return nil, err
	}
	parts = append(append(append(parts, index), files...), chunks...)
	sort.Slice(parts, func(i, j int) bool { return parts[i].name < parts[j].name })
	return &content{parts: parts, report: report}, nil
}

// derivedParts makes what follows from the book alone. Files and chunks are
// counted on the cover.
func (in *Input) derivedParts(report *judge.Report, record *judge.Record, view *book.View, files, chunks int) ([]part, error) {
	lines, err := in.bookLines()
	if err != nil {
		return nil, err
	}
	text, err1 := reportText(report)
	table, err2 := judgementTable(report)
	all, err3 := notices(view)
	if err := errors.Join(err1, err2, err3); err != nil {
		return nil, err
	}
	s := in.statement(report, record, view, all)
	s.Files, s.Chunks = files, chunks
	html, err1 := pageText(s)
	pdf, err2 := coverText(s, in.At)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	parts := []part{
		derived(formatName, "text/markdown", "how this pack is made and read", formatText),
		derived(bookName, "application/jsonl", "the record: every entry, one a line", lines),
		derived(genesisName, "application/json", "what the first entry links to", genesisText(in.Site, in.Created)),
		derived(judgementsName, "application/json", "every judgement with its windows", text),
		derived(tableName, "text/csv", "every judgement and window as a table", table),
		derived(conditionsName, "application/json", "every notice and condition, no default implied", conditionsText(all)),
		derived(pageName, "text/html", "cover sheet and statement as a page", html),
		derived(coverName, "application/pdf", "cover sheet and statement on paper", pdf),
	}
	registers, err := in.registerParts(view)
	return append(parts, registers...), err
}

func (in *Input) registerParts(view *book.View) ([]part, error) {
	present := map[string]bool{}
	for _, e := range in.Entries {
		present[e.Kind] = true
	}
	var out []part
	for _, k := range in.Kinds.All() {
		if !present[k.Name] {
			continue
		}
		text, err := register(k, in.Entries, view, in.Withhold)
		if err != nil {
			return nil, fmt.Errorf("register of %s: %w", k.Name, err)
		}
		name := k.Register
		if name == "" {
			name, _, _ = strings.Cut(k.Name, ".")
		}
		out = append(out, derived(registersDir+name+".csv", "text/csv", "entries: "+k.Title, text))
		delete(present, k.Name)
	}
	for _, e := range in.Entries {
		if present[e.Kind] {
			return nil, fmt.Errorf("entry %d is of the kind %s, which this program does not know; use the program it was made with", e.Seq, e.Kind)
		}
	}
	return out, nil
}

// fileParts lists the originals the entries name. One that was erased, or that
// an erased entry alone named, is left out.
func (in *Input) fileParts(ctx context.Context) ([]part, error) {
	seen := map[book.Hash]bool{}
	var out []part
	for _, e := range in.Entries {
		for _, h := range e.Files {
			if seen[h] {
				continue
			}
			seen[h] = true
			size, err := in.Record.FileSize(ctx, h)
			if errors.Is(err, ErrErased) || err != nil && e.ErasedBy > 0 {
				continue
			}
			if err != nil {
				return nil, fmt.Errorf("original %s of entry %d: %w", h, e.Seq, err)
			}
			out = append(out, part{
				name: filesDir + h.String(), media: "application/octet-stream", what: fmt.Sprintf("original, first named by entry %d", e.Seq), size: size, sum: h,
				open: func() (io.ReadCloser, error) { return in.Record.OpenFile(ctx, h) },
			})
		}
	}
	return out, nil
}

// chunkParts lists the runs of readings that belong to entries of the pack.
func (in *Input) chunkParts(ctx context.Context) ([]part, part, error) {
	var out []part
	var index bytes.Buffer
	table := csv.NewWriter(&index)
	table.UseCRLF = true
	if err := table.Write([]string{"import", "channel", "number", "sha256", "bytes"}); err != nil {
		return nil, part{}, err
	}
	err := in.Record.Chunks(ctx, func(c Chunk) error {
		if c.Import > in.last().Seq {
			return nil
		}
		name := chunkMember(c)
		if err := table.Write([]string{strconv.FormatInt(c.Import, 10), c.Channel, strconv.Itoa(c.Number), c.SHA256.String(), strconv.Itoa(len(c.Data))}); err != nil {
			return err
		}
		out = append(out, part{
			name: name, media: "application/octet-stream", what: fmt.Sprintf("readings of %s from entry %d", c.Channel, c.Import), size: int64(len(c.Data)), sum: c.SHA256,
			text: c.Data,
		})
		return nil
	})
	table.Flush()
	if err := errors.Join(err, table.Error()); err != nil {
		return nil, part{}, fmt.Errorf("readings: %w", err)
	}
	return out, derived(chunksName, "text/csv", "list of the runs of readings", index.Bytes()), nil
}

// chunkMember names a chunk's member; the channel stands in hex where it holds
// anything a file name may not.
func chunkMember(c Chunk) string {
	return fmt.Sprintf("%s%08d/%s/%06d.chunk", chunksDir, c.Import, plainName(c.Channel), c.Number)
}

func plainName(s string) string {
	for i := 0; i < len(s); i++ {
		c := s[i]
		good := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_'
		if !good {
			return fmt.Sprintf("x%x", s)
		}
	}
	return s
}
