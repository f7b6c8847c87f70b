package folder

import (
	"errors"
	"fmt"
	"sort"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/geo/plan"
	"github.com/swardbook/swardbook/geo/survey"
)

// Problem is one thing wrong with a folder: where, what, and what to do.
type Problem struct {
	File   string // path in the folder
	Line   int    // from 1; 0 for the file as a whole
	Field  string // column or key; may be ""
	Reason string
	Remedy string
}

func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
	}
	if p.Field != "" {
		fmt.Fprintf(&b, ", %s", p.Field)
	}
	fmt.Fprintf(&b, ": %s", p.Reason)
	if p.Remedy != "" {
		fmt.Fprintf(&b, "; %s", p.Remedy)
	}
	return b.String()
}

// Problems is everything found wrong with a folder. As an error it means that
// nothing of the folder was taken.
type Problems []Problem

func (ps Problems) Error() string {
	if len(ps) == 1 {
		return ps[0].String()
	}
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return fmt.Sprintf("%d problems in the folder\n  %s", len(ps), strings.Join(lines, "\n  "))
}

// keepProblems bounds the list, so that a file of the wrong kind altogether
// does not bury everything else.
const keepProblems = 2000

// findings collects problems and notes while reading goes on.
type findings struct {
	problems Problems
	more     int
	notes    []Problem
}

func (f *findings) add(p Problem) {
	if len(f.problems) >= keepProblems {
		f.more++
		return
	}
	f.problems = append(f.problems, p)
}

func (f *findings) say(file string, line int, field, reason, remedy string) {
	f.add(Problem{File: file, Line: line, Field: field, Reason: reason, Remedy: remedy})
}

func (f *findings) note(file string, line int, reason string) {
	f.notes = append(f.notes, Problem{File: file, Line: line, Reason: reason})
}

// fault files a fault that a subject or the book found with an entry.
func (f *findings) fault(file string, line int, fault book.Fault) {
	f.say(file, line, fault.Field, fault.Reason, fault.Remedy)
}

// cause files an error of a reader, taken apart into its single problems where
// it holds several.
func (f *findings) cause(file string, line int, field string, err error) {
	var surveyed *survey.FileError
	var planned *plan.Error
	var logged *series.BadFile
	var several interface{ Unwrap() []error }
	switch {
	case errors.As(err, &logged):
		for _, b := range logged.Lines {
			f.say(file, b.Line, b.Column, b.Why, "")
		}
		if more := logged.Count - len(logged.Lines); more > 0 {
			f.say(file, 0, "", fmt.Sprintf("and %d more bad lines", more), "")
		}
	case errors.As(err, &surveyed):
		for _, r := range surveyed.Rows {
			f.say(file, r.Row, r.Column, r.Text, r.Remedy)
		}
	case errors.As(err, &planned):
		for _, p := range planned.Problems {
			f.say(file, 0, p.Where, p.Text, p.Remedy)
		}
	case errors.As(err, &several):
		for _, one := range several.Unwrap() {
			f.cause(file, line, field, one)
		}
	default:
		f.say(file, line, field, strings.TrimPrefix(err.Error(), file+": "), "")
	}
}

// err returns nil when nothing is wrong, and otherwise all that is, in order
// of file and line.
func (f *findings) err() error {
	if len(f.problems) == 0 {
		return nil
	}
	sort.SliceStable(f.problems, func(i, j int) bool {
		a, b := f.problems[i], f.problems[j]
		if a.File != b.File {
			return a.File < b.File
		}
		return a.Line < b.Line
	})
	if f.more > 0 {
		f.problems = append(f.problems, Problem{File: ".", Reason: fmt.Sprintf("and %d more problems", f.more)})
	}
	return f.problems
}
