package handover

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
)

// statement is what cover sheet and page both say, made once.
type statement struct {
	Site, SiteID  string
	Location      string
	Grid, Datum   string
	Zone          string
	At            string // local time with zone
	Upto          int64
	From          string // first entry's day
	Rules         int
	Program       string
	Fingerprint   string
	Head          string // hash of the last entry
	Clauses       judge.Clauses
	Counts        [5]int // by verdict, roll-ups that count
	Notices       []noticeLines
	Gaps          []gapLines
	NotEntered    []string
	Cautions      []string
	Files, Chunks int
}

type noticeLines struct {
	Title  string
	Issued string
	Lines  []clauseLine
}

type clauseLine struct {
	Number, Text, Treated string
	Judgements            []verdictLine
}

type verdictLine struct {
	Verdict  judge.Verdict
	What     string
	Counts   string
	Figures  string
	Sentence string
	Evidence string
	Aside    bool // action level or information: no breach
}

type gapLines struct {
	Cause, Remedy string
	Where         []string
}

func (in *Input) statement(r *judge.Report, record *judge.Record, view *book.View, all []*permit.Notice) *statement {
	zone := record.Site().Zone
	s := &statement{
		SiteID: in.Site, Site: record.Site().Name, Zone: zone.String(), At: local(in.At, zone), Upto: in.last().Seq,
		From: in.Entries[0].At.In(zone).Format("2 January 2006"), Rules: r.Rules, Program: in.Program,
		Fingerprint: in.fingerprint(), Head: in.last().Hash.String(), Clauses: r.Clauses,
	}
	for _, e := range view.Current("site.1") {
		s.Location, s.Grid, s.Datum = e.Body.Text("location"), e.Body.Text("grid"), e.Body.Text("datum")
	}
	for i := range r.Judgements {
		if j := &r.Judgements[i]; !aside(j) {
			s.Counts[j.Verdict]++
		}
	}
	for _, n := range all {
		s.Notices = append(s.Notices, noticeOf(n, r))
		for _, c := range n.Clauses {
			if c.Treated == permit.NotEntered {
				s.NotEntered = append(s.NotEntered, n.Reference+" clause "+c.Number)
			}
		}
	}
	s.Gaps = gapsOf(r)
	s.Cautions = cautions(in, r)
	return s
}

// aside tells judgements that are no breach whatever they find.
func aside(j *judge.Judgement) bool {
	return j.Severity == "action level" || j.Severity == "information"
}

func local(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("2 January 2006 15:04:05 MST (-07:00)")
}

func noticeOf(n *permit.Notice, r *judge.Report) noticeLines {
	out := noticeLines{Title: strings.TrimSpace(n.Type + " " + n.Reference), Issued: n.IssuedBy + ", " + n.Granted.String()}
	if n.Varies != "" {
		out.Issued += ", varies " + n.Varies + " from " + n.Effective.String()
	}
	for _, c := range n.Clauses {
		line := clauseLine{Number: c.Number, Text: c.Text, Treated: string(c.Treated)}
		if c.Treated == permit.Attested {
			line.Treated = "attested by the " + c.Role
		}
		for i := range r.Judgements {
			if j := &r.Judgements[i]; j.Clause == c.Number && (j.Permit == n.Reference || j.Permit == n.Varies && n.Varies != "") {
				line.Judgements = append(line.Judgements, verdictOf(j))
			}
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

func verdictOf(j *judge.Judgement) verdictLine {
	v := verdictLine{Verdict: j.Verdict, What: j.Title, Sentence: j.Sentence, Aside: aside(j)}
	if j.Place != "" {
		v.What += ", " + j.Place
	}
	if v.Aside {
		v.What += " (" + j.Severity + ")"
	}
	if c := j.Counts; c.Due > 0 {
		v.Counts = fmt.Sprintf("%d due, %d judged, %d complied, %d not, %d cannot be judged", c.Due, c.Judged, c.Complied, c.NotComplied, c.CannotBeJudged)
	}
	var seqs []string
	for i, e := range j.Evidence {
		if i == 12 {
			seqs = append(seqs, fmt.Sprintf("and %d more", len(j.Evidence)-i))
			break
		}
		seqs = append(seqs, strconv.FormatInt(e.Seq, 10))
	}
	v.Evidence = strings.Join(seqs, ", ")
	if j.Value != nil {
		v.Figures = strings.TrimSpace(fmt.Sprintf("%.6g %s", *j.Value, j.Unit))
		if j.LimitText != "" {
			v.Figures += ", limit " + j.LimitText
		}
	}
	return v
}

func gapsOf(r *judge.Report) []gapLines {
	var out []gapLines
	at := map[string]int{}
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Verdict != judge.CannotBeJudged || aside(j) {
			continue
		}
		k, known := at[j.Cause]
		if !known {
			k = len(out)
			at[j.Cause] = k
			out = append(out, gapLines{Cause: j.Cause, Remedy: j.Remedy})
		}
		where := "clause " + j.Clause + ", " + j.Title
		if j.Place != "" {
			where += ", " + j.Place
		}
		out[k].Where = append(out[k].Where, where)
	}
	return out
}

// cautions are the lines of every figure family that was judged, and the one
// that stands by every verdict.
func cautions(in *Input, r *judge.Report) []string {
	keys := map[string]bool{"verdict": true, "levels": true}
	if all, err := conditionsOf(in); err == nil {
		for _, c := range all {
			if q := in.Quantities.Named(c.Subject); q != nil && q.Caution != "" {
				keys[q.Caution] = true
			}
		}
	}
	var sorted []string
	for k := range keys {
		sorted = append(sorted, k)
	}
	sort.Strings(sorted)
	var out []string
	for _, k := range sorted {
		if c := catalogue.Caution(k); c != "" {
			out = append(out, c)
		}
	}
	return out
}

func conditionsOf(in *Input) ([]*permit.Condition, error) {
	view, err := book.NewView(in.Entries)
	if err != nil {
		return nil, err
	}
	all, err := notices(view)
	var out []*permit.Condition
	for _, n := range all {
		out = append(out, n.Conditions...)
	}
	return out, err
}
