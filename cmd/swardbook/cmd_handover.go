package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/app"
)

const handoverHelp = `Usage: swardbook handover --data DIR --out FILE --at TIME [--site ID] [--unentered]

Seals a handover pack: the whole record of a kept book, everything judged to an
instant, and a signature over every byte. The same book, instant, key and
program give the same bytes. Making it is entered in the book, after what the
pack holds.

  --data DIR     the data directory
  --out FILE     the pack to write; it must not be there yet
  --at TIME      judged to this time, with its offset, or "now"
  --site ID      which site, where the data directory holds several
  --unentered    do not enter the making in the book (to make the same pack twice)

The signing key lies in DIR/keys and is made when there is none. Give the
receiver its fingerprint, printed below, by another way than the pack.

Example: swardbook handover --data site-data --out pack.zip --at 2026-11-01T00:00:00Z

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runHandover(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("handover")
	data, out, at, site := f.String("data", "", ""), f.String("out", "", ""), f.String("at", "", ""), f.String("site", "", "")
	unentered := f.Bool("unentered", false, "")
	words, code, ended := parse(f, args, handoverHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || *out == "" || *at == "" || len(words) > 0 {
		return usageError(stderr, "handover", "it needs --data DIR, --out FILE and --at TIME, and no further words")
	}
	when, err := instant(*at, time.Now)
	if err != nil {
		return usageError(stderr, "handover", "--at: "+err.Error())
	}
	lines, err := handOver(*data, *site, *out, when, !*unentered, stderr)
	if err != nil {
		return failed(stderr, "handover", err)
	}
	for _, l := range lines {
		_, _ = fmt.Fprintln(stdout, l)
	}
	return exitDone
}

func handOver(data, site, out string, at time.Time, enter bool, stderr io.Writer) (lines []string, err error) {
	h, err := server.Open(data, server.Options{Site: site})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	packs, err := server.OpenPacks(h, version)
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	if err := h.Loggers.SealAll(ctx); err != nil {
		return nil, err
	}
	r, sum, size, err := packs.WriteFile(ctx, out, at, telling(stderr))
	if err != nil {
		return nil, err
	}
	if enter {
		if _, err := packs.Enter(ctx, app.Actor{Person: "command-line", Role: app.Officer}, r, out); err != nil {
			return nil, err
		}
	}
	return []string{
		fmt.Sprintf("%s: entries 1 to %d, %d members, %d bytes", out, r.Upto, r.Members, size),
		"sha256 " + sum,
		"signing key " + packs.Fingerprint(),
	}, nil
}
