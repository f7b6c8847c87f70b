package main

import (
	"fmt"
	"io"
	"runtime"

	"github.com/swardbook/swardbook/compliance/judge"
)

// version is set when the program is built.
var version = "unversioned"

const versionHelp = `Usage: swardbook version

Prints the program's version, the number of the rules it judges by, and what it
was built with.

Exit codes: 0 done, 2 wrong call.
`

func runVersion(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	words, code, ended := parse(flags("version"), args, versionHelp, stdout, stderr)
	if ended {
		return code
	}
	if len(words) > 0 {
		return usageError(stderr, "version", "it takes no further words")
	}
	_, _ = fmt.Fprintf(stdout, "swardbook %s, rules %d, %s %s/%s\n", version, judge.Rules, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return exitDone
}
