package permit

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/swardbook/swardbook/compliance/calendar"
)

const ruleForms = "every, at most 35 per calendar year, at most 5 % per rolling 12 months, at least 9 of 10, " +
	"mean per calendar month, last, {look-up table: [[4, 7, 1], …], per: calendar year}"

var (
	atMostRule  = regexp.MustCompile(`^at most ([0-9]+) per (.+)$`)
	atMostShare = regexp.MustCompile(`^at most ([0-9.]+) ?% per (.+)$`)
	atLeastRule = regexp.MustCompile(`^at least ([0-9]+) of ([0-9]+)$`)
)

func readRule(it item) Rule {
	every := Rule{Name: Every}
	if it.isMap() {
		return readTable(it)
	}
	s, ok := it.line()
	if !ok {
		return every
	}
	r, err := parseRule(s)
	if err != nil {
		it.wrong(err)
		return every
	}
	return r
}

func parseRule(s string) (Rule, error) {
	switch {
	case s == string(Every) || s == string(LastOf):
		return Rule{Name: RuleName(s)}, nil
	case strings.HasPrefix(s, "look-up table"):
		return Rule{}, misread("write {look-up table: [[4, 7, 1], [8, 16, 2], …], per: calendar year} with the table of the notice", "the look-up table is not written out; none is implied")
	}
	if per, ok := strings.CutPrefix(s, "mean per "); ok {
		p, err := parsePeriod(per)
		return Rule{Name: MeanOfAll, Per: p}, err
	}
	if m := atMostRule.FindStringSubmatch(s); m != nil {
		k, err := parseCount(m[1])
		if err != nil {
			return Rule{}, err
		}
		p, err := parsePeriod(m[2])
		return Rule{Name: AtMost, K: k, Per: p}, err
	}
	if m := atMostShare.FindStringSubmatch(s); m != nil {
		share, err := parsePercent(m[1] + " %")
		if err != nil {
			return Rule{}, err
		}
		p, err := parsePeriod(m[2])
		return Rule{Name: AtMostShare, Share: share, Per: p}, err
	}
	if m := atLeastRule.FindStringSubmatch(s); m != nil {
		return parseAtLeast(m[1], m[2])
	}
	return Rule{}, misread("known are: "+ruleForms, "the rule %q is not known", s)
}

func parseAtLeast(least, of string) (Rule, error) {
	k, err := parseCount(least)
	if err != nil {
		return Rule{}, err
	}
	n, err := parseCount(of)
	if err != nil {
		return Rule{}, err
	}
	if k < 1 || k > n {
		return Rule{}, misread("write it such as at least 9 of 10", "at least %d of %d says nothing", k, n)
	}
	return Rule{Name: AtLeastOf, K: k, N: n}, nil
}

func readTable(it item) Rule {
	r := Rule{Name: AtMostTable}
	f, ok := it.fields("look-up table", "per")
	if !ok {
		return r
	}
	f.need("per", "write the period whose windows are counted, such as calendar year")
	parsed(f, "per", &r.Per, parsePeriod)
	table, ok := f.need("look-up table", "write the table of the notice: [[4, 7, 1], …] is from, to, allowed")
	if !ok {
		return r
	}
	for _, line := range table.list() {
		step, ok := readStep(line)
		if !ok {
			continue
		}
		if n := len(r.Table); n > 0 && (step.From <= r.Table[n-1].To || step.K < r.Table[n-1].K) {
			line.fault("the line does not follow the one before", "let each line begin above the end of the last, and allow no fewer")
		}
		r.Table = append(r.Table, step)
	}
	return r
}

func readStep(line item) (Step, bool) {
	cells := line.list()
	if len(cells) != 3 {
		if line.isList() {
			line.fault(fmt.Sprintf("a line of the table has three numbers, not %d", len(cells)), "write [from, to, allowed], such as [8, 16, 2]")
		}
		return Step{}, false
	}
	var n [3]int
	for i, c := range cells {
		s, ok := c.line()
		if !ok {
			return Step{}, false
		}
		var err error
		if n[i], err = parseCount(s); err != nil {
			c.wrong(err)
			return Step{}, false
		}
	}
	if n[0] < 1 || n[1] < n[0] || n[2] > n[0] {
		line.fault("the line contradicts itself", "write [from, to, allowed] with from at least 1, to not below from, and allowed not above from")
		return Step{}, false
	}
	return Step{n[0], n[1], n[2]}, true
}

// happening reads a needed key that names something in the record.
func (f fields) happening(key string) *Happening {
	it, ok := f.need(key, "write {subject: site.act, with: {act: strip}}")
	if !ok {
		return nil
	}
	return readHappening(it)
}

func readHappening(it item) *Happening {
	f, ok := it.fields("subject", "with", "place")
	if !ok {
		return nil
	}
	h := &Happening{}
	if _, ok := f.need("subject", "name the quantity, such as site.act"); ok {
		h.Subject = f.line("subject")
	}
	if with, ok := f.get("with"); ok {
		h.With = readWith(with)
	}
	parsed(f, "place", &h.Place, parseCode)
	return h
}

var termUnits = []string{"minute", "hour", "day", "working day", "week", "month", "year"}

// parseLength reads a number of units of legal time, such as 28 days.
func parseLength(s string) (Length, error) {
	number, u, _ := strings.Cut(s, " ")
	u = strings.TrimSuffix(strings.TrimSpace(u), "s")
	n, err := parseCount(number)
	if err != nil || n < 1 || n > 100_000 || !among(u, termUnits) {
		return Length{}, misread("write it such as 28 days; units are: "+strings.Join(termUnits, ", "), "%q is no length of time", s)
	}
	return Length{n, u}, nil
}

func parseLengthTo(s string) (*Length, error) {
	l, err := parseLength(s)
	if err != nil {
		return nil, err
	}
	return &l, nil
}

func readDeadline(it item) *Deadline {
	d := &Deadline{Counting: After, Roll: NoRoll}
	if !it.isMap() {
		s, ok := it.line()
		date, by := strings.CutPrefix(s, "by ")
		var err error
		if d.By, err = calendar.ParseDate(date); ok && (!by || err != nil) {
			it.fault(fmt.Sprintf("the deadline %q is not known", s), "write by 2026-05-01, or {within: 28 days, of: …}")
		}
		return d
	}
	f, _ := it.fields("by", "within", "of", "counting", "roll", "before", "whichever")
	parsed(f, "by", &d.By, parseDate)
	set(f, "counting", &d.Counting, After, BeginningWith, ClearDays)
	set(f, "roll", &d.Roll, NoRoll, NextWorking, PrevWorking)
	d.relative(f)
	if w, ok := f.get("whichever"); ok {
		which, _ := word(w, "earlier", "later")
		d.Later = which == "later"
		if !f.has("by") || !f.has("within") {
			w.fault("there is one deadline only", "leave whichever out, or write both by and within")
		}
	} else if f.has("by") && f.has("within") {
		it.fault("there are two deadlines", "write whichever: earlier or whichever: later")
	}
	return d
}

// relative reads the part of a deadline that is counted from something.
func (d *Deadline) relative(f fields) {
	if !f.has("within") {
		if !f.has("by") {
			f.fault("no deadline is stated", "write by: 2026-05-01, or within: 28 days and of:")
		}
		for _, key := range []string{"of", "before", "counting"} {
			if it, ok := f.get(key); ok {
				it.fault(key+" says nothing without within", "write within: 28 days, or leave it out")
			}
		}
		return
	}
	var l Length
	parsed(f, "within", &l, parseLength)
	d.N, d.Unit = l.N, l.Unit
	if it, ok := f.get("before"); ok {
		w, _ := word(it, "true", "false")
		d.Before = w == "true"
	}
	of, ok := f.need("of", "write what it is counted from: {subject: …, with: …}, {first: {…}}, window end or grant")
	if !ok {
		return
	}
	if !of.isMap() {
		set(f, "of", &d.Start, WindowEnd, Grant)
		return
	}
	d.Start = EachHappening
	if content := of.node.Content; len(content) > 0 && content[0].Value == string(FirstHappening) {
		first, _ := of.fields(string(FirstHappening))
		d.Start = FirstHappening
		of, _ = first.get(string(FirstHappening))
	}
	d.Of = readHappening(of)
}
