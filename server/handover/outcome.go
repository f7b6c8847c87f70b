package handover

import "fmt"

// What becomes of a judgement made again. The third word is that the program
// no longer holds the rules it was made by.
const (
	Same    = "same"
	Differs = "differs"
)

// Outcome is what verifying found.
type Outcome struct {
	Signer      string   `json:"signer"` // fingerprint of the key that sealed it
	SignerKnown bool     `json:"signer_checked"`
	Site        string   `json:"site"`
	Upto        int64    `json:"upto"`
	At          string   `json:"judged_at"`
	Rules       int64    `json:"rules"`
	RulesHeld   bool     `json:"rules_held"`
	Layout      int64    `json:"layout"`
	LayoutHeld  bool     `json:"layout_held"`
	Same        int      `json:"same"`
	Differ      int      `json:"differ"`
	Checked     []string `json:"checked"` // what was found in order
	Faults      []string `json:"faults"`  // what is not as it was sealed
	Notes       []string `json:"notes"`   // what is worth a look and no fault
	Judgements  []Line   `json:"judgements"`
}

// Line is one judgement compared, with all its windows.
type Line struct {
	Permit    string `json:"permit"`
	Clause    string `json:"clause"`
	Condition string `json:"condition"`
	Place     string `json:"place"`
	Outcome   string `json:"outcome"` // same · differs · this program no longer holds rules N
	Sealed    string `json:"sealed"`  // verdict in the pack
	Made      string `json:"made"`    // verdict made again; "" when it was not
}

// Good tells whether everything is as it was sealed and was judged the same. A
// pack of an earlier layout can be good, one of a layout unknown cannot.
func (o *Outcome) Good() bool {
	return len(o.Faults) == 0 && o.Differ == 0 && o.RulesHeld && o.Layout >= 1 && o.Layout <= Layout
}

func (o *Outcome) fault(format string, args ...any) {
	o.Faults = append(o.Faults, fmt.Sprintf(format, args...))
}

func (o *Outcome) note(format string, args ...any) {
	o.Notes = append(o.Notes, fmt.Sprintf(format, args...))
}

func (o *Outcome) checked(format string, args ...any) {
	o.Checked = append(o.Checked, fmt.Sprintf(format, args...))
}

func (o *Outcome) take(l Line) {
	if l.Outcome == Same {
		o.Same++
	} else {
		o.Differ++
	}
	o.Judgements = append(o.Judgements, l)
}

// Lines says the outcome in words, the signer first.
func (o *Outcome) Lines() []string {
	var l []string
	say := func(format string, args ...any) { l = append(l, fmt.Sprintf(format, args...)) }
	switch {
	case o.Signer == "":
		say("signer not checked: no signature could be read")
	case o.SignerKnown:
		say("signer checked against the key expected; the pack is signed by %s", o.Signer)
	default:
		say("signer not checked: compare %s with the fingerprint you were given by another way, or give --key", o.Signer)
	}
	if o.Site != "" {
		say("site %s, entries 1 to %d, judged to %s, rules %d", o.Site, o.Upto, o.At, o.Rules)
	}
	for _, c := range o.Checked {
		say("in order: %s", c)
	}
	for _, f := range o.Faults {
		say("WRONG: %s", f)
	}
	for _, j := range o.Judgements {
		if j.Outcome == Differs {
			say("DIFFERS: %s: sealed as %s, judged again %s", j.name(), j.Sealed, orNothing(j.Made))
		}
	}
	for _, n := range o.Notes {
		say("note: %s", n)
	}
	say("%s", o.verdict())
	return l
}

func (l *Line) name() string {
	s := fmt.Sprintf("%s clause %s, condition %s", l.Permit, l.Clause, l.Condition)
	if l.Place != "" {
		s += " at " + l.Place
	}
	return s
}

func orNothing(s string) string {
	if s == "" {
		return "not at all"
	}
	return s
}

// verdict is the last line.
func (o *Outcome) verdict() string {
	switch {
	case len(o.Judgements) == 0 && len(o.Faults) > 0:
		return "not as it was sealed; nothing was judged again"
	case len(o.Faults) > 0 || o.Differ > 0:
		return fmt.Sprintf("not as it was sealed: %d judgements the same, %d differ, %d further faults", o.Same, o.Differ, len(o.Faults))
	case !o.RulesHeld:
		return fmt.Sprintf("this program no longer holds rules %d: %d judgements were not made again; everything else is as it was sealed", o.Rules, len(o.Judgements))
	case o.Layout < 1 || o.Layout > Layout:
		return fmt.Sprintf("all %d judgements the same; tables, page and cover sheet are of layout %d, which this program does not know", o.Same, o.Layout)
	case !o.LayoutHeld:
		return fmt.Sprintf("as it was sealed; all %d judgements the same", o.Same)
	}
	return fmt.Sprintf("as it was sealed, to the last byte; all %d judgements the same", o.Same)
}
