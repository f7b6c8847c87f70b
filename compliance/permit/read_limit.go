package permit

import (
	"fmt"
	"math"
	"strings"

	"github.com/swardbook/swardbook/compliance/unit"
)

const limitForms = "<= 55 dB, < 5 NTU, >= 0.30 m, between 6 and 9 pH, <= background NSR1-BG + 10 dB, floor 45, cap 55, " +
	"<= 10 NTU above UP1, <= 3 m above surface pre-works, >= 95 % of soil.stripped, {curve: …}"

// comparators lists how a comparison may be written, longest first. The words
// follow those of notices: "not exceed" and "no more than" are <=, "less than"
// is <.
var comparators = []struct {
	text string
	c    Comparator
}{
	{"<=", AtMostLimit}, {"≤", AtMostLimit}, {"at most", AtMostLimit},
	{">=", AtLeastLimit}, {"≥", AtLeastLimit}, {"at least", AtLeastLimit},
	{"<", Below}, {"less than", Below},
	{">", Above}, {"more than", Above},
	{"=", Equal},
}

// parseLimit reads a limit that is one text.
// ParseLimit reads one limit as it stands in a condition, such as "<= 60 dB".
func ParseLimit(text string) (Limit, error) { return parseLimit(text) }

func parseLimit(text string) (Limit, error) {
	if rest, ok := cutWord(text, "between"); ok {
		return parseBetween(rest)
	}
	rest := text
	l := Limit{Form: Constant}
	for _, c := range comparators {
		if r, ok := strings.CutPrefix(text, c.text); ok {
			l.Comparator, rest = c.c, strings.TrimSpace(r)
			break
		}
	}
	if body, ok := cutWord(rest, "background"); ok {
		if l.Comparator == "" {
			l.Comparator = AtMostLimit
		}
		return parseBackground(l, body)
	}
	if l.Comparator == "" {
		return l, misread("write <= for \"not exceed\" or \"no more than\", < for \"less than\", >= for \"at least\"; known are: "+limitForms,
			"the limit %q does not say how it compares", text)
	}
	return parseAmount(l, rest)
}

// cutWord cuts a leading word followed by a blank.
func cutWord(s, word string) (string, bool) {
	rest, ok := strings.CutPrefix(s, word+" ")
	return strings.TrimSpace(rest), ok
}

// cutNumber cuts the leading number off, and blanks after it.
func cutNumber(s string) (number, rest string) {
	i := 0
	for i < len(s) && (s[i] >= '0' && s[i] <= '9' || s[i] == '.' || i == 0 && s[i] == '-') {
		i++
	}
	return s[:i], strings.TrimSpace(s[i:])
}

// parseNumber reads a number as written and leaves what follows.
func parseNumber(s string) (d unit.Decimal, rest string, err error) {
	number, rest := cutNumber(s)
	if strings.HasPrefix(rest, ",") {
		return d, rest, misread("write it without commas, with a point before decimals", "the number %q holds a comma", s)
	}
	d, err = unit.ParseDecimal(number)
	if err != nil {
		return d, rest, misread("write it such as <= 55 dB", "%v", err)
	}
	return d, rest, nil
}

// parseUnit returns the unit's symbol; none is the plain count.
func parseUnit(s string) (string, error) {
	u, ok := unit.Lookup(s)
	if ok {
		return u.Symbol, nil
	}
	var symbols []string
	for _, u := range unit.All() {
		if u.Symbol != "" {
			symbols = append(symbols, u.Symbol)
		}
	}
	remedy := "write a unit such as dB, mg/L or m³; a pure count has none"
	if near := nearest(s, symbols, 3); len(near) > 0 {
		remedy = "did you mean " + strings.Join(near, " or ") + "? a pure count has none"
	}
	return "", misread(remedy, "the unit %q is not known", s)
}

// parseAmount reads what follows the comparator: a number, a unit, and what
// the limit is relative to.
func parseAmount(l Limit, s string) (Limit, error) {
	var err error
	var rest string
	if l.Value, rest, err = parseNumber(s); err != nil {
		return l, err
	}
	for _, form := range []struct {
		word string
		form LimitForm
	}{{"above surface", OfSurface}, {"above", OfOtherPlace}, {"below", OfOtherPlace}, {"of", OfShare}} {
		before, after, found := strings.Cut(" "+rest, " "+form.word+" ")
		if !found {
			continue
		}
		l.Form = form.form
		if form.word == "below" {
			if l.Value.Coefficient < 0 {
				return l, misread("write it as above, or without the minus", "%q is below by less than nothing", s)
			}
			l.Value.Coefficient = -l.Value.Coefficient
		}
		if l.Other = strings.TrimSpace(after); strings.ContainsAny(l.Other, " \t,") || l.Other == "" {
			return l, misread("write one code, without blanks", "%q is no place, surface or quantity", l.Other)
		}
		rest = strings.TrimSpace(before)
		break
	}
	if l.Unit, err = parseUnit(rest); err != nil {
		return l, err
	}
	if l.Form == OfShare && l.Unit != "%" {
		return l, misread("write it such as >= 95 % of soil.stripped", "a share of another quantity is in %%, not in %q", l.Unit)
	}
	return l, nil
}

// parseBetween reads "6 and 9 pH", with which end is excluded.
func parseBetween(s string) (Limit, error) {
	l := Limit{Comparator: Between, Form: Constant}
	body, ends, _ := strings.Cut(s, ",")
	switch strings.TrimSpace(ends) {
	case "":
	case "low end excluded":
		l.OpenLow = true
	case "high end excluded":
		l.OpenHigh = true
	case "both ends excluded":
		l.OpenLow, l.OpenHigh = true, true
	default:
		return l, misread("write low end excluded, high end excluded or both ends excluded; otherwise both count as within", "%q says nothing of the ends", strings.TrimSpace(ends))
	}
	low, high, ok := strings.Cut(body, " and ")
	if !ok {
		return l, misread("write it such as between 6 and 9 pH", "the two ends are not clear")
	}
	var rest string
	var err error
	if l.Value, rest, err = parseNumber(low); err != nil {
		return l, err
	}
	if rest != "" {
		return l, misread("write the unit once, after the second number", "%q stands after the first number", rest)
	}
	if l.Upper, rest, err = parseNumber(strings.TrimSpace(high)); err != nil {
		return l, err
	}
	if l.Value.Cmp(l.Upper) >= 0 {
		return l, misread("write the lower end first", "nothing lies between %s and %s", l.Value, l.Upper)
	}
	l.Unit, err = parseUnit(rest)
	return l, err
}

// parseBackground reads "NSR1-BG + 10 dB, floor 45, cap 55".
func parseBackground(l Limit, s string) (Limit, error) {
	l.Form = OfBackground
	parts := strings.Split(s, ",")
	words := strings.Fields(parts[0])
	if len(words) < 3 || words[1] != "+" && words[1] != "-" {
		return l, misread("write it such as background NSR1-BG + 10 dB, floor 45, cap 55", "the addition to the background is not clear in %q", parts[0])
	}
	l.Background = words[0]
	var rest string
	var err error
	if l.Value, rest, err = parseNumber(strings.Join(words[2:], " ")); err != nil {
		return l, err
	}
	if l.Value.Coefficient < 0 {
		return l, misread("write background A - 5 dB", "the sign stands twice")
	}
	if words[1] == "-" {
		l.Value.Coefficient = -l.Value.Coefficient
	}
	if l.Unit, err = parseUnit(rest); err != nil {
		return l, err
	}
	for _, p := range parts[1:] {
		if err := l.bound(strings.TrimSpace(p)); err != nil {
			return l, err
		}
	}
	if l.Floor != nil && l.Cap != nil && l.Floor.Cmp(*l.Cap) > 0 {
		return l, misread("see which is which", "the floor %s lies above the cap %s", l.Floor, l.Cap)
	}
	return l, nil
}

// bound reads a floor or a cap.
func (l *Limit) bound(s string) error {
	dst := &l.Floor
	body, ok := cutWord(s, "floor")
	if !ok {
		dst = &l.Cap
		if body, ok = cutWord(s, "cap"); !ok {
			return misread("write floor 45 or cap 55, in the limit's unit", "%q is neither floor nor cap", s)
		}
	}
	if *dst != nil {
		return misread("keep one", "%q is the second of its kind", s)
	}
	d, rest, err := parseNumber(body)
	if err != nil {
		return err
	}
	if rest != "" && !unit.Same(rest, l.Unit) {
		return misread("write the number alone", "%q is in another unit than the limit", s)
	}
	*dst = &d
	return nil
}

// parseActionLevel reads an action level: a number with its unit, which
// compares as the limit does; a share of the limit; or a whole limit.
func parseActionLevel(text string, limits []Limit) (Limit, error) {
	if whole, err := parseLimit(text); err == nil {
		return whole, nil
	}
	if len(limits) != 1 || limits[0].Form != Constant || limits[0].Comparator == Between {
		return Limit{}, misread("write the whole action level, such as <= 52 dB or between 6.5 and 8.5 pH", "it is not clear how the action level %q compares", text)
	}
	l := limits[0]
	if share, ok := strings.CutSuffix(text, " of limit"); ok {
		return shareOf(l, share)
	}
	amount, err := parseAmount(Limit{Comparator: l.Comparator, Form: Constant}, text)
	if err != nil {
		return Limit{}, err
	}
	if amount.Form != Constant {
		return Limit{}, misread("write the whole action level, such as <= 8 NTU above UP1", "it is not clear how the action level %q compares", text)
	}
	return amount, nil
}

// shareOf returns so many per cent of a limit, exactly.
func shareOf(l Limit, share string) (Limit, error) {
	s, err := parsePercent(share)
	if err != nil {
		return l, err
	}
	p, err := unit.ParseDecimal(s)
	if err != nil {
		return l, err
	}
	a, b := l.Value.Coefficient, p.Coefficient
	if b != 0 && (a > math.MaxInt64/b || a < math.MinInt64/b) || int(l.Value.Places)+int(p.Places)+2 > 18 {
		return l, misread("write the number itself", "%s of %s has too many digits", share, l.Value)
	}
	l.Value = unit.Decimal{Coefficient: a * b, Places: l.Value.Places + p.Places + 2}.Trim()
	return l, nil
}

// readLimits reads one limit or a list of them.
func readLimits(it item) []Limit {
	members := []item{it}
	if it.isList() {
		members = it.list()
	}
	var out []Limit
	for _, m := range members {
		if m.isMap() {
			if l, ok := readCurve(m); ok {
				out = append(out, l)
			}
			continue
		}
		s, ok := m.line()
		if !ok {
			continue
		}
		l, err := parseLimit(s)
		if err != nil {
			m.wrong(err)
			continue
		}
		out = append(out, l)
	}
	return out
}

// readCurve reads {curve: [[x, y], …], compare: <=, unit: mm/s, along: frequency}.
func readCurve(it item) (Limit, bool) {
	l := Limit{Comparator: AtMostLimit, Form: OfCurve}
	f, ok := it.fields("curve", "compare", "unit", "along")
	if !ok {
		return l, false
	}
	set(f, "compare", &l.Comparator, AtMostLimit, Below, AtLeastLimit, Above)
	f.need("along", "write frequency (Hz) or distance (m)")
	set(f, "along", &l.Along, Frequency, Distance)
	f.need("unit", "write the unit of the limit")
	parsed(f, "unit", &l.Unit, parseUnit)
	curve, ok := f.need("curve", "write points [x, limit], such as [[2.5, 12.7], [10, 12.7], [40, 50.8]]")
	if !ok {
		return l, false
	}
	for _, p := range curve.list() {
		point, ok := readPoint(p)
		if !ok {
			continue
		}
		if n := len(l.Points); n > 0 && point.X.Cmp(l.Points[n-1].X) <= 0 {
			p.fault("the points are not in ascending order", "write them from the lowest up, each once")
		}
		l.Points = append(l.Points, point)
	}
	if len(curve.node.Content) == 1 {
		curve.fault("one point makes no curve", "write two or more")
	}
	return l, true
}

func readPoint(it item) (CurvePoint, bool) {
	cells := it.list()
	if len(cells) != 2 {
		if it.isList() {
			it.fault(fmt.Sprintf("a point has two numbers, not %d", len(cells)), "write [10, 12.7]")
		}
		return CurvePoint{}, false
	}
	var d [2]unit.Decimal
	for i, c := range cells {
		s, ok := c.line()
		if !ok {
			return CurvePoint{}, false
		}
		var err error
		if d[i], err = unit.ParseDecimal(s); err != nil {
			c.fault(err.Error(), "write it such as 12.7")
			return CurvePoint{}, false
		}
	}
	return CurvePoint{d[0], d[1]}, true
}
