package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/handover"
)

const verifyHelp = `Usage: swardbook verify FILE [--key FINGERPRINT] [--from-originals] [--json]
       swardbook verify --data DIR [--site ID] [--json]

Checks a handover pack: its form, the signature over every byte, every hash,
the chain of entries, the originals and the readings; then judges everything
again from nothing but the record in the pack and compares judgement by
judgement. With --data it checks a kept book whole.

  --key FINGERPRINT   of the signing key, given to you by another way; without
                      it the first line says that the signer was not checked
  --from-originals    also read logger files and surveys again; where this
                      program reads them otherwise it says "parser differs"
  --data DIR          a data directory instead of a pack
  --site ID           which site, where the data directory holds several
  --json              the outcome as JSON

Example: swardbook verify pack.zip --key "0a1b2c3d ..."

Exit codes: 0 everything is as it was sealed, all judgements the same; 1 it is
not; 2 wrong call; 4 this program no longer holds the pack's rules.
`

func runVerify(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("verify")
	key, data, site := f.String("key", "", ""), f.String("data", "", ""), f.String("site", "", "")
	originals, asJSON := f.Bool("from-originals", false, ""), f.Bool("json", false, "")
	words, code, ended := parse(f, args, verifyHelp, stdout, stderr)
	if ended {
		return code
	}
	if (len(words) == 1) == (*data != "") || len(words) > 1 {
		return usageError(stderr, "verify", "name one pack FILE, or --data DIR")
	}
	if *data != "" {
		return verifyData(*data, *site, *asJSON, stdout, stderr)
	}
	out, err := server.VerifyFile(context.Background(), words[0], server.VerifyOptions{
		Fingerprint: *key, FromOriginals: *originals, Program: version, Tell: telling(stderr),
	})
	if err != nil {
		return failed(stderr, "verify", err)
	}
	if *asJSON {
		if err := printJSON(stdout, out); err != nil {
			return failed(stderr, "verify", err)
		}
	} else {
		for _, l := range out.Lines() {
			_, _ = fmt.Fprintln(stdout, l)
		}
	}
	return outcomeCode(out)
}

func outcomeCode(out *handover.Outcome) int {
	switch {
	case out.Good():
		return exitDone
	case len(out.Faults) == 0 && out.Differ == 0:
		return exitCannotBeJudged
	}
	return exitFailed
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(v)
}

func verifyData(dir, site string, asJSON bool, stdout, stderr io.Writer) (code int) {
	h, err := server.Open(dir, server.Options{Site: site, ReadOnly: true})
	if err != nil {
		return failed(stderr, "verify", err)
	}
	defer func() {
		if err := h.Close(); err != nil {
			code = failed(stderr, "verify", err)
		}
	}()
	working := startProgress("verify", stderr)
	working.step("checking " + dir)
	report, err := h.Verify(context.Background())
	working.stop()
	if err != nil {
		return failed(stderr, "verify", err)
	}
	if asJSON {
		err = printJSON(stdout, report)
	} else {
		for _, fault := range report.Faults {
			_, e := fmt.Fprintf(stdout, "WRONG: %v\n", fault)
			err = errors.Join(err, e)
		}
		_, e := fmt.Fprintf(stdout, "site %s: %d entries, %d originals, %d runs of readings, %d faults\n", h.Site, report.Entries, report.Files, report.Chunks, len(report.Faults))
		err = errors.Join(err, e)
	}
	if err != nil {
		return failed(stderr, "verify", err)
	}
	if len(report.Faults) > 0 {
		return exitFailed
	}
	return exitDone
}
