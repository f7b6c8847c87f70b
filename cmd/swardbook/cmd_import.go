package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"github.com/swardbook/swardbook/server"
)

const importHelp = `Usage: swardbook import FOLDER --data DIR
       swardbook import readings FILE... --data DIR --mapping M.yaml --as NAME

Takes a site folder into the kept book of its site, which is opened when the
data directory does not hold it yet. Everything is checked first and every
problem listed with its file, line and remedy; either all of the folder comes
in or nothing. Importing the same folder again adds nothing.

  --data DIR    the data directory; made when there is none

Example: swardbook import ./demo-site --data ./site-data

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runImport(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) > 0 && args[0] == "readings" {
		return runImportReadings(args[1:], stdin, stdout, stderr)
	}
	f := flags("import")
	data := f.String("data", "", "")
	words, code, ended := parse(f, args, importHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || len(words) != 1 {
		return usageError(stderr, "import", "it needs one site FOLDER and --data DIR")
	}
	if err := isFolder(words[0]); err != nil {
		return failed(stderr, "import", err)
	}
	working := startProgress("import", stderr)
	working.step("checking " + words[0] + " and taking it in")
	done, err := server.Import(context.Background(), os.DirFS(words[0]), *data, server.Options{})
	working.stop()
	if err != nil {
		return failed(stderr, "import", err)
	}
	for _, n := range done.Notes {
		_, _ = fmt.Fprintln(stderr, n)
	}
	_, _ = fmt.Fprintf(stdout, "%s: %d entries added, %d were there already, %d originals kept\n", done.Site, done.Added, done.Already, done.Files)
	return exitDone
}

// isFolder says plainly what is wrong with a folder's name.
func isFolder(path string) error {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return err
	case !info.IsDir():
		return fmt.Errorf("%s is a file; name the site folder it lies in", path)
	}
	return nil
}
