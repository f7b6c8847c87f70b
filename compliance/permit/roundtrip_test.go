package permit

import (
	"bytes"
	"flag"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
	"pgregory.net/rapid"
)

// TestRoundTrip takes notices of every form the model has through YAML and
// through the book, and wants them back exactly.
func TestRoundTrip(t *testing.T) {
	loc := london(t)
	seeded(t)
	rapid.Check(t, func(t *rapid.T) {
		g := gen{t, loc}
		n := g.notice()
		want := bareOf(n)
		var b bytes.Buffer
		if err := Write(&b, n); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		again, err := Read(&b, "again.yaml")
		if err != nil {
			t.Fatalf("what Write wrote is not read: %v\n%s", err, text)
		}
		if got := bareOf(again); got != want {
			t.Fatalf("YAML changes the notice\n%s\nwant %s\ngot  %s", text, want, got)
		}
		held, err := FromObject(ToObject(n))
		if err != nil {
			t.Fatalf("what ToObject wrote is not read: %v", err)
		}
		if got := bareOf(held); got != want {
			t.Fatalf("the book changes the notice\nwant %s\ngot  %s", want, got)
		}
		fromJSON, err := Read(bytes.NewReader(ToObject(n).Bytes()), "again.json")
		if err != nil {
			t.Fatalf("what ToObject wrote is not read as JSON: %v", err)
		}
		if got := bareOf(fromJSON); got != want || !Same(fromJSON, n) {
			t.Fatalf("JSON changes the notice\nwant %s\ngot  %s", want, got)
		}
		for _, c := range n.Conditions {
			one, _, err := ConditionOf(ConditionObject(c), n.Zone)
			if err != nil {
				t.Fatal(err)
			}
			if got, want := string(ConditionObject(one).Bytes()), string(ConditionObject(c).Bytes()); got != want {
				t.Fatalf("one condition changes\nwant %s\ngot  %s", want, got)
			}
			if s := Sentence(c, nil); !strings.HasSuffix(s, ".") || badVerb.MatchString(s) {
				t.Fatalf("sentence %q", s)
			}
		}
	})
}

// seeded makes the draws the same in every run, unless a seed is given.
func seeded(t *testing.T) {
	t.Helper()
	for name, value := range map[string]string{"rapid.seed": "20260617", "rapid.nofailfile": "true"} {
		f := flag.Lookup(name)
		if f == nil {
			t.Fatalf("rapid has no flag %s", name)
		}
		if f.Value.String() == f.DefValue {
			if err := flag.Set(name, value); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// badVerb is what package fmt leaves of a wrong verb.
var badVerb = regexp.MustCompile(`%!.?\(`)

// gen draws notices of which every value is within the language.
type gen struct {
	*rapid.T
	loc *time.Location
}

func pick[T any](g gen, name string, from ...T) T { return rapid.SampledFrom(from).Draw(g.T, name) }

func (g gen) maybe(name string) bool { return rapid.Bool().Draw(g.T, name) }

func (g gen) count(name string, low, high int) int { return rapid.IntRange(low, high).Draw(g.T, name) }

// prose is text as people type it, on several lines, with what YAML minds.
func (g gen) prose(name string) string {
	s := rapid.StringOfN(rapid.SampledFrom([]rune("ab Z09.,:;-#&*!|>'\"%@`{}[]<>=?\n\t~µ³é≤“\\/")), 1, 60, -1).Draw(g.T, name)
	if s = strings.TrimSpace(s); s == "" {
		return "as typed"
	}
	return s
}

// line is prose on one line.
func (g gen) line(name string) string {
	s := strings.TrimSpace(strings.NewReplacer("\n", " ", "\t", " ").Replace(g.prose(name)))
	if s == "" {
		return "x"
	}
	return s
}

func (g gen) word(name string) string {
	return rapid.StringMatching(`[A-Za-z][A-Za-z0-9.-]{0,8}`).Draw(g.T, name)
}

func (g gen) decimal(name string, low int64) unit.Decimal {
	return unit.Decimal{Coefficient: rapid.Int64Range(low, 999999).Draw(g.T, name), Places: int8(g.count(name+" places", 0, 3))}
}

func (g gen) date(name string) calendar.Date {
	return calendar.Date{Year: 2026, Month: time.January, Day: 1}.AddDays(g.count(name, 0, 3000))
}

func (g gen) instant(name string) time.Time {
	if g.maybe(name + " is a date") {
		return g.date(name).Start(g.loc)
	}
	return time.UnixMilli(rapid.Int64Range(1.7e12, 2.2e12).Draw(g.T, name)).In(g.loc)
}

func (g gen) period(name string) calendar.Period {
	text := pick(g, name, "instant", "event", "exposure period", "15 minutes", "clock hour", "local day", "day from 09:00", "UTC day",
		"UTC day from 09:00", "shift 19:00-07:00", "week from sunday", "calendar month", "28 days from 2026-01-05", "quarter",
		"calendar year", "year from 04-01", "rolling hour", "rolling 7 days", "rolling 12 months", "rolling 3 years", "whole life")
	p, err := calendar.ParsePeriod(text)
	if err != nil {
		g.Fatal(err)
	}
	return p
}

func (g gen) notice() *Notice {
	n := &Notice{Reference: g.line("reference"), Granted: g.date("granted"), Zone: g.loc.String()}
	if g.maybe("more of the head") {
		n.Type, n.IssuedBy, n.Revision, n.Holidays = g.line("type"), g.line("issuer"), g.line("revision"), g.word("holidays")
		n.Varies, n.Effective = g.line("varies"), g.date("effective")
	}
	for i := range g.count("clauses", 0, 2) {
		c := Clause{Number: g.line("number"), Text: g.prose("text"), Treated: pick(g, "treated", Judged, Attested, Information, NotEntered)}
		if g.maybe(fmt.Sprint("role ", i)) {
			c.Role, c.CheckedBy = g.line("role"), g.line("checked by")
		}
		n.Clauses = append(n.Clauses, c)
	}
	for i := range g.count("conditions", 0, 2) {
		n.Conditions = append(n.Conditions, g.condition(fmt.Sprintf("c%d", i)))
	}
	if g.maybe("removes") {
		n.Removes = []string{"r1", g.word("removes") + "-2"}
	}
	return n
}

func (g gen) condition(id string) *Condition {
	c := &Condition{ID: id, Clause: g.line("clause"), Title: g.line("title"), Kind: pick(g, "kind", kindWords()...)}
	c.resolve()
	c.Severity = pick(g, "severity", AsLimit, AsBenchmark, AsActionLevel, AsInformation)
	c.Missing = pick(g, "missing", CannotBeJudged, GapIsBreach, NotDone, CountGoesOn)
	c.Straddle = pick(g, "straddle", AtStart, SplitWindow, ByOwnTime)
	c.Edge = pick(g, "edge", WholeWindows, CutAtEdge)
	c.Place = g.place()
	if g.maybe("schedule") || c.Kind == Interval {
		c.Schedule = g.schedule()
	}
	if g.maybe("evidence") {
		c.Evidence = []string{"a log", g.line("evidence") + "-2"}
	}
	if g.maybe("force") {
		c.From, c.To, c.Phase, c.InPlace = g.instant("from"), g.instant("to"), g.line("phase"), g.word("in place of")
	}
	switch c.Kind {
	case Measured, Counted:
		g.measured(c)
	case Ordered:
		c.First, c.Then = g.happening("first"), g.happening("then")
		if g.maybe("good for") {
			c.GoodFor = &Length{g.count("good for n", 1, 99), pick(g, "good for unit", termUnits...)}
		}
	case Dated:
		c.Done, c.Window, c.Deadline = g.happening("done"), g.period("window"), g.deadline()
	case Interval:
		c.Subject, c.Window = g.word("subject"), g.period("window")
	case Present:
		c.Done = g.happening("done")
	case Stated:
		c.Role = g.line("role")
	}
	return c
}

func (g gen) measured(c *Condition) {
	c.Subject, c.Window, c.Statistic, c.Rule = g.word("subject"), g.period("window"), g.statistic(), g.rule()
	if g.maybe("basis") {
		c.Basis, c.With = g.line("basis"), map[string]string{g.line("key"): g.line("value"), "act": "strip"}
	}
	if c.Severity != AsInformation {
		for range g.count("limits", 1, 3) {
			c.Limits = append(c.Limits, g.limit())
		}
		c.Join = pick(g, "join", AllOf, AnyOf)
	}
	c.Rounding = pick(g, "rounding", Rounding{Mode: Unrounded}, Rounding{Mode: ToLimitDecimals}, Rounding{ToStep, "0.1"})
	if c.Kind == Measured {
		c.Nondetect = pick(g, "nondetects", Bracket, AsZero, AsHalf, AsFull, Estimated)
	}
	c.Coverage = pick(g, "coverage", Coverage{}, Coverage{Window: "75"}, Coverage{Per: "90"}, Coverage{"75", "90.5", 12, "24"})
	if g.maybe("duty") {
		p := g.period("duty every")
		c.Duty = pick(g, "duty form", &Duty{Least: "100"}, &Duty{Every: &p})
	}
	if g.maybe("quota") {
		c.Quota = &Quota{Days: g.count("quota days", 0, 99), Per: g.period("quota per"), Act: g.line("quota act")}
	}
}

func (g gen) place() Place {
	if g.maybe("whole site") {
		return Place{Mode: WholeSite}
	}
	p := Place{Mode: pick(g, "place mode", Each, Any, MeanOf), Codes: []string{g.word("place")}}
	if g.maybe("second place") {
		p.Codes = append(p.Codes, p.Codes[0]+"2")
	}
	if g.maybe("buffer") {
		p.BufferM = "12.5"
	}
	return p
}

func (g gen) schedule() *calendar.Schedule {
	s := &calendar.Schedule{Complement: g.maybe("complement")}
	for range g.count("slots", 1, 2) {
		slot := calendar.Slot{
			Days: calendar.Days(g.count("days", 1, 127)),
			From: calendar.Clock(g.count("from", 0, 1439)), To: calendar.Clock(g.count("to", 0, 1440)),
			Holidays: pick(g, "holidays", calendar.Closed, calendar.Ignored, calendar.Only),
		}
		if g.maybe("dates") {
			slot.First, slot.Last = g.date("first"), g.date("last")
		}
		s.Slots = append(s.Slots, slot)
	}
	return s
}

func (g gen) statistic() Statistic {
	s := Statistic{Name: pick(g, "statistic", statistics...)}
	switch {
	case s.Name == Percentile:
		s.Percentile = pick(g, "percentile", "90", "97.5")
	case s.Name == EnergyMean && g.maybe("integrate"):
		s.Integrate = "11.5 h"
	}
	return s
}

func (g gen) rule() Rule {
	p := g.period("per")
	return pick(g, "rule", Rule{Name: Every}, Rule{Name: LastOf}, Rule{Name: AtMost, K: 35, Per: p}, Rule{Name: AtMostShare, Share: "5.5", Per: p},
		Rule{Name: AtLeastOf, K: 9, N: 10}, Rule{Name: MeanOfAll, Per: p}, Rule{Name: AtMostTable, Per: p, Table: []Step{{4, 7, 1}, {8, 16, 2}}})
}

func (g gen) limit() Limit {
	l := Limit{
		Comparator: pick(g, "comparator", AtMostLimit, Below, AtLeastLimit, Above, Equal),
		Form:       pick(g, "form", Constant, OfBackground, OfCurve, OfOtherPlace, OfSurface, OfShare),
		Value:      g.decimal("value", -999999), Unit: pick(g, "unit", "", "dB", "mg/L", "m³", "%", "dB(A)"),
	}
	switch l.Form {
	case Constant:
		if g.maybe("between") {
			l.Comparator, l.Upper = Between, unit.Decimal{Coefficient: 1_000_000_000 + l.Value.Coefficient}
			l.OpenLow, l.OpenHigh = g.maybe("open low"), g.maybe("open high")
		}
	case OfBackground:
		l.Background = g.word("background")
		if g.maybe("floor") {
			f := g.decimal("floor", 0)
			l.Floor = &f
		}
		if g.maybe("cap") {
			c := unit.Decimal{Coefficient: 1_000_000_000}
			l.Cap = &c
		}
	case OfCurve:
		l.Value, l.Unit = unit.Decimal{}, "mm/s"
		l.Comparator = pick(g, "curve comparator", AtMostLimit, Below, AtLeastLimit, Above)
		l.Along = pick(g, "along", Frequency, Distance)
		l.Points = []CurvePoint{{g.decimal("x", 0), g.decimal("y", 0)}, {unit.Decimal{Coefficient: 1_000_000_000}, g.decimal("y", 0)}}
	case OfShare:
		l.Unit = "%"
		fallthrough
	default:
		l.Other = g.word("other")
	}
	return l
}

func (g gen) happening(name string) *Happening {
	h := &Happening{Subject: g.word(name)}
	if g.maybe(name + " with") {
		h.With = map[string]string{"act": g.line(name + " act"), "stage": "approved"}
	}
	if g.maybe(name + " place") {
		h.Place = g.word(name + " at")
	}
	return h
}

func (g gen) deadline() *Deadline {
	d := &Deadline{Counting: After, Roll: pick(g, "roll", NoRoll, NextWorking, PrevWorking)}
	relative := g.maybe("relative")
	if !relative || g.maybe("both") {
		d.By = g.date("by")
	}
	if !relative {
		return d
	}
	d.N, d.Unit = g.count("n", 1, 99), pick(g, "unit", termUnits...)
	d.Counting, d.Before = pick(g, "counting", After, BeginningWith, ClearDays), g.maybe("before")
	d.Start = pick(g, "start", EachHappening, FirstHappening, WindowEnd, Grant)
	if d.Start == EachHappening || d.Start == FirstHappening {
		d.Of = g.happening("of")
	}
	d.Later = !d.By.IsZero() && g.maybe("later")
	return d
}

// bareOf prints every field of a notice but the places in its text.
func bareOf(n *Notice) string {
	c := *n
	c.File, c.Where = "", nil
	c.Clauses = append([]Clause(nil), n.Clauses...)
	for i := range c.Clauses {
		c.Clauses[i].Where = nil
	}
	var b strings.Builder
	for _, one := range n.Conditions {
		p := *one
		p.Line, p.Where = 0, nil
		fmt.Fprintf(&b, "%+v first %+v then %+v done %+v", p.fields(), p.First, p.Then, p.Done)
		if p.Deadline != nil {
			fmt.Fprintf(&b, " deadline %+v of %+v", *p.Deadline, p.Deadline.Of)
		}
		if p.Duty != nil {
			fmt.Fprintf(&b, " duty %q %+v", p.Duty.Least, p.Duty.Every)
		}
		fmt.Fprintf(&b, " schedule %+v quota %+v good for %v\n", p.Schedule, p.Quota, p.GoodFor)
		for _, l := range p.Limits {
			fmt.Fprintf(&b, "  %s %v %s %s %v %v %v %q %q %v %v %v %s %q\n", l.Comparator, l.Form, l.Value, l.Upper, l.OpenLow, l.OpenHigh, l.Unit, l.Background, l.Other, l.Floor, l.Cap, l.Points, l.Along, l)
		}
	}
	c.Conditions = nil
	return fmt.Sprintf("%+v\n%s", c, pointers.ReplaceAllString(b.String(), "set"))
}

// fields lists what a condition holds outside pointers and limits.
func (c Condition) fields() []any {
	return []any{c.ID, c.Clause, c.Title, c.Kind, c.Subject, c.Basis, c.With, c.Place, c.Window.Kind, c.Window.N, c.Window.Starts, c.Window.Ends,
		c.Window.Weekday, c.Window.Anchor, c.Window.UTC, c.Statistic.Name, c.Statistic.Percentile, c.Statistic.Integrate, c.Rule.Name, c.Rule.K,
		c.Rule.N, c.Rule.Share, c.Rule.Per, c.Rule.Table, c.Edge, c.Join, c.InPlace, c.Rounding, c.Nondetect, c.Coverage, c.Severity, c.Missing,
		c.Straddle, c.Role, c.Evidence, c.From, c.To, c.Phase}
}
