package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/app"
	"github.com/swardbook/swardbook/server/demo"
)

const demoHelp = `Usage: swardbook demo DIR [--listen HOST:PORT]

Makes the invented demonstration site as a site folder in DIR, takes it into a
kept book (DIR.data), judges it, prints the verdicts by clause, seals a handover
pack (DIR.pack.zip) and verifies it. What an earlier demo left under these names
is made anew. With --listen it then serves the pages there, with a sign-in for
each role, until it is stopped.

  --listen HOST:PORT   serve the pages, e.g. 127.0.0.1:8440; port 0 takes a free one
  --quiet              do not print the verdicts by clause

Example: swardbook demo ./demo-site --listen 127.0.0.1:8440

Exit codes: 0 done, 1 failed, 2 wrong call.
`

// demoSeed makes the same site every time.
const demoSeed = 1

func runDemo(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("demo")
	listen, quiet := f.String("listen", "", ""), f.Bool("quiet", false, "")
	words, code, ended := parse(f, args, demoHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) != 1 {
		return usageError(stderr, "demo", "name the one DIR to make the site in")
	}
	dir := strings.TrimRight(words[0], "/\\")
	if err := makeDemo(dir, *quiet, stdout, stderr); err != nil {
		return failed(stderr, "demo", err)
	}
	if *listen == "" {
		return exitDone
	}
	if err := serveDemo(dir+".data", *listen, stdout, stderr); err != nil {
		return failed(stderr, "demo", err)
	}
	return exitDone
}

// demoMark is the file that tells a folder made by the demo from any other.
const demoMark = "site.yaml"

// clearDemo removes what an earlier demo made, and nothing else.
func clearDemo(dir string) error {
	text, err := os.ReadFile(dir + string(os.PathSeparator) + demoMark)
	switch {
	case errors.Is(err, os.ErrNotExist):
		names, err := os.ReadDir(dir)
		if err == nil && len(names) > 0 {
			return fmt.Errorf("%s holds something else; name a new or empty folder", dir)
		}
	case err != nil:
		return err
	case !strings.Contains(string(text), demo.SiteID):
		return fmt.Errorf("%s is another site's folder; name a new or empty one", dir)
	}
	return errors.Join(os.RemoveAll(dir), os.RemoveAll(dir+".data"), os.RemoveAll(dir+".pack.zip"))
}

func makeDemo(dir string, quiet bool, stdout, stderr io.Writer) error {
	say := func(format string, args ...any) { _, _ = fmt.Fprintf(stdout, format+"\n", args...) }
	if err := clearDemo(dir); err != nil {
		return err
	}
	if err := demo.Write(dir, demoSeed); err != nil {
		return err
	}
	say("made the invented site in %s", dir)
	ctx := context.Background()
	data := dir + ".data"
	working := startProgress("demo", stderr)
	working.step("taking the site into the book")
	done, err := server.Import(ctx, os.DirFS(dir), data, server.Options{})
	working.stop()
	if err != nil {
		return err
	}
	say("took it into the book in %s: %d entries, %d originals", data, done.Added, done.Files)
	return sealDemo(ctx, dir, quiet, stdout, stderr)
}

func sealDemo(ctx context.Context, dir string, quiet bool, stdout, stderr io.Writer) (err error) {
	h, err := server.Open(dir+".data", server.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	at := demo.JudgeAt()
	report, err := h.Judge(ctx, server.Asked{At: &at})
	if err != nil {
		return err
	}
	if quiet {
		printTotals(stdout, report)
	} else {
		printReport(stdout, report, judgeOptions{})
	}
	packs, err := server.OpenPacks(h, version)
	if err != nil {
		return err
	}
	pack := dir + ".pack.zip"
	r, _, size, err := packs.WriteFile(ctx, pack, at, telling(stderr))
	if err != nil {
		return err
	}
	if _, err := packs.Enter(ctx, app.Actor{Person: "demo", Role: app.Officer}, r, pack); err != nil {
		return err
	}
	_, _ = fmt.Fprintf(stdout, "\nsealed %s: entries 1 to %d, %.1f MB\n", pack, r.Upto, float64(size)/1e6)
	out, err := server.VerifyFile(ctx, pack, server.VerifyOptions{Fingerprint: packs.Fingerprint(), Program: version, Tell: telling(stderr)})
	if err != nil {
		return err
	}
	for _, l := range out.Lines() {
		_, _ = fmt.Fprintln(stdout, "  "+l)
	}
	if !out.Good() {
		return errors.New("the pack just made does not verify")
	}
	return nil
}

// demoPeople are who may sign in to the demonstration, on this machine only.
var demoPeople = []struct {
	name, display string
	role          app.Role
}{
	{"officer", "Environmental officer", app.Officer},
	{"manager", "Site manager", app.Manager},
	{"regulator", "Regulator", app.Regulator},
	{"admin", "Administrator", app.Administrator},
}

func demoPassword(name string) string { return "hillside-" + name + "-demo" }

func serveDemo(data, listen string, stdout, stderr io.Writer) error {
	return serve(serving{data: data, listen: listen, atLeastNow: demo.JudgeAt(), stderr: stderr, ready: func(h *server.House, address string) error {
		ctx := context.Background()
		for _, p := range demoPeople {
			if err := h.People.Ensure(ctx, app.Account{ID: "demo-" + p.name, Name: p.name, Display: p.display, Role: p.role}, demoPassword(p.name)); err != nil {
				return err
			}
		}
		_, _ = fmt.Fprintf(stdout, "\nThe demonstration site is served on %s\nSign in as\n", address)
		for _, p := range demoPeople {
			_, _ = fmt.Fprintf(stdout, "  %-10s password %s\n", p.name, demoPassword(p.name))
		}
		_, _ = fmt.Fprintln(stdout, "Ctrl-C stops it.")
		return nil
	}})
}
