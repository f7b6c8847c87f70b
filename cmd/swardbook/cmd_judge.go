package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server"
)

const judgeHelp = `Usage: swardbook judge FOLDER [options]
       swardbook judge --data DIR [--site ID] [options]

Judges every condition of a site folder, or of a kept book, and prints the
verdicts by clause with their counts. Missing data never counts as compliance.

  --data DIR         a data directory instead of a folder
  --site ID          which site, where the data directory holds several
  --at TIME          judge to this time (default: the folder's judge_at, else now);
                     entries that happened later are left out
  --known-at TIME    by what had been received by then
  --permit REF       only the conditions of this notice
  --clause C         only the conditions of this clause
  --condition ID     only this condition
  --working          the arithmetic of every window, step by step
  --all              every window, not only the roll-up
  --json             the judgements as JSON

Times have their offset: 2026-04-30T00:00:00Z or 2026-04-30T01:00:00+01:00.

Example: swardbook judge testdata/sites/real-inputs --clause 1 --working

Exit codes: 0 all complied, not applicable or not yet due; 1 failed; 2 wrong
call; 3 something not complied; 4 something cannot be judged (and nothing is
known to be not complied).
`

func runJudge(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("judge")
	data, site := f.String("data", "", ""), f.String("site", "", "")
	at, known := f.String("at", "", ""), f.String("known-at", "", "")
	clause, notice, condition := f.String("clause", "", ""), f.String("permit", "", ""), f.String("condition", "", "")
	steps, all, asJSON := f.Bool("working", false, ""), f.Bool("all", false, ""), f.Bool("json", false, "")
	words, code, ended := parse(f, args, judgeHelp, stdout, stderr)
	if ended {
		return code
	}
	if (len(words) == 1) == (*data != "") || len(words) > 1 {
		return usageError(stderr, "judge", "name one site FOLDER, or --data DIR")
	}
	if *site != "" && *data == "" {
		return usageError(stderr, "judge", "--site goes with --data; a folder holds one site")
	}
	o := judgeOptions{clause: *clause, permit: *notice, condition: *condition, working: *steps, windows: *all || *steps}
	var err error
	if o.at, err = optionalInstant(*at); err != nil {
		return usageError(stderr, "judge", "--at: "+err.Error())
	}
	if o.knownAt, err = optionalInstant(*known); err != nil {
		return usageError(stderr, "judge", "--known-at: "+err.Error())
	}
	working := startProgress("judge", stderr)
	defer working.stop()
	working.step("judging " + *data + strings.Join(words, ""))
	var report *judge.Report
	if *data != "" {
		report, err = judgeData(*data, *site, o)
	} else {
		report, err = judgeFolder(words[0], o)
	}
	working.stop()
	if err == nil && len(report.Judgements) == 0 && *clause+*notice+*condition != "" {
		err = fmt.Errorf("no condition is %s; write reference, clause number and id as the notice has them", o.named())
	}
	if err != nil {
		return failed(stderr, "judge", err)
	}
	if *asJSON {
		if err := printJSON(stdout, report); err != nil {
			return failed(stderr, "judge", err)
		}
	} else {
		printReport(stdout, report, o)
	}
	return verdictCode(report)
}

// judgeOptions are what the command line narrows a judging by.
type judgeOptions struct {
	at, knownAt      *time.Time
	clause, permit   string
	condition        string
	working, windows bool
}

func optionalInstant(value string) (*time.Time, error) {
	if value == "" {
		return nil, nil
	}
	t, err := instant(value, time.Now)
	return &t, err
}

// binding tells a permit's own limits and duties from action levels, which are
// internal, and from what is only shown.
func binding(j *judge.Judgement) bool {
	return j.Severity != "action level" && j.Severity != "information"
}

// verdictCode is the exit code of a report: only what binds counts.
func verdictCode(r *judge.Report) int {
	code := exitDone
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if !binding(j) {
			continue
		}
		switch j.Verdict {
		case judge.NotComplied:
			return exitNotComplied
		case judge.CannotBeJudged:
			code = exitCannotBeJudged
		}
	}
	return code
}

// named says what the judging was narrowed to.
func (o judgeOptions) named() string {
	var out []string
	for _, one := range []struct{ words, value string }{{"of notice", o.permit}, {"under clause", o.clause}, {"called", o.condition}} {
		if one.value != "" {
			out = append(out, fmt.Sprintf("%s %q", one.words, one.value))
		}
	}
	return strings.Join(out, " ")
}

func (o judgeOptions) asked() server.Asked {
	return server.Asked{At: o.at, KnownAt: o.knownAt, Clause: o.clause, Permit: o.permit, Condition: o.condition, Windows: o.windows, Working: o.working}
}

func judgeFolder(path string, o judgeOptions) (*judge.Report, error) {
	if err := isFolder(path); err != nil {
		return nil, err
	}
	return server.JudgeFolder(os.DirFS(path), o.asked(), time.Now)
}

func judgeData(dir, site string, o judgeOptions) (report *judge.Report, err error) {
	h, err := server.Open(dir, server.Options{Site: site, ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	return h.Judge(context.Background(), o.asked())
}
