package permit

import (
	"fmt"
	"slices"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
	"github.com/swardbook/swardbook/compliance/unit"
)

// force checks that the condition stands long enough to be judged.
func (o *one) force() {
	c := o.c
	if c.From.IsZero() || c.To.IsZero() {
		return
	}
	if !c.From.Before(c.To) {
		o.note("to", "the condition ends before it begins", "write to: after from:; the day of to: is not included")
		return
	}
	if least, _ := lengths(c.Window); least > c.To.Sub(c.From) {
		o.note("window", fmt.Sprintf("the window, %s, is longer than the condition is in force", c.Window), "choose a shorter window, or correct from: and to:")
	}
}

const day = 24 * time.Hour

// lengths returns the least and the greatest length of a window of the period;
// 0 where the record, not the calendar, tells.
func lengths(p calendar.Period) (least, most time.Duration) {
	n := time.Duration(p.N)
	switch p.Kind {
	case calendar.Minutes:
		return n * time.Minute, n * time.Minute
	case calendar.ClockHour, calendar.RollingHour:
		return time.Hour, time.Hour
	case calendar.Shift:
		span := time.Duration((int(p.Ends)-int(p.Starts)+24*60)%(24*60)) * time.Minute
		return max(span-time.Hour, time.Minute), span + time.Hour // a night the clocks change in
	case calendar.LocalDay, calendar.PermitDay:
		return 23 * time.Hour, 25 * time.Hour
	case calendar.Week:
		return 7*day - time.Hour, 7*day + time.Hour
	case calendar.FourWeeks:
		return 28*day - time.Hour, 28*day + time.Hour
	case calendar.Month:
		return 28*day - time.Hour, 31*day + time.Hour
	case calendar.Quarter:
		return 90*day - time.Hour, 92*day + time.Hour
	case calendar.Year, calendar.PermitYear:
		return 365 * day, 366 * day
	case calendar.RollingDays:
		return n*day - time.Hour, n*day + time.Hour
	case calendar.RollingMon:
		return n*28*day - time.Hour, n*31*day + time.Hour
	case calendar.RollingYear:
		return n * 365 * day, n * 366 * day
	}
	return 0, 0
}

// statistic checks that the statistic fits the quantity.
func (o *one) statistic() {
	s := o.c.Statistic.Name
	if o.q == nil {
		return
	}
	switch s {
	case EnergyMean:
		if !o.q.Decibel {
			o.note("statistic", fmt.Sprintf("an energy mean is of levels in dB, and %s is none", o.q.Title), "write arithmetic mean")
		}
	case ArithmeticMean, FlowWeighted, GeometricMean, Sum:
		if o.q.Decibel {
			o.note("statistic", fmt.Sprintf("the %s of levels in dB says nothing: they are logarithms", s), "write energy mean")
		}
	case Count:
		if (o.q.Form == quantity.Series || o.q.Form == quantity.Levels) && !o.selects() {
			o.note("statistic", fmt.Sprintf("%s is not counted but measured", o.q.Title), "write a mean, min, max or sum, or say in with which values are counted, such as over: 60 dB")
		}
	case Duration:
		if o.q.Form != quantity.Acts && (o.q.Form != quantity.Series || !o.selects()) {
			o.note("statistic", fmt.Sprintf("%s has no duration; only acts have one", o.q.Title), "write another statistic, name acts, or say in with which readings count, such as over: 60 dB")
		}
	}
}

// selects tells whether the condition says which values it counts.
func (o *one) selects() bool {
	return slices.ContainsFunc(SelectionWords(), func(w string) bool { return o.c.With[w] != "" })
}

// rule checks the outer rule against the window.
func (o *one) rule() {
	r := o.c.Rule
	if o.c.Severity == AsInformation && r.Name != Every && r.Name != MeanOfAll && r.Name != LastOf {
		o.note("rule", "information allows nothing over a limit, for it has none", "leave the rule out")
	}
	if r.Name == MeanOfAll && o.q != nil && o.q.Decibel {
		o.note("rule", "a mean of windows averages decibels, which are logarithms", "make the window longer instead, with statistic energy mean")
	}
	if r.Per == (calendar.Period{}) {
		if o.c.Coverage.Per != "" || o.c.Coverage.LeastWindows > 0 {
			o.note("coverage", "coverage per period needs a rule with a period", "write a rule such as at most 35 per calendar year or mean per calendar month")
		}
		return
	}
	switch r.Per.Kind {
	case calendar.Instant, calendar.Event, calendar.Exposure, calendar.RollingHour:
		o.note("rule", fmt.Sprintf("windows cannot be counted per %s", r.Per), "write a day, week, month, year or rolling period")
	}
	least, _ := lengths(o.c.Window)
	if _, most := lengths(r.Per); most > 0 && least > most {
		o.note("rule", fmt.Sprintf("the rule's period, %s, is shorter than the window, %s", r.Per, o.c.Window), "choose a longer period")
	}
}

func (o *one) duty() {
	d := o.c.Duty
	if d == nil {
		return
	}
	if d.Every != nil {
		switch d.Every.Kind {
		case calendar.Instant, calendar.Event, calendar.Exposure:
			o.note("monitoring", fmt.Sprintf("one result per %s cannot be asked for", d.Every), "write a day, week, month, quarter or year")
		}
		return
	}
	if o.c.Window.Kind == calendar.Instant {
		o.note("monitoring", "results have no windows that could be missed", "write {every: calendar month} or another period")
	}
}

// deadline checks a term.
func (o *one) deadline() {
	d := o.c.Deadline
	if d == nil || d.N == 0 {
		return
	}
	if (d.Unit == "minute" || d.Unit == "hour") && (d.Counting == BeginningWith || d.Counting == ClearDays || d.Roll != NoRoll) {
		o.note("deadline", d.Unit+"s are elapsed time, which neither counts days nor rolls", "leave counting and roll out, or count in days")
	}
	if (d.Unit == "working day" || d.Roll != NoRoll) && o.n.Holidays == "" {
		o.note("deadline", "working days need a holiday list, and the notice names none", "name it as holidays: in permit")
	}
	if d.Before && d.Start == WindowEnd && d.Counting == BeginningWith {
		o.note("deadline", "a term counted back from a window's end begins with no day", "leave counting out")
	}
}

// limits checks units and numbers.
func (o *one) limits() {
	key := "limit"
	if _, written := o.c.Where[key]; !written {
		key = "action_level"
	}
	if o.c.Severity == AsActionLevel && o.c.Where["action_level"] != (Mark{}) {
		key = "action_level"
	}
	if len(o.c.Limits) == 0 && o.c.Severity != AsInformation {
		o.note(key, "there is no limit", "write it such as <= 55 dB")
	}
	for i, l := range o.c.Limits {
		for _, before := range o.c.Limits[:i] {
			if before.String() == l.String() && l.Form != OfCurve {
				o.note(key, fmt.Sprintf("the limit %s stands twice", l), "keep one")
			}
		}
		o.unit(key, l)
		o.floor(key, l)
		switch l.Form {
		case OfOtherPlace:
			o.known(l.Other, key)
		case OfShare:
			if other := o.named(l.Other, key); other != nil && o.q != nil {
				if err := unit.Convertible(other.Unit, o.q.Unit); err != nil {
					o.note(key, fmt.Sprintf("%s cannot be a share of %s: %v", o.q.Title, other.Title, err), "name a quantity of the same kind")
				}
			}
		}
	}
	o.together(key)
}

// wanted returns the unit that a limit must convert to.
func (o *one) wanted() (symbol string, ok bool) {
	switch o.c.Statistic.Name {
	case Count:
		return "", true
	case Share:
		return "%", true
	case Duration:
		return "h", true
	}
	if o.c.Kind == Counted && o.c.Statistic.Name == "" {
		return "", true
	}
	if o.q == nil {
		return "", false
	}
	return o.q.Unit, true
}

func (o *one) unit(key string, l Limit) {
	want, ok := o.wanted()
	if !ok || l.Form == OfShare || l.Form == OfOtherPlace && l.Unit == "%" {
		return
	}
	switch err := unit.Convertible(l.Unit, want); {
	case l.Unit == "" && want != "":
		o.note(key, fmt.Sprintf("the limit %s has no unit", l), "write it in "+want+", or in a unit that converts to it")
	case want == "" && l.Unit != "":
		o.note(key, fmt.Sprintf("the limit %s has a unit, and a count has none", l), "write the number alone, or another statistic")
	case err != nil:
		o.note(key, fmt.Sprintf("%s cannot be judged in %s: %v", o.title(), l.Unit, err), "write the limit in "+want+", or in a unit that converts to it")
	}
}

func (o *one) title() string {
	if o.q != nil {
		return o.q.Title
	}
	return o.c.Subject
}

// floor refuses a limit that no value can meet.
func (o *one) floor(key string, l Limit) {
	if o.q == nil || o.q.NotBelow == nil || l.Form != Constant {
		return
	}
	high := l.Value
	switch l.Comparator {
	case AtMostLimit, Below, Equal:
	case Between:
		high = l.Upper
	default:
		return
	}
	v, err := unit.Convert(high.Float(), l.Unit, o.q.Unit)
	if err == nil && v < *o.q.NotBelow {
		o.note(key, fmt.Sprintf("no value can meet %s: %s is never below %g %s", l, o.q.Title, *o.q.NotBelow, o.q.Unit), "see the number and its sign")
	}
}

// ends are the bounds that a constant limit sets, in the quantity's unit.
type ends struct {
	low, high         float64
	hasLow, hasHigh   bool
	openLow, openHigh bool
}

// endsOf returns the bounds of a constant limit, when they can be compared.
func endsOf(l Limit, symbol string) (ends, bool) {
	v, err := unit.Convert(l.Value.Float(), l.Unit, symbol)
	if err != nil || l.Form != Constant {
		return ends{}, false
	}
	v = unit.Round9(v)
	switch l.Comparator {
	case AtMostLimit, Below:
		return ends{high: v, hasHigh: true, openHigh: l.Comparator == Below}, true
	case AtLeastLimit, Above:
		return ends{low: v, hasLow: true, openLow: l.Comparator == Above}, true
	case Equal:
		return ends{low: v, high: v, hasLow: true, hasHigh: true}, true
	}
	high, err := unit.Convert(l.Upper.Float(), l.Unit, symbol)
	return ends{v, unit.Round9(high), true, true, l.OpenLow, l.OpenHigh}, err == nil
}

// apart tells whether nothing lies within both.
func (a ends) apart(b ends) bool {
	gap := func(low, high ends) bool {
		return low.hasLow && high.hasHigh && (low.low > high.high || low.low == high.high && (low.openLow || high.openHigh))
	}
	return gap(a, b) || gap(b, a)
}

// slacker tells whether a lets something through that b does not.
func (a ends) slacker(b ends) bool {
	return b.hasHigh && (!a.hasHigh || a.high > b.high) || b.hasLow && (!a.hasLow || a.low < b.low)
}

// together checks several limits of one condition against each other.
func (o *one) together(key string) {
	want, ok := o.wanted()
	if !ok {
		return
	}
	for i, l := range o.c.Limits {
		a, okA := endsOf(l, want)
		for _, m := range o.c.Limits[:i] {
			b, okB := endsOf(m, want)
			switch {
			case !okA || !okB:
			case o.c.Join == AllOf && a.apart(b):
				o.note(key, fmt.Sprintf("no value can meet both %s and %s", m, l), "see the numbers and comparators, or write join: any of")
			case o.c.Join == AnyOf && a.hasLow != b.hasLow && !a.apart(b) && !(a.hasLow && a.hasHigh) && !(b.hasLow && b.hasHigh):
				o.note(key, fmt.Sprintf("every value meets %s or %s", m, l), "see the numbers and comparators, or write join: all of")
			}
		}
	}
}

// contradictions compares conditions with each other: an action level beyond
// its limit, and two limits on one thing that no value can meet.
func (k *checker) contradictions() {
	byID := map[string]*Condition{}
	for _, c := range k.n.Conditions {
		byID[c.ID] = c
	}
	for i, c := range k.n.Conditions {
		if !c.measures() || len(c.Limits) != 1 {
			continue
		}
		a, ok := endsOf(c.Limits[0], c.Limits[0].Unit)
		if !ok {
			continue
		}
		o := &one{checker: k, c: c, path: fmt.Sprintf("conditions[%d]", i)}
		for _, other := range k.n.Conditions[:i] {
			b, ok := oneLimit(other, c.Limits[0].Unit)
			switch {
			case !ok:
			case c.ID == other.ID+actionSuffix && a.slacker(b):
				o.note("action_level", fmt.Sprintf("the action level %s lies beyond the limit %s", c.Limits[0], other.Limits[0]), "set it on the safe side of the limit")
			case c.Severity == AsLimit && other.Severity == AsLimit && alike(c, other) && a.apart(b):
				o.note("limit", fmt.Sprintf("no value can meet both this and condition %s, %s", other.ID, other.Limits[0]), "see both, or say in place of which one stands")
			}
		}
	}
}

func oneLimit(c *Condition, symbol string) (ends, bool) {
	if !c.measures() || len(c.Limits) != 1 {
		return ends{}, false
	}
	return endsOf(c.Limits[0], symbol)
}

// alike tells whether two conditions are of the same windows of one thing.
func alike(a, b *Condition) bool {
	shares := a.Place.Mode == WholeSite && b.Place.Mode == WholeSite
	for _, p := range a.Place.Codes {
		shares = shares || among(p, b.Place.Codes)
	}
	return shares && a.Subject == b.Subject && a.Basis == b.Basis && withWords(a.With) == withWords(b.With) && a.Window == b.Window &&
		a.Statistic == b.Statistic && a.Rule.Name == Every && b.Rule.Name == Every && a.Schedule == nil && b.Schedule == nil &&
		a.InPlace == "" && b.InPlace == "" && a.Phase == b.Phase && a.Quota == nil && b.Quota == nil
}
