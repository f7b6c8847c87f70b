package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/judge"
)

const expectedFile = "expected.yaml"

// ErrNoExpected says that a folder holds no expected.yaml.
var ErrNoExpected = errors.New("the folder holds no expected.yaml")

// Differences compares a report with the folder's expected.yaml and says in
// words what is not as expected; nil when all is. The report must be judged
// with its windows.
func Differences(fsys fs.FS, r *judge.Report) ([]string, error) {
	data, err := fs.ReadFile(fsys, expectedFile)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNoExpected
	}
	if err != nil {
		return nil, err
	}
	var f findings
	n := readYAML(expectedFile, data, &f)
	if n == nil {
		return nil, f.err()
	}
	n.only(expectedFile, &f, nil, "judgements")
	var out []string
	for _, want := range n.get("judgements").items() {
		want.only(expectedFile, &f, []string{"permit", "condition", "place", "verdict", "value", "limit"}, "counts", "windows")
		out = append(out, expectedOne(want, r)...)
	}
	return out, f.err()
}

// items returns the members of a list; none for nil.
func (n *node) items() []*node {
	if n == nil {
		return nil
	}
	return n.list
}

// expectedOne compares one expected judgement.
func expectedOne(want *node, r *judge.Report) []string {
	name := strings.TrimSpace(want.word("permit") + " " + want.word("condition") + " " + want.word("place"))
	for i := range r.Judgements {
		j := &r.Judgements[i]
		if j.Permit != want.word("permit") || j.Condition != want.word("condition") || j.Place != want.word("place") {
			continue
		}
		out := differs(name, want, j)
		for _, w := range want.get("windows").items() {
			out = append(out, expectedWindow(name, w, j)...)
		}
		return out
	}
	return []string{name + ": there is no such judgement"}
}

func expectedWindow(name string, want *node, j *judge.Judgement) []string {
	name += " from " + want.word("from")
	m, err := parseMoment(want.word("from"), time.UTC)
	if err != nil {
		return []string{name + ": " + err.Error()}
	}
	for i := range j.Windows {
		if w := &j.Windows[i]; w.Window.From.Equal(m.at) {
			return differs(name, want, w)
		}
	}
	return []string{name + ": there is no such window"}
}

// differs compares verdict, value, limit and counts as far as they are given.
func differs(name string, want *node, j *judge.Judgement) []string {
	var out []string
	if v := want.word("verdict"); v != "" && v != j.Verdict.String() {
		out = append(out, fmt.Sprintf("%s: %s where %s was expected: %s", name, j.Verdict, v, j.Sentence))
	}
	for _, one := range []struct {
		key string
		got *float64
	}{{"value", j.Value}, {"limit", j.Limit}} {
		v := want.word(one.key)
		if v == "" {
			continue
		}
		if got := toDecimalsOf(one.got, v); got != v {
			out = append(out, fmt.Sprintf("%s: %s %s where %s was expected", name, one.key, got, v))
		}
	}
	counts := map[string]int{"due": j.Counts.Due, "judged": j.Counts.Judged, "complied": j.Counts.Complied, "not_complied": j.Counts.NotComplied,
		"cannot_be_judged": j.Counts.CannotBeJudged, "not_yet_due": j.Counts.NotYetDue, "not_applicable": j.Counts.NotApplicable}
	if c := want.get("counts"); c != nil {
		for _, k := range c.keys {
			got, known := counts[k.name]
			if !known || strconv.Itoa(got) != k.value.text {
				out = append(out, fmt.Sprintf("%s: %d %s where %s was expected", name, got, k.name, k.value.text))
			}
		}
	}
	return out
}

// toDecimalsOf writes a value with as many decimals as the expected text has.
func toDecimalsOf(v *float64, text string) string {
	if v == nil {
		return "none"
	}
	places := 0
	if i := strings.IndexByte(text, '.'); i >= 0 {
		places = len(text) - i - 1
	}
	s := strconv.FormatFloat(*v, 'f', places, 64)
	if f, err := strconv.ParseFloat(s, 64); err == nil && f == 0 {
		return strings.TrimPrefix(s, "-")
	}
	return s
}
