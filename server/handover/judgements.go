package handover

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/judge"
	"github.com/swardbook/swardbook/compliance/permit"
)

// reportText writes a report as JSON: members in the order of the type, so the
// same report gives the same bytes.
func reportText(r *judge.Report) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(r); err != nil {
		return nil, fmt.Errorf("writing the judgements: %w", err)
	}
	return b.Bytes(), nil
}

var judgementColumns = []string{
	"permit", "clause", "condition", "title", "severity", "place", "span", "from", "to", "verdict", "value", "limit", "margin", "unit", "coverage",
	"due", "judged", "complied", "not_complied", "cannot_be_judged", "not_yet_due", "not_applicable", "entries", "sentence", "rule", "digest",
}

// judgementTable writes one row per roll-up and one per window.
func judgementTable(r *judge.Report) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	if err := w.Write(judgementColumns); err != nil {
		return nil, err
	}
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if err := w.Write(judgementRow(j, "to date")); err != nil {
			return nil, err
		}
		for k := range j.Windows {
			if err := w.Write(judgementRow(&j.Windows[k], "window")); err != nil {
				return nil, err
			}
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func judgementRow(j *judge.Judgement, span string) []string {
	value := number(j.Value)
	if value == "" {
		value = j.Shown
	}
	var used []string
	for _, e := range j.Evidence {
		used = append(used, strconv.FormatInt(e.Seq, 10))
	}
	row := []string{
		j.Permit, j.Clause, j.Condition, j.Title, j.Severity, j.Place, span, book.FormatInstant(j.Window.From), book.FormatInstant(j.Window.To),
		j.Verdict.String(), value, j.LimitText, number(j.Margin), j.Unit, number(j.Coverage),
	}
	c := j.Counts
	for _, n := range []int{c.Due, c.Judged, c.Complied, c.NotComplied, c.CannotBeJudged, c.NotYetDue, c.NotApplicable} {
		row = append(row, strconv.Itoa(n))
	}
	row = append(row, strings.Join(used, " "), j.Sentence, j.Rule, j.Digest)
	for i := range row {
		row[i] = safe(row[i])
	}
	return row
}

func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// notices returns every notice in force in the book, permits before variations.
func notices(view *book.View) ([]*permit.Notice, error) {
	var out []*permit.Notice
	for _, kind := range []string{"permit.1", "variation.1"} {
		for _, e := range view.Current(kind) {
			if e.Body == nil {
				continue
			}
			n, err := permit.FromObject(e.Body)
			if err != nil {
				return nil, fmt.Errorf("entry %d: %w", e.Seq, err)
			}
			out = append(out, n)
		}
	}
	return out, nil
}

// conditionsText writes every notice with each condition resolved: no default
// is implied.
func conditionsText(all []*permit.Notice) []byte {
	l := []any{}
	for _, n := range all {
		l = append(l, permit.ToObject(n))
	}
	return append(book.Object{"notices": l}.Bytes(), '\n')
}
