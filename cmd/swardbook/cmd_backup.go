package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/store"
)

const backupHelp = `Usage: swardbook backup --data DIR --out FILE

Writes everything a data directory holds into one file, and checks what it
wrote: the database's integrity, the chain of every book, every original. It may
run while the server does. The signing key is not in a backup: keep it apart.

  --data DIR    the data directory
  --out FILE    the backup to write; it must not be there yet

Example: swardbook backup --data ./site-data --out site-2026-06-01.backup

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runBackup(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("backup")
	data, out := f.String("data", "", ""), f.String("out", "", "")
	words, code, ended := parse(f, args, backupHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || *out == "" || len(words) > 0 {
		return usageError(stderr, "backup", "it needs --data DIR and --out FILE, and no further words")
	}
	s, err := store.Open(*data, store.Options{ReadOnly: true})
	if err != nil {
		return failed(stderr, "backup", err)
	}
	defer func() { _ = s.Close() }()
	working := startProgress("backup", stderr)
	working.step("writing and checking " + *out)
	info, err := s.Backup(context.Background(), *out)
	working.stop()
	if err != nil {
		return failed(stderr, "backup", err)
	}
	_, _ = fmt.Fprintf(stdout, "%s written and checked: %s\n%s\n", *out, backupWords(info), store.KeyNotice)
	return exitDone
}

const restoreHelp = `Usage: swardbook restore FILE --data DIR

Makes a data directory from a backup and checks it whole. It never writes over
one that is there. The book's epoch is raised, so that phones offer again what
they sent since the backup.

  --data DIR    the directory to make; it must be new or empty

Example: swardbook restore site-2026-06-01.backup --data ./site-data

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runRestore(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("restore")
	data := f.String("data", "", "")
	words, code, ended := parse(f, args, restoreHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || len(words) != 1 {
		return usageError(stderr, "restore", "it needs one backup FILE and --data DIR")
	}
	working := startProgress("restore", stderr)
	working.step("making and checking " + *data)
	info, err := store.Restore(context.Background(), words[0], *data, store.VerifyOptions{Readings: server.ReadingFaults})
	working.stop()
	if err != nil {
		return failed(stderr, "restore", err)
	}
	_, _ = fmt.Fprintf(stdout, "%s restored and checked: %s\n%s\n", *data, backupWords(info), store.KeyNotice)
	return exitDone
}

func backupWords(info *store.BackupInfo) string {
	var words []string
	for _, s := range info.Sites {
		words = append(words, fmt.Sprintf("site %s to entry %d", s.ID, s.Seq))
	}
	return strings.Join(words, ", ")
}
