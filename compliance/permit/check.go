package permit

import (
	"fmt"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Check tells what in a notice makes no sense, although it is written in the
// language: clauses without conditions, quantities nobody registered, units
// that do not convert, statistics that do not fit, hours that never open,
// limits that contradict each other. q lists the quantities there are; places
// tells whether the plan has a feature of that code, nil = not looked at. The
// faults come in the order of the text, each with its remedy; none is nil.
func Check(n *Notice, q *quantity.List, places func(code string) bool) Faults {
	k := &checker{n: n, q: q, places: places}
	k.variation()
	k.clauses()
	k.ids()
	for i, c := range n.Conditions {
		k.condition(i, c)
	}
	k.contradictions()
	k.faults.sort()
	return k.faults
}

type checker struct {
	n      *Notice
	q      *quantity.List
	places func(string) bool
	faults Faults
}

// note records a fault at a key, or where its owner stands.
func (k *checker) note(w Where, path, key, reason, remedy string) {
	at, ok := w[key]
	if !ok {
		at = w[""]
	}
	if key != "" && path != "" {
		path += "." + key
	} else if path == "" {
		path = key
	}
	k.faults = append(k.faults, Fault{k.n.File, at.Line, at.Column, path, reason, remedy})
}

// variation checks what makes a notice a variation of another.
func (k *checker) variation() {
	n := k.n
	switch {
	case n.Varies == "" && len(n.Removes) > 0:
		k.note(n.Where, "", "removes", "only a variation removes conditions", "name the notice it varies as varies: in permit, or leave removes out")
	case n.Varies == "" && !n.Effective.IsZero():
		k.note(n.Where, "permit", "effective", "only a variation has a date from which it takes effect", "name the notice it varies as varies:, or write from: in the conditions")
	case n.Varies != "" && n.Effective.IsZero():
		k.note(n.Where, "permit", "varies", "a variation needs the date from which it takes effect", "write effective: 2026-06-17 beside it")
	case n.Varies != "" && n.Varies == n.Reference:
		k.note(n.Where, "permit", "varies", "the notice varies itself", "write the reference of the notice it varies")
	}
	if n.Varies != "" && n.Effective.Before(n.Granted) && !n.Effective.IsZero() {
		k.note(n.Where, "permit", "effective", fmt.Sprintf("it takes effect on %s, before it was issued on %s", n.Effective, n.Granted), "see which date is which")
	}
	has := map[string]bool{}
	for _, c := range n.Conditions {
		has[c.ID] = true
	}
	for _, id := range n.Removes {
		if has[id] {
			k.note(n.Where, "", "removes", fmt.Sprintf("condition %s is both removed and written anew", id), "leave it out of removes: a condition of the same id replaces the old one")
		}
	}
}

// clauses checks that every clause is accounted for as it says.
func (k *checker) clauses() {
	conditions := map[string][]*Condition{}
	for _, c := range k.n.Conditions {
		conditions[c.Clause] = append(conditions[c.Clause], c)
	}
	first := map[string]bool{}
	for i, c := range k.n.Clauses {
		path := fmt.Sprintf("clauses[%d]", i)
		note := func(key, reason, remedy string) { k.note(c.Where, path, key, reason, remedy) }
		if first[c.Number] {
			note("number", fmt.Sprintf("clause %s is listed twice", c.Number), "keep one, or number them as the notice does")
		}
		first[c.Number] = true
		has := len(conditions[c.Number])
		switch {
		case c.Treated == Judged && has == 0:
			note("treated", fmt.Sprintf("clause %s is said to be judged, and no condition is judged of it", c.Number), "write its condition, or say attested, information or not yet entered")
		case c.Treated == Attested && c.Role == "" && !attestedBy(conditions[c.Number]):
			note("treated", fmt.Sprintf("clause %s is attested by nobody", c.Number), "name the post that states it as role:")
		case (c.Treated == Information || c.Treated == NotEntered) && has > 0:
			note("treated", fmt.Sprintf("clause %s is said to be %s, and a condition is judged of it", c.Number, c.Treated), "say judged, or take the condition away")
		}
	}
}

func attestedBy(list []*Condition) bool {
	for _, c := range list {
		if c.Kind == Stated && c.Role != "" {
			return true
		}
	}
	return false
}

// ids checks that conditions can be told apart, and name each other rightly.
func (k *checker) ids() {
	clauses := map[string]bool{}
	var numbers []string
	for _, c := range k.n.Clauses {
		clauses[c.Number] = true
		numbers = append(numbers, c.Number)
	}
	first := map[string]*Condition{}
	for i, c := range k.n.Conditions {
		path := fmt.Sprintf("conditions[%d]", i)
		key := "id"
		if _, written := c.Where["id"]; !written {
			key = "clause"
		}
		switch other := first[c.ID]; {
		case other != nil:
			k.note(c.Where, path, key, fmt.Sprintf("the id %s stands twice, first in line %d", c.ID, other.Line), "give each condition an id of its own")
		case strings.HasSuffix(c.ID, "/duty"):
			k.note(c.Where, path, key, "an id ending in /duty is the duty to monitor of another condition", "choose another id")
		case strings.ContainsAny(c.ID, " \t?#%"):
			k.note(c.Where, path, key, fmt.Sprintf("the id %q holds a blank or one of ? # %%", c.ID), "write it with letters, digits, points and hyphens")
		default:
			first[c.ID] = c
		}
		if !clauses[c.Clause] && k.n.Varies == "" { // of a variation, CheckTogether looks
			k.note(c.Where, path, "clause", fmt.Sprintf("clause %s is not listed", c.Clause), "list it under clauses; "+known(c.Clause, numbers))
		}
	}
	for i, c := range k.n.Conditions {
		if c.InPlace == "" {
			continue
		}
		path := fmt.Sprintf("conditions[%d]", i)
		switch {
		case k.n.Varies == "" && first[c.InPlace] == nil:
			k.note(c.Where, path, "in place of", fmt.Sprintf("there is no condition %s in this notice", c.InPlace), known(c.InPlace, idsOf(k.n)))
		case k.ring(c, first):
			k.note(c.Where, path, "in place of", "the conditions stand in place of each other in a ring", "let one of them stand by itself")
		}
	}
}

func idsOf(n *Notice) []string {
	var out []string
	for _, c := range n.Conditions {
		out = append(out, c.ID)
	}
	return out
}

func (k *checker) ring(c *Condition, byID map[string]*Condition) bool {
	at := c
	for range k.n.Conditions {
		if at = byID[at.InPlace]; at == nil {
			return false
		}
		if at == c {
			return true
		}
	}
	return false
}

// condition checks one condition by itself.
func (k *checker) condition(i int, c *Condition) {
	o := &one{checker: k, c: c, path: fmt.Sprintf("conditions[%d]", i)}
	o.subject()
	o.happenings()
	o.place()
	o.schedule()
	o.force()
	if c.measures() {
		o.statistic()
		o.rule()
		o.limits()
		o.duty()
	}
	o.deadline()
}

// one is one condition being checked.
type one struct {
	*checker
	c    *Condition
	path string
	q    *quantity.Quantity // the subject; nil when unknown or none
}

func (o *one) note(key, reason, remedy string) {
	o.checker.note(o.c.Where, o.path, key, reason, remedy)
}

// named finds a quantity, or notes that there is none of that code.
func (o *one) named(code, key string) *quantity.Quantity {
	if o.checker.q == nil {
		return nil
	}
	if q := o.checker.q.Named(code); q != nil {
		return q
	}
	var codes []string
	for _, q := range o.checker.q.All() {
		codes = append(codes, q.Code)
	}
	remedy := "write the code of a quantity that is registered"
	if near := nearest(code, codes, 3); len(near) > 0 {
		remedy = "did you mean " + strings.Join(near, " or ") + "?"
	} else if family, _, ok := strings.Cut(code, "."); ok {
		var kin []string
		for _, c := range codes {
			if strings.HasPrefix(c, family+".") {
				kin = append(kin, c)
			}
		}
		if len(kin) > 0 {
			remedy = "of " + family + " there are: " + strings.Join(kin, ", ")
		}
	}
	o.note(key, fmt.Sprintf("the quantity %q is not known", code), remedy)
	return nil
}

func (o *one) subject() {
	c := o.c
	if c.Subject == "" {
		return
	}
	o.q = o.named(c.Subject, "subject")
	if o.q == nil {
		return
	}
	words := o.q.With
	if c.Nondetect == Estimated {
		words = append([]string{"estimate"}, words...)
		if c.With["estimate"] == "" {
			o.note("nondetects", "the estimate is not named", "add estimate: to with, naming the method the notice allows")
		}
	}
	if n := c.Statistic.Name; n == Count || n == Duration || n == Share {
		words = append(SelectionWords(), words...)
	}
	if o.q.Form == quantity.Series {
		words = append(words[:len(words):len(words)], withDrift, withChecked)
		o.instruments()
	}
	o.with(c.With, words, "with", c.Subject)
	switch {
	case c.Kind == Interval && o.q.Form != quantity.Acts && o.q.Form != quantity.Events:
		o.note("subject", fmt.Sprintf("%s are %s, which do not take place between hours", o.q.Title, o.q.Form), "name acts or events, such as site.act, or use kind measured with a schedule")
	case c.Kind == Counted && (o.q.Form == quantity.Series || o.q.Form == quantity.Levels):
		o.note("subject", fmt.Sprintf("%s is a series of values and cannot be counted as events", o.q.Title), "use kind measured, with a rule such as at most 35 per calendar year")
	case c.Kind == Measured && o.q.Form == quantity.Papers:
		o.note("subject", fmt.Sprintf("%s are papers and have no value to measure", o.q.Title), "use kind ordered, dated or present")
	}
}

// with checks the further words for a quantity.
func (o *one) with(with map[string]string, words []string, key, code string) {
	for _, w := range sortedKeys(with) {
		if !among(w, words) {
			remedy := "it takes no further words; leave them out"
			if len(words) > 0 {
				remedy = known(w, words)
			}
			o.note(key, fmt.Sprintf("%s does not know the word %q", code, w), remedy)
		}
	}
}

func (o *one) happenings() {
	c := o.c
	list := []struct {
		key string
		h   *Happening
	}{{"first", c.First}, {"then", c.Then}, {"done", c.Done}}
	if c.Deadline != nil {
		list = append(list, struct {
			key string
			h   *Happening
		}{"deadline", c.Deadline.Of})
	}
	for _, one := range list {
		if one.h == nil {
			continue
		}
		if q := o.named(one.h.Subject, one.key); q != nil {
			o.with(one.h.With, q.With, one.key, q.Code)
			if q.Form == quantity.Series || q.Form == quantity.Levels {
				o.note(one.key, fmt.Sprintf("%s is not a thing that happens", q.Title), "name an act, an event, a paper or a sample")
			}
		}
		o.known(one.h.Place, one.key)
	}
}

// known checks that the plan has a place; "" is the condition's own.
func (o *one) known(code, key string) {
	if code == "" || o.places == nil || o.places(code) {
		return
	}
	o.note(key, fmt.Sprintf("the place %q is not on the plan", code), "draw it, or correct the code")
}

func (o *one) place() {
	p := o.c.Place
	for _, code := range p.Codes {
		o.known(code, "place")
	}
	if p.Mode == MeanOf && o.q != nil && o.q.Decibel {
		o.note("place", "a mean of levels over places averages decibels, which are logarithms", "judge each place by itself: {each: […]}")
	}
	if p.Mode == MeanOf && len(p.Codes) == 1 {
		o.note("place", "the mean of one place is that place", "write the place alone, or the others with it")
	}
}

// schedule checks that the hours open at all.
func (o *one) schedule() {
	s := o.c.Schedule
	if s == nil {
		return
	}
	opens := false
	for i, slot := range s.Slots {
		if !slot.First.IsZero() && !slot.Last.IsZero() && slot.Last.Before(slot.First) {
			o.note("schedule", fmt.Sprintf("slot %d ends on %s, before it begins on %s", i+1, slot.Last, slot.First), "write first: and last: in order")
			continue
		}
		if slot.Days == 0 && slot.Holidays != calendar.Only {
			o.note("schedule", fmt.Sprintf("slot %d is of no day", i+1), "write its days, such as mon-fri")
			continue
		}
		opens = opens || o.meetsForce(slot)
		if slot.Holidays != calendar.Ignored && o.n.Holidays == "" {
			o.note("schedule", fmt.Sprintf("slot %d turns on holidays, and the notice names no holiday list", i+1), "name the list as holidays: in permit, or write holidays: ignored in the slot")
		}
	}
	switch {
	case !opens && !s.Complement:
		o.note("schedule", "the hours never open while the condition is in force", "see the slots' first: and last: against from: and to:")
	case s.Complement && always(s.Slots):
		o.note("schedule", "the hours never open: the slots leave no other time", "see whether complement of is meant")
	}
}

// meetsForce tells whether the slot's dates and the condition's force share a
// day, as nearly as can be said without a zone.
func (o *one) meetsForce(s calendar.Slot) bool {
	if !s.First.IsZero() && !s.Last.IsZero() && s.Holidays != calendar.Only && !fallsIn(s) {
		return false
	}
	if !o.c.To.IsZero() && !s.First.IsZero() && s.First.Start(time.UTC).After(o.c.To.Add(day)) {
		return false
	}
	return o.c.From.IsZero() || s.Last.IsZero() || !s.Last.AddDays(2).Start(time.UTC).Before(o.c.From.Add(-day))
}

// fallsIn tells whether one of the slot's days of the week lies between its
// first and last date.
func fallsIn(s calendar.Slot) bool {
	for d, n := s.First, 0; !s.Last.Before(d) && n < 7; d, n = d.AddDays(1), n+1 {
		if s.Days.Has(d.Start(time.UTC).Weekday()) {
			return true
		}
	}
	return false
}

func always(slots []calendar.Slot) bool {
	var days calendar.Days
	for _, s := range slots {
		if s.Holidays == calendar.Ignored && s.First.IsZero() && s.Last.IsZero() && (s.From == s.To || s.From == 0 && s.To == 24*60) {
			days |= s.Days
		}
	}
	return days == calendar.EveryDay
}
