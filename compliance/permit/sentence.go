package permit

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Sentence says in plain words what the program understands a condition to
// ask, so that whoever typed it can hold it against the notice. Quantities are
// named by their titles in q; one not listed, or a nil list, by its code.
func Sentence(c *Condition, q *quantity.List) string {
	s := speaker{c, q}
	var said []string
	say := func(words string) {
		if words != "" {
			said = append(said, capital(words)+".")
		}
	}
	say(s.main())
	say(s.rule())
	say(s.cut())
	say(s.instead())
	say(s.severity())
	say(s.coverage())
	say(s.readings())
	say(s.gap())
	say(s.duty())
	say(s.straddle())
	say(s.force())
	if len(c.Evidence) > 0 {
		say("evidence wanted: " + listed(c.Evidence, "and"))
	}
	return strings.Join(said, " ")
}

// speaker puts one condition into words.
type speaker struct {
	c *Condition
	q *quantity.List
}

// capital makes the first letter a capital, unless the word is one like pH.
func capital(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	second, _ := utf8.DecodeRuneInString(s[n:])
	if unicode.IsUpper(second) {
		return s
	}
	return string(unicode.ToUpper(first)) + s[n:]
}

// main says what must be so.
func (s speaker) main() string {
	c := s.c
	switch c.Kind {
	case Ordered:
		return s.ordered()
	case Dated:
		return s.at() + s.happening(c.Done) + " " + s.must() + " be " + done(c.Done) + " " + s.deadline()
	case Interval:
		return s.interval()
	case Present:
		words := s.at() + s.happening(c.Done) + " " + s.must() + " be on file"
		if c.Window != (calendar.Period{}) {
			words += " " + periodWords(c.Window)
		}
		return words + s.when()
	case Stated:
		words := fmt.Sprintf("%sthe %s states that clause %s is kept", s.at(), c.Role, c.Clause)
		if c.Subject != "" {
			words += " as to " + s.subject()
		}
		if c.Window != (calendar.Period{}) {
			words += ", " + periodWords(c.Window)
		}
		return words + s.when()
	}
	return s.measured()
}

// must is the verb of the severity.
func (s speaker) must() string {
	if s.c.Severity == AsBenchmark || s.c.Severity == AsActionLevel {
		return "should"
	}
	return "must"
}

func (s speaker) measured() string {
	c := s.c
	words := s.at()
	if words == "" {
		words = "on the whole site, "
	}
	switch c.Rule.Name {
	case MeanOfAll:
		words += fmt.Sprintf("the mean, %s, of %s %s", periodWords(c.Rule.Per), s.statistic(), periodWords(c.Window))
	case LastOf:
		words += fmt.Sprintf("%s %s, of which the latest counts,", s.statistic(), periodWords(c.Window))
	default:
		words += s.statistic() + " " + periodWords(c.Window)
	}
	if when := s.when(); when != "" {
		words += when + ","
	}
	if c.Severity == AsInformation {
		return words + " is worked out for information; nothing is judged"
	}
	return words + " " + s.must() + " " + s.limits()
}

// statistic says how a window's value is made.
func (s speaker) statistic() string {
	of := s.subject()
	switch st := s.c.Statistic; st.Name {
	case Value, "":
		return of
	case Count:
		return "the number of " + of
	case Sum:
		return "the sum of " + of
	case Change:
		return "the change in " + of + " from beginning to end"
	case Minimum:
		return "the lowest value of " + of
	case Maximum:
		return "the highest value of " + of
	case Duration:
		return "the time taken by " + of
	case Percentile:
		return "the " + st.Percentile + "th percentile of " + of
	case LowerBound:
		return "the lower bound, at " + st.Percentile + " % confidence, of the mean of " + of
	case EnergyMean:
		if st.Integrate != "" {
			return "the energy of " + of + " spread over " + st.Integrate
		}
		return "the energy mean of " + of
	default:
		return "the " + string(st.Name) + " of " + of
	}
}

// subject names the quantity with its basis and further words.
func (s speaker) subject() string {
	words := s.title(s.c.Subject)
	var more []string
	if s.c.Basis != "" {
		more = append(more, s.c.Basis)
	}
	if with := withWords(s.c.With); with != "" {
		more = append(more, with)
	}
	if len(more) > 0 {
		words += " (" + strings.Join(more, "; ") + ")"
	}
	return words
}

func (s speaker) title(code string) string {
	if s.q != nil {
		if q := s.q.Named(code); q != nil && q.Title != "" {
			return q.Title
		}
	}
	return subjectWords(code)
}

// happening names a dated thing in the record.
func (s speaker) happening(h *Happening) string {
	if h == nil {
		return "what is asked"
	}
	words := s.title(h.Subject)
	switch with := withWords(h.With); {
	case stage(h):
		words = fmt.Sprintf("the stage “%s” of %s", h.With["stage"], h.With["scheme"])
		if r := h.With["revision"]; r != "" {
			words += ", revision " + r
		}
	case with != "":
		words += " (" + with + ")"
	}
	if h.Place != "" {
		words += " at " + h.Place
	}
	return words
}

// stage tells whether a happening is the stage of a named paper.
func stage(h *Happening) bool { return h != nil && h.With["scheme"] != "" && h.With["stage"] != "" }

// done is how a happening comes about.
func done(h *Happening) string {
	if stage(h) {
		return "reached"
	}
	return "done"
}

func withWords(with map[string]string) string {
	var parts []string
	for _, k := range sortedKeys(with) {
		if k == "act" {
			parts = append(parts, with[k])
			continue
		}
		parts = append(parts, k+": "+with[k])
	}
	return strings.Join(parts, ", ")
}

func (s speaker) ordered() string {
	c := s.c
	words := fmt.Sprintf("%s%s %s come before %s%s; each such act is judged by itself", s.at(), s.happening(c.First), s.must(), s.happening(c.Then), s.when())
	if c.GoodFor != nil {
		words += fmt.Sprintf(", and what came first holds good for %s", c.GoodFor)
	}
	return words
}

// interval binds acts to hours, or where none are named to a place.
func (s speaker) interval() string {
	c := s.c
	may := " may take place only "
	if c.Severity == AsBenchmark || c.Severity == AsActionLevel {
		may = " should take place only "
	}
	if c.Schedule == nil {
		return s.subject() + may + "at " + placeWords(c.Place)
	}
	return s.at() + s.subject() + may + scheduleWords(c.Schedule)
}

// at says where, with a comma after it; "" for the whole site.
func (s speaker) at() string {
	if s.c.Place.Mode == WholeSite {
		return ""
	}
	return "at " + placeWords(s.c.Place) + ", "
}

// when says in which hours, with a blank before it; "" at all times.
func (s speaker) when() string {
	if s.c.Schedule == nil {
		return ""
	}
	return ", " + scheduleWords(s.c.Schedule)
}

// limits says what the value is compared with.
func (s speaker) limits() string {
	var parts []string
	for _, l := range s.c.Limits {
		parts = append(parts, s.limit(l))
	}
	if s.c.Join == AnyOf && len(parts) > 1 {
		return "either " + listed(parts, "or")
	}
	return listed(parts, "and")
}

func (s speaker) limit(l Limit) string {
	amount := l.Value.String() + ofUnit(l.Unit)
	switch l.Form {
	case OfBackground:
		return comparison(l.Comparator) + " " + backgroundWords(l)
	case OfCurve:
		return comparison(l.Comparator) + " " + curveWords(l)
	case OfOtherPlace:
		return fmt.Sprintf("%s %s that at %s", comparison(l.Comparator), strings.TrimPrefix(relative(l), "+"), l.Other)
	case OfSurface:
		return fmt.Sprintf("%s %s above surface %s", comparison(l.Comparator), amount, l.Other)
	case OfShare:
		return fmt.Sprintf("%s %s of %s", comparison(l.Comparator), amount, s.title(l.Other))
	}
	if l.Comparator == Between {
		ends := "both ends included"
		switch {
		case l.OpenLow && l.OpenHigh:
			ends = "both ends excluded"
		case l.OpenLow:
			ends = "the low end excluded"
		case l.OpenHigh:
			ends = "the high end excluded"
		}
		return fmt.Sprintf("lie between %s and %s%s, %s", l.Value, l.Upper, ofUnit(l.Unit), ends)
	}
	return comparison(l.Comparator) + " " + amount
}

// comparison is the verb after must or should.
func comparison(c Comparator) string {
	switch c {
	case AtMostLimit:
		return "be no more than"
	case Below:
		return "be less than"
	case AtLeastLimit:
		return "be at least"
	case Above:
		return "be more than"
	}
	return "be exactly"
}

func relative(l Limit) string {
	v, side := l.Value, "above"
	if v.Coefficient < 0 {
		v.Coefficient, side = -v.Coefficient, "below"
	}
	return v.String() + ofUnit(l.Unit) + " " + side
}

func backgroundWords(l Limit) string {
	v, way := l.Value, "plus"
	if v.Coefficient < 0 {
		v.Coefficient, way = -v.Coefficient, "less"
	}
	words := fmt.Sprintf("the background %s %s %s%s", l.Background, way, v, ofUnit(l.Unit))
	switch {
	case l.Floor != nil && l.Cap != nil:
		words += fmt.Sprintf(", the sum taken as no lower than %s and no higher than %s%s", l.Floor, l.Cap, ofUnit(l.Unit))
	case l.Floor != nil:
		words += fmt.Sprintf(", the sum taken as no lower than %s%s", l.Floor, ofUnit(l.Unit))
	case l.Cap != nil:
		words += fmt.Sprintf(", the sum taken as no higher than %s%s", l.Cap, ofUnit(l.Unit))
	}
	return words
}

func curveWords(l Limit) string {
	x := " Hz"
	if l.Along == Distance {
		x = " m"
	}
	var points []string
	for _, p := range l.Points {
		points = append(points, fmt.Sprintf("%s%s at %s%s", p.Y, ofUnit(l.Unit), p.X, x))
	}
	return fmt.Sprintf("the line by %s through %s, straight between and level beyond the ends", l.Along, listed(points, "and"))
}
