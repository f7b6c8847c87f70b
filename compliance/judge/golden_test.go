package judge_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.yaml.in/yaml/v3"

	"github.com/swardbook/swardbook/compliance/judge"
)

// A golden case is one text file: the record, the notice, the time of asking
// and what is expected, with reasons. See testdata/cases.
type goldenCase struct {
	Title    string         `yaml:"title"`
	Source   string         `yaml:"source"`
	Zone     string         `yaml:"zone"`
	At       string         `yaml:"at"`
	Holidays []holidayText  `yaml:"holidays"`
	Notices  []string       `yaml:"notices"`
	Readings []readingsText `yaml:"readings"`
	Entries  []entryText    `yaml:"entries"`
	Reject   []rejectText   `yaml:"rejections"`
	Expect   []expectation  `yaml:"expect"`
}

type holidayText struct {
	ID    string   `yaml:"id"`
	Years []int    `yaml:"years"`
	Days  []string `yaml:"days"` // "2026-04-06 Easter Monday"
}

// readingsText is one import of one channel. Values are decimals, "-" for a
// reading that is missing in the file, "<5" and ">120"; "55*60" is 60 times 55.
type readingsText struct {
	Channel  string `yaml:"channel"`
	Quantity string `yaml:"quantity"`
	Place    string `yaml:"place"`
	Unit     string `yaml:"unit"`
	From     string `yaml:"from"` // site time, or UTC with Z
	Step     string `yaml:"step"` // "15m"
	Values   string `yaml:"values"`
	Erased   bool   `yaml:"erased"`
	Withdrew bool   `yaml:"withdrawn"`

	Instrument string `yaml:"instrument"` // refs
	Deployment string `yaml:"deployment"`
}

type entryText struct {
	Kind      string            `yaml:"kind"` // default observed.1
	Quantity  string            `yaml:"quantity"`
	At        string            `yaml:"at"`    // "2026-03-20" is day precision, "2026-03-20 07:40" minute
	Until     string            `yaml:"until"` //
	Place     string            `yaml:"place"`
	Name      string            `yaml:"name"`
	Value     string            `yaml:"value"` // "<5", "-" for missing
	Low       string            `yaml:"low"`
	High      string            `yaml:"high"`
	Body      map[string]string `yaml:"body"`
	Erased    bool              `yaml:"erased"`
	Ref       string            `yaml:"ref"`
	Corrects  string            `yaml:"corrects"` // ref
	Withdraws string            `yaml:"withdraws"`
}

type rejectText struct {
	Channel string `yaml:"channel"`
	From    string `yaml:"from"`
	To      string `yaml:"to"`
	Reason  string `yaml:"reason"`
}

type expectation struct {
	Condition string         `yaml:"condition"`
	Place     string         `yaml:"place"`
	Verdict   string         `yaml:"verdict"`
	Value     *float64       `yaml:"value"` // to the decimals written in the file, see tolerance
	Tolerance float64        `yaml:"tolerance"`
	NoValue   bool           `yaml:"no_value"`
	Shown     string         `yaml:"shown"`
	Limit     *float64       `yaml:"limit"`
	LimitText string         `yaml:"limit_text"`
	Margin    *float64       `yaml:"margin"`
	Coverage  *float64       `yaml:"coverage"`
	Counts    map[string]int `yaml:"counts"`
	Inner     map[string]int `yaml:"inner"`
	Cause     string         `yaml:"cause"`
	Version   string         `yaml:"version"`
	Says      []string       `yaml:"says"`    // parts of the sentence
	Working   []string       `yaml:"working"` // "words = value" lines that must stand in the working
	Rule      string         `yaml:"rule"`
	Excluded  []string       `yaml:"excluded"`
	Recheck   string         `yaml:"recheck_at"`
	Windows   []expectation  `yaml:"windows"`
	From      string         `yaml:"from"` // of a window
}

func readCase(t *testing.T, file string) *goldenCase {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	dec := yaml.NewDecoder(f)
	dec.KnownFields(true)
	var c goldenCase
	if err := dec.Decode(&c); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return &c
}

func caseFiles(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("testdata/cases/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("no golden cases found: %v", err)
	}
	return files
}

func TestGoldenCases(t *testing.T) {
	for _, file := range caseFiles(t) {
		c := readCase(t, file)
		t.Run(strings.TrimSuffix(filepath.Base(file), ".yaml")+": "+c.Title, func(t *testing.T) {
			report := c.judge(t, c.build(t))
			for _, want := range c.Expect {
				got := find(report, want.Condition, want.Place)
				if got == nil {
					t.Errorf("no judgement of %q at %q", want.Condition, want.Place)
					continue
				}
				want.check(t, c, want.Condition+" "+want.Place, got)
				want.checkWindows(t, c, got)
			}
		})
	}
}

func (c *goldenCase) judge(t *testing.T, b *fixture) *judge.Report {
	t.Helper()
	rec, err := judge.NewRecord(b.entries, b)
	if err != nil {
		t.Fatal(err)
	}
	report, err := judge.All(rec, testQuantities(t), judge.Options{At: c.time(t, c.At), Windows: true, Working: true})
	if err != nil {
		t.Fatal(err)
	}
	return report
}

func find(r *judge.Report, id, place string) *judge.Judgement {
	for i := range r.Judgements {
		if j := &r.Judgements[i]; j.Condition == id && j.Place == place {
			return j
		}
	}
	return nil
}

func (c *goldenCase) location(t *testing.T) *time.Location {
	t.Helper()
	loc, err := loadZone(c.zone())
	if err != nil {
		t.Fatal(err)
	}
	return loc
}

func (c *goldenCase) zone() string {
	if c.Zone == "" {
		return "Europe/London"
	}
	return c.Zone
}

// time reads "2026-03-02 10:00", "2026-03-02" or an instant with Z.
func (c *goldenCase) time(t *testing.T, s string) time.Time {
	t.Helper()
	for _, layout := range []string{"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02"} {
		if at, err := time.ParseInLocation(layout, s, c.location(t)); err == nil {
			return at.UTC()
		}
	}
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		t.Fatalf("time %q: %v", s, err)
	}
	return at.UTC()
}

func (e *expectation) check(t *testing.T, c *goldenCase, what string, got *judge.Judgement) {
	t.Helper()
	if got.Verdict.String() != e.Verdict {
		t.Errorf("%s: verdict %q, want %q: %s", what, got.Verdict, e.Verdict, got.Sentence)
	}
	tol := e.Tolerance
	if tol == 0 {
		tol = 1e-9
	}
	number(t, what+": value", got.Value, e.Value, tol)
	number(t, what+": limit", got.Limit, e.Limit, 1e-9)
	number(t, what+": margin", got.Margin, e.Margin, tol)
	number(t, what+": coverage", got.Coverage, e.Coverage, 1e-9)
	if e.NoValue && got.Value != nil {
		t.Errorf("%s: value %v where none is known", what, *got.Value)
	}
	texts := [][3]string{{"shown", got.Shown, e.Shown}, {"limit text", got.LimitText, e.LimitText}, {"cause", got.Cause, e.Cause}, {"version", got.Version, e.Version}}
	for _, x := range texts {
		if x[2] != "" && x[1] != x[2] {
			t.Errorf("%s: %s %q, want %q", what, x[0], x[1], x[2])
		}
	}
	counts(t, what+": counts", &got.Counts, e.Counts)
	if e.Inner != nil {
		if got.Inner == nil {
			t.Errorf("%s: no inner counts", what)
		} else {
			counts(t, what+": inner counts", got.Inner, e.Inner)
		}
	}
	e.checkWords(t, c, what, got)
}

func (e *expectation) checkWords(t *testing.T, c *goldenCase, what string, got *judge.Judgement) {
	t.Helper()
	for _, part := range e.Says {
		if !strings.Contains(got.Sentence, part) {
			t.Errorf("%s: the sentence does not say %q: %s", what, part, got.Sentence)
		}
	}
	if !strings.Contains(got.Rule, e.Rule) {
		t.Errorf("%s: rule %q, want %q in it", what, got.Rule, e.Rule)
	}
	var lines []string
	for _, s := range got.Working {
		lines = append(lines, s.Words+" = "+s.Value)
	}
	for _, want := range e.Working {
		if !strings.Contains(strings.Join(lines, "\n"), want) {
			t.Errorf("%s: the working does not hold %q:\n%s", what, want, strings.Join(lines, "\n"))
		}
	}
	for _, want := range e.Excluded {
		all := fmt.Sprint(got.Excluded)
		if !strings.Contains(all, want) {
			t.Errorf("%s: left out %s, want %q in it", what, all, want)
		}
	}
	if e.Recheck != "" && (got.Recheck == nil || !got.Recheck.Equal(c.time(t, e.Recheck))) {
		t.Errorf("%s: recheck at %v, want %s", what, got.Recheck, e.Recheck)
	}
}

func (e *expectation) checkWindows(t *testing.T, c *goldenCase, got *judge.Judgement) {
	t.Helper()
	for _, w := range e.Windows {
		from := c.time(t, w.From)
		var found *judge.Judgement
		for i := range got.Windows {
			if got.Windows[i].Window.From.Equal(from) {
				found = &got.Windows[i]
			}
		}
		if found == nil {
			t.Errorf("%s: no window begins at %s", e.Condition, w.From)
			continue
		}
		w.check(t, c, e.Condition+" "+e.Place+" from "+w.From, found)
	}
}

func number(t *testing.T, what string, got, want *float64, tol float64) {
	t.Helper()
	switch {
	case want == nil:
	case got == nil:
		t.Errorf("%s: none, want %v", what, *want)
	case math.Abs(*got-*want) > tol:
		t.Errorf("%s: %v, want %v within %v", what, *got, *want, tol)
	}
}

func counts(t *testing.T, what string, got *judge.Counts, want map[string]int) {
	t.Helper()
	have := map[string]int{
		"due": got.Due, "judged": got.Judged, "complied": got.Complied, "not_complied": got.NotComplied,
		"cannot_be_judged": got.CannotBeJudged, "not_yet_due": got.NotYetDue, "not_applicable": got.NotApplicable,
	}
	for k, n := range want {
		if v, known := have[k]; !known || v != n {
			t.Errorf("%s: %s is %d, want %d (%+v)", what, k, v, n, *got)
		}
	}
}
