package handover

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"time"

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
	Received      string // receipt of the last entry
	Opened        string // when the book was
	Rules         int
	Program       string
	Fingerprint   string
	Head          string // hash of the last entry
	Clauses       judge.Clauses
	Tallies       []tally // of roll-ups that count
	Notices       []noticeLines
	Breaches      []breachLines
	Gaps          []gapLines // what cannot be judged, by cause
	Holes         []string   // other known gaps, in sentences
	Cautions      []cautionLine
	Files, Runs   int
	instant       time.Time
	NamesWithheld bool
}

// tally is how many roll-ups have a verdict.
type tally struct {
	Verdict judge.Verdict
	N       int
}

type noticeLines struct {
	Title, Issued string
	Clauses       []clauseLines
}

type clauseLines struct {
	Number, Text, Treated string
	Judgements            []verdictLine
}

type verdictLine struct {
	Verdict  judge.Verdict
	What     string
	Sentence string
	Figures  string
	Evidence string
}

// breachLines are the windows of one condition and place not complied with.
type breachLines struct {
	What    string
	Windows []string
	More    int
}

type gapLines struct {
	Cause, Remedy string
	Where         []string
}

type cautionLine struct{ Figures, Text string }

// order is the order verdicts are told in: the gravest first.
var order = [...]judge.Verdict{judge.NotComplied, judge.CannotBeJudged, judge.Complied, judge.NotYetDue, judge.NotApplicable}

// mostBreaches is how many windows are told of one condition and place; the
// rest are in judgements.csv.
const mostBreaches = 12

// findings is what is told of single windows: what was not complied with, and
// what cannot be judged, by its cause, whatever the word for the whole is.
type findings struct {
	breaches []breachLines
	gaps     []gapLines
	at       map[[2]string]int // cause, remedy → gap
}

func newFindings() *findings { return &findings{at: map[[2]string]int{}} }

func (f *findings) take(j *judge.Judgement) {
	if aside(j) {
		return
	}
	b := breachLines{What: "Clause " + j.Clause + ", " + what(j)}
	var causes [][2]string
	missing := map[[2]string]int{}
	for i := range j.Windows {
		w := &j.Windows[i]
		switch {
		case w.Verdict == judge.CannotBeJudged:
			c := [2]string{w.Cause, w.Remedy}
			if missing[c]++; missing[c] == 1 {
				causes = append(causes, c)
			}
		case w.Verdict != judge.NotComplied:
		case len(b.Windows) < mostBreaches:
			b.Windows = append(b.Windows, w.Sentence)
		default:
			b.More++
		}
	}
	if j.Verdict == judge.NotComplied {
		f.breaches = append(f.breaches, b)
	}
	if j.Verdict == judge.CannotBeJudged && len(causes) == 0 {
		causes = append(causes, [2]string{j.Cause, j.Remedy})
	}
	for _, c := range causes {
		f.gap(c, j, missing[c])
	}
}

// gap notes that n windows of a judgement cannot be judged for a cause.
func (f *findings) gap(c [2]string, j *judge.Judgement, n int) {
	k, known := f.at[c]
	if !known {
		k = len(f.gaps)
		f.at[c] = k
		f.gaps = append(f.gaps, gapLines{Cause: sentenceCase(c[0]), Remedy: c[1]})
	}
	where := what(j)
	if j.Clause != "" {
		where = "clause " + j.Clause + ", " + where
	}
	if j.Counts.Due > 1 {
		where += fmt.Sprintf(" (%d of %d)", n, j.Counts.Due)
	}
	f.gaps[k].Where = append(f.gaps[k].Where, where)
}

func newStatement(p *packed, j *judged, f facts, found *findings) *statement {
	zone := j.record.Site().Zone
	r := j.report
	s := &statement{
		SiteID: p.site, Site: j.record.Site().Name, Zone: zone.String(), At: local(r.At, zone), instant: r.At, Upto: p.last().Seq,
		Received: local(p.last().Recorded, zone), Opened: local(p.created, zone), Rules: r.Rules, Program: f.program, Fingerprint: f.fingerprint,
		Head: p.last().Hash.String(), Clauses: r.Clauses, Files: f.files, Runs: f.runs, NamesWithheld: len(p.withheld) > 0,
	}
	if s.Site == "" {
		s.Site = p.site
	}
	for _, e := range j.record.Entries("site.1") {
		s.Location, s.Grid, s.Datum = e.Body.Text("location"), e.Body.Text("grid"), e.Body.Text("datum")
	}
	for _, v := range order {
		s.Tallies = append(s.Tallies, tally{Verdict: v})
	}
	for i := range r.Judgements {
		one := &r.Judgements[i]
		if aside(one) {
			continue
		}
		for k := range s.Tallies {
			if s.Tallies[k].Verdict == one.Verdict {
				s.Tallies[k].N++
			}
		}
	}
	s.Notices = noticesOf(j)
	s.Breaches, s.Gaps, s.Holes = found.breaches, found.gaps, holesOf(p, j)
	s.Cautions = cautionsOf(j)
	return s
}

// aside tells judgements that are no breach whatever they find.
func aside(j *judge.Judgement) bool {
	return j.Severity == string(permit.AsActionLevel) || j.Severity == string(permit.AsInformation)
}

func local(t time.Time, zone *time.Location) string {
	return t.In(zone).Format("2 January 2006 15:04 MST (-07:00)")
}

// what names a judgement by its title and place.
func what(j *judge.Judgement) string {
	s := j.Title
	if s == "" {
		s = j.Condition
	}
	if j.Place != "" {
		s += ", " + j.Place
	}
	if aside(j) {
		s += " (" + j.Severity + ")"
	}
	return s
}

// noticesOf lays the judgements out by notice and clause. One whose clause
// stands in no notice comes at the end of its notice, so that none is lost.
func noticesOf(j *judged) []noticeLines {
	out := make([]noticeLines, len(j.notices))
	at := map[string]int{} // reference → notice
	for i, n := range j.notices {
		out[i] = noticeLines{Title: strings.TrimSpace(sentenceCase(n.Type) + " " + n.Reference), Issued: issued(n)}
		for _, c := range n.Clauses {
			out[i].Clauses = append(out[i].Clauses, clauseLines{Number: c.Number, Text: c.Text, Treated: treated(&c)})
		}
		at[n.Reference] = i
	}
	var lost clauseLines
	for i := range j.report.Judgements {
		one := &j.report.Judgements[i]
		root, known := at[one.Permit]
		if !known {
			lost.Judgements = append(lost.Judgements, verdictOf(one))
			continue
		}
		c := out[root].clause(one.Clause)
		if version, there := at[one.Version]; c == nil && there {
			c = out[version].clause(one.Clause)
		}
		if c == nil {
			out[root].Clauses = append(out[root].Clauses, clauseLines{Number: one.Clause, Treated: "judged; the clause's own text is not on file"})
			c = &out[root].Clauses[len(out[root].Clauses)-1]
		}
		c.Judgements = append(c.Judgements, verdictOf(one))
	}
	if len(lost.Judgements) > 0 {
		out = append(out, noticeLines{Title: "Notices that cannot be read", Clauses: []clauseLines{lost}})
	}
	return out
}

func (n *noticeLines) clause(number string) *clauseLines {
	for i := range n.Clauses {
		if n.Clauses[i].Number == number {
			return &n.Clauses[i]
		}
	}
	return nil
}

func issued(n *permit.Notice) string {
	var parts []string
	if n.IssuedBy != "" {
		parts = append(parts, n.IssuedBy)
	}
	if !n.Granted.IsZero() {
		parts = append(parts, "granted "+n.Granted.String())
	}
	if n.Varies != "" {
		parts = append(parts, "varies "+n.Varies+" from "+n.Effective.String())
	}
	return strings.Join(parts, ", ")
}

func treated(c *permit.Clause) string {
	if c.Treated == permit.Attested && c.Role != "" {
		return "attested by the " + c.Role
	}
	return string(c.Treated)
}

// sentenceCase begins a text with a capital, but for words such as pH.
func sentenceCase(s string) string {
	if s == "" || len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func verdictOf(j *judge.Judgement) verdictLine {
	v := verdictLine{Verdict: j.Verdict, What: sentenceCase(what(j)), Sentence: sentenceCase(j.Sentence)}
	if j.LimitText != "" {
		v.Figures = "limit: " + j.LimitText
	}
	if j.Version != j.Permit && j.Version != "" {
		v.Figures = strings.TrimPrefix(v.Figures+"; in the words of "+j.Version, "; ")
	}
	const most = 12
	var seqs []string
	for i, e := range j.Evidence {
		if i == most {
			seqs = append(seqs, fmt.Sprintf("and %d more", len(j.Evidence)-i))
			break
		}
		seqs = append(seqs, strconv.FormatInt(e.Seq, 10))
	}
	v.Evidence = strings.Join(seqs, ", ")
	return v
}

// holesOf says what else is missing from the record.
func holesOf(p *packed, j *judged) []string {
	var notEntered, out []string
	unchecked, total := 0, 0
	for _, n := range j.notices {
		for _, c := range n.Clauses {
			total++
			if c.Treated == permit.NotEntered {
				notEntered = append(notEntered, n.Reference+" clause "+c.Number)
			}
			if c.CheckedBy == "" {
				unchecked++
			}
		}
	}
	if len(notEntered) > 0 {
		out = append(out, "Clauses not yet entered: "+strings.Join(notEntered, "; ")+".")
	}
	if unchecked > 0 {
		out = append(out, fmt.Sprintf("Clauses that no second person has checked against the notice: %d of %d.", unchecked, total))
	}
	var erased []string
	for _, e := range p.entries {
		if e.ErasedBy > 0 {
			erased = append(erased, fmt.Sprintf("%d (by entry %d)", e.Seq, e.ErasedBy))
		}
	}
	if len(erased) > 0 {
		out = append(out, "Entries whose content was erased: "+strings.Join(erased, ", ")+".")
	}
	if n := len(p.withheld); n > 0 {
		out = append(out, fmt.Sprintf("Persons' names are withheld from this pack: %d entries. Nothing judged rests on them.", n))
	}
	return out
}

// cautionsOf are the cautions of every figure that was judged; the one that
// stands by every verdict comes first.
func cautionsOf(j *judged) []cautionLine {
	keys := map[string]bool{}
	for i := range j.versions {
		if q := j.list.Named(j.versions[i].Condition.Subject); q != nil && q.Caution != "verdict" {
			keys[q.Caution] = true
		}
	}
	var sorted []string
	for k := range keys {
		sorted = append(sorted, k)
	}
	sort.Strings(sorted)
	var out []cautionLine
	for _, k := range append([]string{"verdict"}, sorted...) {
		if text := catalogue.Caution(k); text != "" {
			out = append(out, cautionLine{sentenceCase(catalogue.CautionFigures(k)), text})
		}
	}
	return out
}
