// Command swardbook keeps a site's environmental record and computes the
// answers that its permits ask for. See "swardbook help".
package main

import (
	"fmt"
	"io"
	"os"
	"strings"
)

// Exit codes of every command.
const (
	exitDone           = 0 // done; judge: all complied, not applicable or not yet due
	exitFailed         = 1 // could not be done; verify: not what was sealed
	exitUsage          = 2 // the call is off
	exitNotComplied    = 3 // something is not complied
	exitCannotBeJudged = 4 // something cannot be judged
)

// command is one word after "swardbook".
type command struct {
	name    string
	summary string
	run     func(args []string, stdin io.Reader, stdout, stderr io.Writer) int
}

// commands in the order a newcomer meets them.
func commands() []command {
	return []command{
		{"demo", "make the invented demonstration site, judge it, seal it, verify it", runDemo},
		{"serve", "serve the pages and the API of a kept book", runServe},
		{"judge", "judge every condition of a site folder or a kept book", runJudge},
		{"may", "what on file stands against an act before it is done", runMay},
		{"import", "take a site folder into a kept book", runImport},
		{"stat", "statistics of a logger or laboratory file, by windows", runStat},
		{"predict", "estimate the noise of plant at receptors, every term shown", runPredict},
		{"shots", "fit a log of blasts; charges and velocities from the line", runShots},
		{"vibration", "velocity and overpressure by published laws and limits", runVibration},
		{"sound", "arithmetic of levels in dB, each step shown", runSound},
		{"survey", "describe a survey file, or write it in another format", runSurvey},
		{"plan", "check a plan file; areas, lengths, overlaps", runPlan},
		{"grid", "coordinates, areas in their senses, control points of a site grid", runGrid},
		{"volume", "cut and fill between two surveys, or above a base", runVolume},
		{"levels", "levels after against levels before, within a tolerance", runLevels},
		{"handover", "write the sealed handover pack of a kept book", runHandover},
		{"verify", "check a pack or a kept book, and judge it again", runVerify},
		{"user", "keep who may sign in", runUser},
		{"backup", "write a checked backup of a data directory", runBackup},
		{"restore", "make a data directory from a backup", runRestore},
		{"version", "print the program's version and the rules number", runVersion},
	}
}

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// run carries out one call and returns its exit code.
func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		usage(stderr)
		return exitUsage
	}
	switch args[0] {
	case "help", "--help", "-h":
		if len(args) > 1 && !strings.HasPrefix(args[1], "-") && args[1] != "help" {
			return run([]string{args[1], "--help"}, stdin, stdout, stderr)
		}
		usage(stdout)
		return exitDone
	}
	for _, c := range commands() {
		if c.name == args[0] {
			return c.run(args[1:], stdin, stdout, stderr)
		}
	}
	_, _ = fmt.Fprintf(stderr, "swardbook: there is no command %q; \"swardbook help\" lists them\n", args[0])
	return exitUsage
}

func usage(w io.Writer) {
	var b strings.Builder
	b.WriteString(`Swardbook keeps the record of land that is borrowed for works and must be
handed back, and computes what its permits ask for.

Usage: swardbook COMMAND [options]

`)
	for _, c := range commands() {
		fmt.Fprintf(&b, "  %-10s %s\n", c.name, c.summary)
	}
	b.WriteString(`
"swardbook help COMMAND" shows options, an example and exit codes.

Exit codes: 0 done (judge: all complied, not applicable or not yet due),
1 failed, 2 wrong call, 3 something not complied, 4 something cannot be judged.

What it computes rests on what is on file. It gives no permission: the
permit's words, the authority and local codes decide.
`)
	_, _ = io.WriteString(w, b.String())
}
