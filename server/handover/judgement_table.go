package handover

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/catalogue"
	"github.com/swardbook/swardbook/compliance/judge"
)

// judgementColumns head judgements.csv: one row "to date" per condition and
// place, one row per window after it.
var judgementColumns = []string{
	"permit", "version", "clause", "condition", "title", "severity", "place", "span", "from", "to", "verdict",
	"value", "limit", "margin", "unit", "coverage", "limit_text",
	"due", "judged", "complied", "not_complied", "cannot_be_judged", "not_yet_due", "not_applicable",
	"excluded", "entries", "sentence", "cause", "remedy", "rule", "digest", "caution",
}

// judgementTable writes judgements.csv.
type judgementTable struct {
	*table
	cautions map[[2]string]string // permit, condition → its caution
}

func (j *judged) table(t *table) *judgementTable {
	out := &judgementTable{table: t, cautions: map[[2]string]string{}}
	for i := range j.versions {
		v := &j.versions[i]
		key := "verdict"
		if q := j.list.Named(v.Condition.Subject); q != nil && q.Caution != "" {
			key = q.Caution
		}
		out.cautions[[2]string{v.Permit, v.Condition.ID}] = catalogue.Caution(key)
	}
	t.row(judgementColumns...)
	return out
}

func (t *judgementTable) add(j *judge.Judgement) error {
	id, _, _ := strings.Cut(j.Condition, "/duty")
	caution := t.cautions[[2]string{j.Permit, id}]
	if caution == "" {
		caution = catalogue.Caution("verdict")
	}
	t.row(append(judgementCells(j, "to date"), caution)...)
	for i := range j.Windows {
		t.row(append(judgementCells(&j.Windows[i], "window"), "")...)
	}
	return t.err
}

func judgementCells(j *judge.Judgement, span string) []string {
	value := number(j.Value)
	if value == "" {
		value = j.Shown
	}
	used := make([]string, len(j.Evidence))
	for i, e := range j.Evidence {
		used[i] = strconv.FormatInt(e.Seq, 10)
	}
	var left []string
	for _, x := range j.Excluded {
		s := fmt.Sprintf("%s %d", x.Reason, x.Count)
		if x.Channel != "" {
			s = x.Channel + " " + s
		}
		if x.Seconds != 0 {
			s += " (" + number(&x.Seconds) + " s)"
		}
		left = append(left, s)
	}
	row := []string{
		j.Permit, j.Version, j.Clause, j.Condition, j.Title, j.Severity, j.Place, span,
		book.FormatInstant(j.Window.From), book.FormatInstant(j.Window.To), j.Verdict.String(),
		value, number(j.Limit), number(j.Margin), j.Unit, number(j.Coverage), j.LimitText,
	}
	c := &j.Counts
	for _, n := range []int{c.Due, c.Judged, c.Complied, c.NotComplied, c.CannotBeJudged, c.NotYetDue, c.NotApplicable} {
		row = append(row, strconv.Itoa(n))
	}
	row = append(row, strings.Join(left, "; "), strings.Join(used, " "), j.Sentence, j.Cause, j.Remedy, j.Rule, j.Digest)
	for i := range row {
		row[i] = safe(row[i])
	}
	return row
}

func number(v *float64) string {
	if v == nil || math.IsInf(*v, 0) || math.IsNaN(*v) {
		return ""
	}
	return plain(*v)
}

// plain writes a number with as many digits as it takes to read it back; there
// is one nought.
func plain(v float64) string {
	if v == 0 {
		return "0"
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
