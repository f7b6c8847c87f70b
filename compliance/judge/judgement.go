// Package judge takes conditions and the record and returns judgements: for
// each condition, place and window one of five verdicts, with the value, the
// limit, the margin, the coverage, the working and the entries it rests on.
// It reads no clock: the time of judging is given.
package judge

import (
	"encoding/json"
	"fmt"
	"time"
)

// Rules is the number of the rules of judging. It is raised whenever any
// golden value or verdict changes; every judgement carries it.
//
// Rules 2 judge what rules 1 left to be judged by hand, heed consents, and no
// longer pass over results that are wanting; rules 3 estimate means over less-than
// results where a notice names the method; rules 4 heed deployments, field checks
// and certificates of instruments, and take the façade off. RULES.md says where
// they part.
const Rules = 4

// Holds tells whether this program can still judge by a rules number.
func Holds(rules int64) bool { return rules >= 1 && rules <= Rules }

// Verdict is one of five. The zero value is CannotBeJudged.
type Verdict uint8

// The verdicts.
const (
	CannotBeJudged Verdict = iota
	NotYetDue
	NotApplicable
	Complied
	NotComplied
)

var verdictWords = [...]string{"cannot be judged", "not yet due", "not applicable", "complied", "not complied"}

// String returns the verdict's words.
func (v Verdict) String() string { return verdictWords[v] }

// MarshalJSON writes the verdict's words.
func (v Verdict) MarshalJSON() ([]byte, error) { return json.Marshal(v.String()) }

// UnmarshalJSON reads the verdict's words.
func (v *Verdict) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	for i, w := range verdictWords {
		if w == s {
			*v = Verdict(i)
			return nil
		}
	}
	return fmt.Errorf("%q is no verdict", s)
}

// Window is the half-open span judged, in UTC.
type Window struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// Counts of windows.
type Counts struct {
	Due            int `json:"due"`
	Judged         int `json:"judged"`
	Complied       int `json:"complied"`
	NotComplied    int `json:"not_complied"`
	CannotBeJudged int `json:"cannot_be_judged"`
	NotYetDue      int `json:"not_yet_due"`
	NotApplicable  int `json:"not_applicable"`
}

// Excluded is data left out of a window, with the reason.
type Excluded struct {
	Channel string  `json:"channel"`
	Reason  string  `json:"reason"`
	Count   int     `json:"count"`
	Seconds float64 `json:"seconds"`
}

// Evidence is one entry a judgement rests on.
type Evidence struct {
	Seq  int64  `json:"seq"`
	ID   string `json:"id"`
	Kind string `json:"kind"`
	Ref  string `json:"ref,omitempty"`
}

// Step is one line of working: words, and the figures in them as text.
type Step struct {
	Words string `json:"words"`
	Value string `json:"value,omitempty"`
}

// Judgement is the verdict on one condition at one place in one window, or
// the roll-up of all its windows to date (Windows then holds them), or of one
// month. Value, Limit and Margin are unrounded (see unit.Round9) and in Unit;
// nil where there is none. Margin is positive on the safe side.
type Judgement struct {
	Permit    string     `json:"permit"`    // reference of the notice first granted
	Version   string     `json:"version"`   // reference of the notice or variation whose words judged
	Clause    string     `json:"clause"`    //
	Condition string     `json:"condition"` // condition id; "<id>/duty" for the duty to monitor
	Title     string     `json:"title"`
	Severity  string     `json:"severity"`
	Place     string     `json:"place"` // "" = whole site
	Window    Window     `json:"window"`
	Verdict   Verdict    `json:"verdict"`
	Value     *float64   `json:"value"`
	Shown     string     `json:"shown,omitempty"` // value as text where no number says it, e.g. "[11.0, 13.0]"
	Limit     *float64   `json:"limit"`
	LimitText string     `json:"limit_text"`
	Margin    *float64   `json:"margin"`
	Unit      string     `json:"unit"`
	Coverage  *float64   `json:"coverage"` // share 0 to 1; nil where it has no meaning
	Counts    Counts     `json:"counts"`
	Inner     *Counts    `json:"inner,omitempty"` // of the windows that an outer rule takes together
	Excluded  []Excluded `json:"excluded"`
	Evidence  []Evidence `json:"evidence"`
	Sentence  string     `json:"sentence"`        // verdict in a sentence, with its reason
	Cause     string     `json:"cause,omitempty"` // of cannot be judged: short, groups alike
	Remedy    string     `json:"remedy,omitempty"`
	Working   []Step     `json:"working,omitempty"`
	Rule      string     `json:"rule"`   // rounding, non-detects, coverage and day used
	Digest    string     `json:"digest"` // SHA-256 over what was read
	Recheck   *time.Time `json:"recheck_at,omitempty"`
	Reads     *Reads     `json:"-"` // what it asked of the record; of roll-ups, else nil

	Months  []Judgement `json:"months,omitempty"`
	Windows []Judgement `json:"windows,omitempty"`
}

// Clauses counts the clauses of all notices in force.
type Clauses struct {
	Total     int `json:"total"`
	Accounted int `json:"accounted"`
}

// Report is everything judged at one instant.
type Report struct {
	At         time.Time   `json:"at"`
	KnownAt    *time.Time  `json:"known_at"`
	Rules      int         `json:"rules"`
	Site       string      `json:"site"`
	Clauses    Clauses     `json:"clauses"`
	Judgements []Judgement `json:"judgements"` // one roll-up per condition × place, duties after their condition
}
