package handover

import "fmt"

// Lines says the outcome in words, the signer first.
func (o *Outcome) Lines() []string {
	var l []string
	say := func(format string, args ...any) { l = append(l, fmt.Sprintf(format, args...)) }
	switch {
	case o.Signer == "":
		say("no signature could be read")
	case o.SignerKnown:
		say("signed by the key expected: %s", o.Signer)
	default:
		say("signer not checked (give --key FINGERPRINT); the pack names the key %s", o.Signer)
	}
	if o.Site != "" {
		say("site %s, entries 1 to %d, rules %d", o.Site, o.Upto, o.Rules)
	}
	for _, f := range o.Faults {
		say("WRONG: %s", f)
	}
	for _, j := range o.Judgements {
		if j.Outcome == "differs" {
			say("DIFFERS: %s condition %s %s: sealed as %s, judged again %s", j.Permit, j.Condition, j.Place, j.Sealed, orNothing(j.Made))
		}
	}
	for _, n := range o.Notes {
		say("note: %s", n)
	}
	switch {
	case len(o.Faults) > 0 && len(o.Judgements) == 0:
		say("not as it was sealed")
	case !o.RulesHeld:
		say("this program no longer holds rules %d: %d judgements not compared", o.Rules, len(o.Judgements))
	case o.Differ > 0 || len(o.Faults) > 0:
		say("%d judgements the same, %d differ: not as it was sealed", o.Same, o.Differ)
	default:
		say("every hash holds, the chain is whole, all judgements the same (%d)", o.Same)
	}
	return l
}

func orNothing(s string) string {
	if s == "" {
		return "not at all"
	}
	return s
}
