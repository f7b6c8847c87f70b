package main

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/swardbook/swardbook/compliance/judge"
)

// caution is printed under every list of verdicts.
const caution = "Computed from what is on file. The permit's words, the authority and local codes decide."

// countsEnd ends the counts in a sentence; what follows is the window that
// decides and stands on a line of its own.
const countsEnd = "cannot be judged. "

// lineWidth is where long sentences are broken, in characters.
const lineWidth = 110

// reportPrinter writes a report for people: a line per judgement with its
// verdict in front, so that the eye can run down it, and the sentence under it.
type reportPrinter struct {
	w       io.Writer
	verdict int // width of the verdicts' column
	clause  int // width of the clauses' column
}

func printReport(w io.Writer, r *judge.Report, o judgeOptions) {
	p := &reportPrinter{w: w, verdict: utf8.RuneCountInString(judge.CannotBeJudged.String())}
	for i := range r.Judgements {
		p.clause = max(p.clause, utf8.RuneCountInString(r.Judgements[i].Clause))
	}
	p.line("%s, judged to %s, rules %d", r.Site, r.At.Format(time.RFC3339), r.Rules)
	if r.KnownAt != nil {
		p.line("by what had been received by %s", r.KnownAt.Format(time.RFC3339))
	}
	p.line("clauses %d, accounted for %d", r.Clauses.Total, r.Clauses.Accounted)
	permit := ""
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Permit != permit {
			permit = j.Permit
			p.line("\n%s", permit)
		}
		p.judgement(j)
		for k := range j.Windows {
			if o.windows {
				p.window(&j.Windows[k], o.working)
			}
		}
		if o.working && len(j.Windows) == 0 {
			p.working(j)
		}
	}
	printTotals(w, r)
	p.line("\n%s", caution)
}

func (p *reportPrinter) line(format string, args ...any) {
	_, _ = fmt.Fprintf(p.w, format+"\n", args...)
}

// text writes a sentence broken at lineWidth.
func (p *reportPrinter) text(indent int, text string) {
	for _, l := range wrapped(text, lineWidth-indent) {
		p.line("%s%s", strings.Repeat(" ", indent), l)
	}
}

func (p *reportPrinter) judgement(j *judge.Judgement) {
	where := ""
	if j.Place != "" {
		where = " at " + j.Place
	}
	p.line("\n  %s  %s  %s%s  [%s]", padded(verdictWords(j), p.verdict), padded(j.Clause, p.clause), j.Title, where, j.Condition)
	for _, part := range strings.SplitAfterN(j.Sentence, countsEnd, 2) {
		p.text(6, strings.TrimRight(part, " "))
	}
	if j.Remedy != "" {
		p.text(6, "to do: "+j.Remedy)
	}
}

// verdictWords is the verdict, save for what is not judged but shown.
func verdictWords(j *judge.Judgement) string {
	if j.Severity == "information" && j.Verdict == judge.NotApplicable {
		return "for information"
	}
	return j.Verdict.String()
}

func (p *reportPrinter) window(w *judge.Judgement, working bool) {
	p.text(8, w.Sentence)
	if working {
		p.working(w)
	}
}

func (p *reportPrinter) working(j *judge.Judgement) {
	for _, s := range j.Working {
		words := s.Words
		if s.Value != "" {
			words += "  " + s.Value
		}
		p.text(12, words)
	}
}

// printTotals counts the verdicts and names those that ask for something.
// Action levels and information are no permit's limits and not counted.
func printTotals(w io.Writer, r *judge.Report) {
	p := &reportPrinter{w: w}
	var n [5]int
	named := map[judge.Verdict][]string{}
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if !binding(j) {
			continue
		}
		n[j.Verdict]++
		name := j.Permit + " " + j.Condition
		if j.Place != "" {
			name += " at " + j.Place
		}
		named[j.Verdict] = append(named[j.Verdict], name)
	}
	p.line("\n%d not complied, %d cannot be judged, %d complied, %d not yet due, %d not applicable",
		n[judge.NotComplied], n[judge.CannotBeJudged], n[judge.Complied], n[judge.NotYetDue], n[judge.NotApplicable])
	for _, v := range []judge.Verdict{judge.NotComplied, judge.CannotBeJudged} {
		if len(named[v]) > 0 {
			p.text(2, v.String()+": "+strings.Join(named[v], "; "))
		}
	}
}

// padded fills a word with spaces to a width in characters.
func padded(s string, width int) string {
	return s + strings.Repeat(" ", max(width-utf8.RuneCountInString(s), 0))
}

// wrapped breaks text at spaces into lines of at most width characters; a word
// that is longer stands alone. Further lines are indented by two.
func wrapped(text string, width int) []string {
	var lines []string
	line, used := "", 0
	for _, word := range strings.Split(text, " ") {
		n := utf8.RuneCountInString(word)
		if used > 0 && used+1+n > width {
			lines = append(lines, strings.TrimRight(line, " "))
			line, used = "  "+word, 2+n
			continue
		}
		if used > 0 || line != "" {
			line, used = line+" ", used+1
		}
		line, used = line+word, used+n
	}
	return append(lines, line)
}
