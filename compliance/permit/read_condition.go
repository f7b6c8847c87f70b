package permit

import (
	"fmt"
	"strings"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// commonKeys stand in a condition of any kind.
var commonKeys = []string{"id", "clause", "title", "kind", "place", "schedule", "edge", "severity", "missing", "straddle",
	"evidence", "in place of", "from", "to", "phase"}

// ofKind lists the kinds with the further keys that each takes.
var ofKind = []struct {
	kind Kind
	keys []string
}{
	{Measured, []string{"subject", "basis", "with", "window", "statistic", "rule", "limit", "join", "action_level",
		"rounding", "nondetects", "coverage", "monitoring", "quota"}},
	{Counted, []string{"subject", "basis", "with", "window", "statistic", "rule", "limit", "join", "action_level",
		"rounding", "coverage", "monitoring", "quota"}},
	{Ordered, []string{"first", "then", "good_for"}},
	{Dated, []string{"done", "deadline", "window"}},
	{Interval, []string{"subject", "basis", "with", "window", "quota"}},
	{Present, []string{"done", "window"}},
	{Stated, []string{"role", "subject", "with", "window"}},
}

func kindWords() []Kind {
	out := make([]Kind, len(ofKind))
	for i, k := range ofKind {
		out[i] = k.kind
	}
	return out
}

// everyKey returns the keys of all kinds, for a condition of unknown kind.
func everyKey() []string {
	out := append([]string(nil), commonKeys...)
	for _, k := range ofKind {
		for _, key := range k.keys {
			if !among(key, out) {
				out = append(out, key)
			}
		}
	}
	return out
}

// condition reads one condition, and its action level where it has one. A
// condition that is no mapping is nil.
func (r *reader) condition(it item, clock clockOf) (c, action *Condition) {
	f, ok := it.fields(everyKey()...)
	if !ok {
		return nil, nil
	}
	c = &Condition{Line: it.node.Line, Where: f.where()}
	kind, ok := f.need("kind", known("", plain(kindWords())))
	if !ok {
		return nil, nil
	}
	if c.Kind, ok = word(kind, kindWords()...); !ok {
		return nil, nil
	}
	f.only(c.Kind)
	c.resolve()
	c.readCommon(f, clock)
	switch c.Kind {
	case Measured, Counted:
		action = c.readMeasured(f)
	case Ordered:
		c.First = f.happening("first")
		c.Then = f.happening("then")
		parsed(f, "good_for", &c.GoodFor, parseLengthTo)
	case Dated:
		c.Done = f.happening("done")
		if d, ok := f.need("deadline", "write by 2026-05-01, or {within: 28 days, of: …}"); ok {
			c.Deadline = readDeadline(d)
			if c.Deadline.Start == WindowEnd && c.Window == (calendar.Period{}) {
				d.fault("there is no window whose end could count", "write window: beside it, such as window: quarter")
			}
		}
	case Interval:
		f.need("subject", "name the quantity whose acts are bound, such as site.act")
		if c.Schedule == nil && c.Place.Mode == WholeSite && !f.has("schedule") {
			f.need("schedule", "write when the acts are allowed, or a place within which they are")
		}
	case Present:
		c.Done = f.happening("done")
	case Stated:
		if _, ok := f.need("role", "name the post that states it, such as site manager"); ok {
			c.Role = f.line("role")
		}
	}
	if c.Title == "" {
		c.Title = defaultTitle(c)
	}
	return c, action
}

// only notes the keys that the kind does not take.
func (f fields) only(kind Kind) {
	for _, k := range ofKind {
		if k.kind != kind {
			continue
		}
		for _, key := range f.order {
			if among(key, commonKeys) || among(key, k.keys) {
				continue
			}
			f.r.fault(f.values[key], joinPath(f.path, key), fmt.Sprintf("a condition of kind %s takes no %s", kind, key),
				"leave it out, or choose another kind; "+string(kind)+" takes: "+strings.Join(append(append([]string(nil), k.keys...), commonKeys...), ", "))
		}
	}
}

// resolve sets the defaults of the condition's kind.
func (c *Condition) resolve() {
	c.Place = Place{Mode: WholeSite}
	c.Rule = Rule{Name: Every}
	c.Edge, c.Join = WholeWindows, AllOf
	c.Rounding, c.Nondetect = Rounding{Mode: Unrounded}, Bracket
	c.Severity, c.Straddle = AsLimit, AtStart
	c.Missing = CannotBeJudged
	switch c.Kind {
	case Ordered, Dated, Present, Stated:
		c.Missing = NotDone
	}
	switch c.Kind {
	case Counted:
		c.Statistic.Name = Count
	case Interval:
		c.Window = calendar.Period{Kind: calendar.Event}
	}
}

func (c *Condition) readCommon(f fields, clock clockOf) {
	c.ID = f.line("id")
	if _, ok := f.need("clause", "write the number of the clause it is judged of"); ok {
		c.Clause = f.line("clause")
	}
	c.Title = f.line("title")
	c.Subject = f.line("subject")
	c.Basis = f.line("basis")
	if it, ok := f.get("with"); ok {
		c.With = readWith(it)
	}
	if it, ok := f.get("place"); ok {
		c.Place = readPlace(it)
	} else if c.Kind == Measured {
		f.need("place", "write a place such as NSR1, {each: [NSR1, NSR2]} or whole site")
	}
	parsed(f, "window", &c.Window, parsePeriod)
	if it, ok := f.get("schedule"); ok {
		c.Schedule = readSchedule(it)
	}
	set(f, "edge", &c.Edge, WholeWindows, CutAtEdge)
	set(f, "severity", &c.Severity, AsLimit, AsBenchmark, AsActionLevel, AsInformation)
	set(f, "missing", &c.Missing, CannotBeJudged, GapIsBreach, NotDone, CountGoesOn)
	set(f, "straddle", &c.Straddle, AtStart, SplitWindow, ByOwnTime)
	c.InPlace = f.line("in place of")
	c.Phase = f.line("phase")
	if it, ok := f.get("evidence"); ok {
		c.Evidence = it.lines()
	}
	parsed(f, "from", &c.From, clock.instant)
	parsed(f, "to", &c.To, clock.instant)
	if it, ok := f.get("quota"); ok {
		c.Quota = readQuota(it)
	}
}

// readMeasured reads what measured and counted conditions share, and returns
// the sibling that an action level makes.
func (c *Condition) readMeasured(f fields) (action *Condition) {
	f.need("subject", "name the quantity, such as noise.laeq")
	f.need("window", "write the window that is judged, such as clock hour, local day or event; none is implied")
	if it, ok := f.get("statistic"); ok {
		c.Statistic = readStatistic(it)
	} else if c.Kind == Measured {
		switch c.Window.Kind {
		case calendar.Instant, calendar.Event, calendar.Exposure:
			c.Statistic.Name = Value
		default:
			f.need("statistic", "write how a window's value is made of its readings; "+known("", plain(statistics)))
		}
	}
	if it, ok := f.get("rule"); ok {
		c.Rule = readRule(it)
	}
	set(f, "join", &c.Join, AllOf, AnyOf)
	parsed(f, "rounding", &c.Rounding, parseRounding)
	set(f, "nondetects", &c.Nondetect, Bracket, AsZero, AsHalf, AsFull, Estimated)
	if it, ok := f.get("coverage"); ok {
		c.Coverage = readCoverage(it)
	}
	if it, ok := f.get("monitoring"); ok {
		c.Duty = readDuty(it)
	}
	return c.readLimits(f)
}

func (c *Condition) readLimits(f fields) (action *Condition) {
	limit, ok := f.get("limit")
	switch {
	case !ok && c.Severity != AsInformation:
		f.need("limit", "write it such as <= 55 dB; or severity: information when nothing is judged")
		return nil
	case ok && c.Severity == AsInformation:
		limit.fault("information has no limit", "leave the limit out, or write another severity")
		return nil
	case ok:
		c.Limits = readLimits(limit)
	}
	level, ok := f.get("action_level")
	if !ok {
		return nil
	}
	if c.Severity == AsActionLevel || c.Severity == AsInformation {
		level.fault("severity "+string(c.Severity)+" takes no action level", "leave it out")
		return nil
	}
	return c.actionLevel(level)
}

// actionLevel returns the sibling condition of severity action level.
func (c *Condition) actionLevel(level item) *Condition {
	if len(c.Limits) == 0 {
		return nil // its own fault is noted
	}
	text, ok := level.line()
	if !ok {
		return nil
	}
	l, err := parseActionLevel(text, c.Limits)
	if err != nil {
		level.wrong(err)
		return nil
	}
	a := *c
	a.Title = "action level: " + c.Title
	if c.Title == "" {
		a.Title = "action level: " + defaultTitle(c)
	}
	a.Severity, a.Limits, a.Join = AsActionLevel, []Limit{l}, AllOf
	a.Duty, a.InPlace = nil, ""
	return &a
}

// defaultTitle makes a few words of what the condition is about.
func defaultTitle(c *Condition) string {
	words := func(h *Happening) string {
		if h == nil {
			return "what is asked"
		}
		var parts []string
		for _, k := range sortedKeys(h.With) {
			parts = append(parts, h.With[k])
		}
		if len(parts) == 0 {
			return subjectWords(h.Subject)
		}
		return strings.Join(parts, ", ")
	}
	switch c.Kind {
	case Ordered:
		return words(c.First) + " before " + words(c.Then)
	case Dated:
		return words(c.Done) + " in time"
	case Present:
		return words(c.Done) + " on file"
	case Stated:
		return "stated by " + c.Role
	case Interval:
		if len(c.With) > 0 {
			return words(&Happening{With: c.With}) + " within bounds"
		}
		return subjectWords(c.Subject) + " within bounds"
	}
	return subjectWords(c.Subject)
}

// subjectWords are the words of a quantity's code; the code itself where it has
// none.
func subjectWords(code string) string {
	if words := strings.TrimSpace(strings.NewReplacer(".", " ", "-", " ", "_", " ").Replace(code)); words != "" {
		return words
	}
	return code
}
