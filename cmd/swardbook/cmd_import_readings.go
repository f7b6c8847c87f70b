package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/monitoring"
	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/folder"
)

const importReadingsHelp = `Usage: swardbook import readings FILE... --data DIR --mapping M.yaml --as NAME

Brings logger files into a kept book, each as one entry with its readings, or
not at all. What each would bring is printed first: rows, readings new, the
same and changed against what is on file, gaps, and what each clock would mean.

  --data DIR      the data directory
  --site ID       which site, where the data directory holds several
  --mapping FILE  how the files are read: see below
  --as NAME       sign-in name of the person who brings them in
  --dry-run       say what would come in, and save nothing
  --changed       readings that differ from those on file take their place

A mapping is YAML: delimiter, header_row and so on where the file does not show
them; time: columns, layout, stamp (begin, mid, end, instant), interval; zone of
the logger's clock, never guessed (Europe/London, UTC, "+00:00" for a clock that
is not put forward); missing: texts for no value; and channels, a list of column,
channel, quantity, unit, place, and where there are any qualifier, instrument,
deployment.

Example: swardbook import readings april.csv --data ./site-data \\
           --mapping logger7.yaml --as officer

The same file again adds nothing. Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runImportReadings(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("import readings")
	data, site := f.String("data", "", ""), f.String("site", "", "")
	mapping, as := f.String("mapping", "", ""), f.String("as", "", "")
	dry, changed := f.Bool("dry-run", false, ""), f.Bool("changed", false, "")
	words, code, ended := parse(f, args, importReadingsHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || *mapping == "" || *as == "" || len(words) == 0 {
		return usageError(stderr, "import readings", "it needs FILE, --data DIR, --mapping FILE and --as NAME")
	}
	if err := importReadings(words, *data, *site, *mapping, *as, *dry, *changed, stdout); err != nil {
		return failed(stderr, "import readings", err)
	}
	return exitDone
}

func importReadings(files []string, data, site, mapping, as string, dry, changed bool, stdout io.Writer) (err error) {
	text, err := os.ReadFile(mapping)
	if err != nil {
		return err
	}
	m, of, err := folder.ReadMapping(filepath.Base(mapping), text)
	if err != nil {
		return err
	}
	h, err := server.Open(data, server.Options{Site: site})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	ctx := context.Background()
	a, err := h.People.Accounts.AccountNamed(ctx, as)
	if err != nil {
		return fmt.Errorf("nobody signs in as %q; see swardbook user list", as)
	}
	who := app.Actor{Person: a.ID, Name: a.Display, Role: a.Role}
	for _, path := range files {
		if err := importOne(ctx, h, who, path, app.Import{Name: filepath.Base(path), Mapping: m, Of: of, Changed: changed}, dry, stdout); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
	}
	return nil
}

func importOne(ctx context.Context, h *server.House, who app.Actor, path string, in app.Import, dry bool, stdout io.Writer) error {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }()
	if in.File, _, err = h.App.Book.PutFile(ctx, file, 1<<31); err != nil {
		return err
	}
	t, err := h.App.TryImport(ctx, who, in)
	if err != nil {
		return err
	}
	printTrial(stdout, in.Name, t)
	if dry {
		return nil
	}
	id := book.RowID(h.Site, monitoring.ImportKind, "command line", in.File.String())
	e, fresh, _, err := h.App.KeepImport(ctx, who, id, in)
	if err != nil {
		return err
	}
	if !fresh {
		_, _ = fmt.Fprintf(stdout, "  it was in the book already, as entry %d\n", e.Seq)
		return nil
	}
	_, _ = fmt.Fprintf(stdout, "  brought in as entry %d\n", e.Seq)
	return nil
}

// printTrial says what a file would bring.
func printTrial(w io.Writer, name string, t *app.Trial) {
	p := func(format string, args ...any) { _, _ = fmt.Fprintf(w, format+"\n", args...) }
	p("%s: %d rows, %d repeated ones left out", name, t.Rows, t.Repeated)
	for _, f := range t.Faults {
		p("  %s: %s; %s", f.Field, f.Reason, f.Remedy)
	}
	for _, o := range t.Orders {
		p("  layout %q would make the first date %s", o.Layout, o.First)
	}
	for i, b := range t.Bad {
		if i == 20 {
			p("  and %d more lines that cannot be read", t.BadCount-i)
			break
		}
		p("  line %d %s: %s", b.Line, b.Column, b.Why)
	}
	for i := range t.Channels {
		c := &t.Channels[i]
		p("  %s: %d readings, %d with a value, %s to %s; %d new, %d the same, %d changed; %d gaps", c.Channel, c.Count, c.Valid,
			c.First.Format("2006-01-02 15:04:05Z"), c.Last.Format("2006-01-02 15:04:05Z"), c.New, c.Same, c.Changed, len(c.Gaps))
		if c.Below > 0 {
			p("  %s: %d readings are lower than it can be; check unit and column", c.Channel, c.Below)
		}
	}
	if len(t.Zones) > 0 {
		var parts []string
		for _, z := range t.Zones {
			parts = append(parts, z.Zone+" "+z.First.Format("2006-01-02 15:04:05Z"))
		}
		p("  the first reading begins, by clock: %s", strings.Join(parts, ", "))
	}
}
