package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/server"
)

const mayHelp = `Usage: swardbook may FOLDER --act ACT --to TIME [options]
       swardbook may --data DIR [--site ID] --act ACT --to TIME [options]

Says what on file stands against an act: hours, what has to come first, holds,
what is left of what is counted, and how a mean level under way stands; and what
it did not look at. It gives no permission.

  --act ACT          ` + "%s" + `
  --place CODE       a place of the plan (default: the whole site)
  --from TIME        when it begins (default: now, or the folder's judge_at)
  --to TIME          when it ends
  --amount TEXT      how much of what is counted: 6, or "40 m³"
  --at TIME          as asked at this time (default: the folder's judge_at, else now)
  --data DIR         a data directory instead of a folder
  --site ID          which site, where the data directory holds several
  --json             the answer as JSON

Times have their offset: 2026-04-30T08:00:00+01:00.

Example: swardbook may testdata/sites/real-inputs --act haul --to 2026-04-30T10:00:00Z

Exit codes: 0 nothing on file stands against it for the whole time; 1 failed;
2 wrong call; 3 something stands against it, or does before it ends; 4 no answer.
`

func runMay(args []string, _ io.Reader, stdout, stderr io.Writer) int {
	f := flags("may")
	data, site := f.String("data", "", ""), f.String("site", "", "")
	at, from, to := f.String("at", "", ""), f.String("from", "", ""), f.String("to", "", "")
	q := judge.Question{}
	f.StringVar(&q.Act, "act", "", "")
	f.StringVar(&q.Place, "place", "", "")
	f.StringVar(&q.Amount, "amount", "", "")
	asJSON := f.Bool("json", false, "")
	help := fmt.Sprintf(mayHelp, listed(act.Names(), 60, strings.Repeat(" ", 21)))
	words, code, ended := parse(f, args, help, stdout, stderr)
	if ended {
		return code
	}
	switch {
	case (len(words) == 1) == (*data != "") || len(words) > 1:
		return usageError(stderr, "may", "name one site FOLDER, or --data DIR")
	case *site != "" && *data == "":
		return usageError(stderr, "may", "--site goes with --data; a folder holds one site")
	case q.Act == "" || *to == "":
		return usageError(stderr, "may", "name the act by --act and its end by --to")
	}
	asked, err := optionalInstant(*at)
	if err != nil {
		return usageError(stderr, "may", "--at: "+err.Error())
	}
	begin, err := optionalInstant(*from)
	if err != nil {
		return usageError(stderr, "may", "--from: "+err.Error())
	}
	if begin != nil {
		q.From = *begin
	}
	if q.To, err = instant(*to, time.Now); err != nil {
		return usageError(stderr, "may", "--to: "+err.Error())
	}
	answer, err := mayI(words, *data, *site, q, asked)
	if err != nil {
		return failed(stderr, "may", err)
	}
	if *asJSON {
		if err := printJSON(stdout, answer); err != nil {
			return failed(stderr, "may", err)
		}
	} else {
		printAnswer(stdout, answer)
	}
	switch answer.Stands() {
	case judge.NothingStands:
		return exitDone
	case judge.NoAnswer:
		return exitCannotBeJudged
	}
	return exitNotComplied
}

func mayI(words []string, data, site string, q judge.Question, at *time.Time) (answer *judge.Answer, err error) {
	if data == "" {
		if err := isFolder(words[0]); err != nil {
			return nil, err
		}
		return server.MayIInFolder(os.DirFS(words[0]), q, at, time.Now)
	}
	h, err := server.Open(data, server.Options{Site: site, ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	return h.MayI(context.Background(), q, at)
}

// printAnswer prints an answer for people, its times in the site's zone.
func printAnswer(w io.Writer, a *judge.Answer) {
	zone, err := time.LoadLocation(a.Zone)
	if err != nil {
		zone = time.UTC
	}
	at := func(t time.Time) string { return t.In(zone).Format("Mon 2 Jan 2006 15:04 MST") }
	var b strings.Builder
	where := a.Question.Place
	if where == "" {
		where = "the whole site"
	}
	fmt.Fprintf(&b, "%s, %s, %s to %s\n\n%s\n", a.Question.Act, where, at(a.Question.From), at(a.Question.To), a.Words)
	if len(a.Left) > 0 {
		b.WriteString("\nLeft:\n")
	}
	for i := range a.Left {
		r := &a.Left[i]
		span := at(r.From) + " to " + at(r.To)
		if r.Endless() {
			span = "since " + at(r.From)
		}
		fmt.Fprintf(&b, "  %s of %s used, %s left: %s, clause %s of %s, %s\n", plain(r.Used), sized(r.Limit, r.Unit), sized(max(r.Left, 0), r.Unit), r.Title, r.Clause, r.Permit, span)
		if r.Forecast != "" {
			fmt.Fprintf(&b, "    %s\n", r.Forecast)
		}
	}
	if len(a.Running) > 0 {
		b.WriteString("\nUnder way, time without readings counted as still to come:\n")
	}
	for i := range a.Running {
		r := &a.Running[i]
		rest := "over " + sized(r.Limit, r.Unit) + " whatever comes"
		if r.MayBe != nil {
			rest = fmt.Sprintf("the other %s may average %s, limit %s", r.Rest, sized(math.Floor(*r.MayBe*10)/10, r.Unit), sized(r.Limit, r.Unit))
		}
		fmt.Fprintf(&b, "  %s over %s so far, %s: %s, clause %s of %s, %s to %s\n", sized(math.Round(r.SoFar*10)/10, r.Unit), r.Measured, rest, r.Title, r.Clause, r.Permit, at(r.From), at(r.To))
	}
	b.WriteString("\nNot checked:\n")
	for i := range a.NotChecked {
		fmt.Fprintf(&b, "  %s\n", &a.NotChecked[i])
	}
	_, _ = io.WriteString(w, b.String())
}

func sized(v float64, symbol string) string { return strings.TrimSpace(plain(v) + " " + symbol) }

// listed lists words in lines of a width, all but the first indented.
func listed(words []string, width int, indent string) string {
	var b strings.Builder
	n := 0
	for i, w := range words {
		if i > 0 {
			b.WriteString(",")
			if n+len(w) > width {
				b.WriteString("\n" + indent)
				n = 0
			} else {
				b.WriteString(" ")
			}
		}
		b.WriteString(w)
		n += len(w) + 2
	}
	return b.String()
}

// plain writes a number with the digits it has.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
