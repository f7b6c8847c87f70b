package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
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
  --clause C         only the conditions of this clause
  --working          the arithmetic of every window, step by step
  --all              every window, not only the roll-up
  --json             the judgements as JSON

Times have their offset: 2026-04-30T00:00:00Z or 2026-04-30T01:00:00+01:00.

Example: swardbook judge testdata/sites/real-inputs --clause N1 --working

Exit codes: 0 all complied, not applicable or not yet due; 1 failed; 2 wrong
call; 3 something not complied; 4 something cannot be judged (and nothing is
known to be not complied).
`

func runJudge(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("judge")
	data, site := f.String("data", "", ""), f.String("site", "", "")
	at, known := f.String("at", "", ""), f.String("known-at", "", "")
	clause := f.String("clause", "", "")
	working, all, asJSON := f.Bool("working", false, ""), f.Bool("all", false, ""), f.Bool("json", false, "")
	words, code, ended := parse(f, args, judgeHelp, stdout, stderr)
	if ended {
		return code
	}
	if (len(words) == 1) == (*data != "") || len(words) > 1 {
		return usageError(stderr, "judge", "name one site FOLDER, or --data DIR")
	}
	o := judgeOptions{clause: *clause, working: *working, windows: *all || *working}
	var err error
	if o.at, err = optionalInstant(*at); err != nil {
		return usageError(stderr, "judge", "--at: "+err.Error())
	}
	if o.knownAt, err = optionalInstant(*known); err != nil {
		return usageError(stderr, "judge", "--known-at: "+err.Error())
	}
	var report *judge.Report
	if *data != "" {
		report, err = judgeData(*data, *site, o)
	} else {
		report, err = judgeFolder(words[0], o)
	}
	if err != nil {
		return failed(stderr, "judge", err)
	}
	if *asJSON {
		e := json.NewEncoder(stdout)
		e.SetEscapeHTML(false)
		e.SetIndent("", " ")
		if err := e.Encode(report); err != nil {
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
	clause           string
	working, windows bool
}

func optionalInstant(value string) (*time.Time, error) {
	if value == "" {
		return nil, nil
	}
	t, err := instant(value, time.Now)
	return &t, err
}

// verdictCode is the exit code of a report: action levels and information are
// no breach and do not count.
func verdictCode(r *judge.Report) int {
	code := exitDone
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Severity == "action level" || j.Severity == "information" {
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

// caution is printed under every list of verdicts.
const caution = "Computed from what is on file. The permit's words, the authority and local codes decide."

func printReport(w io.Writer, r *judge.Report, o judgeOptions) {
	p := func(format string, args ...any) { _, _ = fmt.Fprintf(w, format, args...) }
	p("%s, judged to %s, rules %d\n", r.Site, r.At.Format(time.RFC3339), r.Rules)
	if r.KnownAt != nil {
		p("by what was received up to %s\n", r.KnownAt.Format(time.RFC3339))
	}
	p("clauses %d, accounted for %d\n", r.Clauses.Total, r.Clauses.Accounted)
	permit := ""
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Permit != permit {
			permit = j.Permit
			p("\n%s\n", permit)
		}
		printJudgement(p, j)
		if o.windows {
			for k := range j.Windows {
				printWindow(p, &j.Windows[k], o.working)
			}
		}
		if o.working && len(j.Windows) == 0 {
			printWorking(p, j)
		}
	}
	printTotals(p, r)
	p("%s\n", caution)
}

func printJudgement(p func(string, ...any), j *judge.Judgement) {
	where := ""
	if j.Place != "" {
		where = " at " + j.Place
	}
	p("\n  %s  %s%s  [%s]\n", j.Clause, j.Title, where, j.Condition)
	p("      %s: %s\n", j.Verdict, j.Sentence)
	if c := j.Counts; c.Due > 0 {
		p("      %d due, %d judged, %d complied, %d not complied, %d cannot be judged\n", c.Due, c.Judged, c.Complied, c.NotComplied, c.CannotBeJudged)
	}
	if j.Remedy != "" {
		p("      to do: %s\n", j.Remedy)
	}
}

func printWindow(p func(string, ...any), w *judge.Judgement, working bool) {
	p("      %s to %s  %s", w.Window.From.Format(time.RFC3339), w.Window.To.Format(time.RFC3339), w.Verdict)
	if w.Value != nil {
		p("  %.10g %s", *w.Value, w.Unit)
	}
	if w.Margin != nil {
		p("  margin %+.10g", *w.Margin)
	}
	p("\n")
	if working {
		printWorking(p, w)
	}
}

func printWorking(p func(string, ...any), j *judge.Judgement) {
	for _, s := range j.Working {
		p("          %s", s.Words)
		if s.Value != "" {
			p("  %s", s.Value)
		}
		p("\n")
	}
}

func printTotals(p func(string, ...any), r *judge.Report) {
	var n [5]int
	for i := range r.Judgements {
		if s := r.Judgements[i].Severity; s != "action level" && s != "information" {
			n[r.Judgements[i].Verdict]++
		}
	}
	p("\n%d not complied, %d cannot be judged, %d complied, %d not yet due, %d not applicable\n",
		n[judge.NotComplied], n[judge.CannotBeJudged], n[judge.Complied], n[judge.NotYetDue], n[judge.NotApplicable])
}

func (o judgeOptions) asked() server.Asked {
	return server.Asked{At: o.at, KnownAt: o.knownAt, Clause: o.clause, Windows: o.windows, Working: o.working}
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
