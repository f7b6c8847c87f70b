package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"strings"
	"time"
)

// flags makes an empty flag set; parse prints the help page for it.
func flags(name string) *flag.FlagSet {
	f := flag.NewFlagSet(name, flag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	return f
}

// parse reads flags and positional words in any order. It returns the words,
// and an exit code when the call ends here (help asked for, or a wrong flag).
func parse(f *flag.FlagSet, args []string, help string, stdout, stderr io.Writer) (words []string, code int, ended bool) {
	for {
		err := f.Parse(args)
		if errors.Is(err, flag.ErrHelp) {
			_, _ = io.WriteString(stdout, help)
			return nil, exitDone, true
		}
		if err != nil {
			return nil, usageError(stderr, f.Name(), strings.Replace(err.Error(), " -", " --", 1)), true
		}
		if f.NArg() == 0 {
			return words, 0, false
		}
		words = append(words, f.Arg(0))
		args = f.Args()[1:]
	}
}

// usageError says what is wrong with a call and where its help is.
func usageError(stderr io.Writer, name, what string) int {
	_, _ = fmt.Fprintf(stderr, "swardbook %s: %s\n\"swardbook help %s\" shows how it is called\n", name, what, name)
	return exitUsage
}

// failed says why a command could not be carried out.
func failed(stderr io.Writer, name string, err error) int {
	_, _ = fmt.Fprintf(stderr, "swardbook %s: %v\n", name, err)
	return exitFailed
}

// instant reads a --at or --known-at value: RFC 3339 with an offset, or "now".
func instant(value string, now func() time.Time) (time.Time, error) {
	if value == "now" {
		return now().UTC().Truncate(time.Millisecond), nil
	}
	t, err := time.Parse(time.RFC3339Nano, value)
	if err != nil {
		return time.Time{}, fmt.Errorf("%q is not a time with its offset; write 2026-04-30T00:00:00Z or 2026-04-30T01:00:00+01:00", value)
	}
	return t.UTC().Truncate(time.Millisecond), nil
}
