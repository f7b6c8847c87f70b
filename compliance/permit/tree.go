package permit

import (
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// tree is what a notice looks like when written: keys in reading order. Values
// are string, int64, bool, []any of the same, or tree.
type tree []branch

type branch struct {
	key   string
	value any
}

// put adds a text unless it is empty.
func (t *tree) put(key, text string) {
	if text != "" {
		*t = append(*t, branch{key, text})
	}
}

func (t *tree) add(key string, value any) { *t = append(*t, branch{key, value}) }

// writer says how much is written out.
type writer struct {
	full bool           // every default as well, and instants in UTC
	zone *time.Location // of dates; nil = instants in UTC
}

func (w writer) notice(n *Notice) tree {
	var head, t tree
	head.put("reference", n.Reference)
	head.put("type", n.Type)
	head.put("issued_by", n.IssuedBy)
	head.put("granted", dateText(n.Granted))
	head.put("revision", n.Revision)
	head.put("varies", n.Varies)
	head.put("effective", dateText(n.Effective))
	head.put("zone", n.Zone)
	head.put("holidays", n.Holidays)
	t.add("language", int64(Language))
	t.add("permit", head)
	var clauses, conditions []any
	for _, c := range n.Clauses {
		var one tree
		one.put("number", c.Number)
		one.put("text", c.Text)
		one.put("treated", string(c.Treated))
		one.put("role", c.Role)
		one.put("checked_by", c.CheckedBy)
		clauses = append(clauses, one)
	}
	for _, c := range n.Conditions {
		conditions = append(conditions, w.condition(c))
	}
	for _, l := range []struct {
		key  string
		list []any
	}{{"clauses", clauses}, {"conditions", conditions}, {"removes", texts(n.Removes)}} {
		if len(l.list) > 0 {
			t.add(l.key, l.list)
		}
	}
	return t
}

func dateText(d calendar.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

func texts(list []string) []any {
	var out []any
	for _, s := range list {
		out = append(out, s)
	}
	return out
}

// condition writes a condition; unless full, without what its kind implies.
func (w writer) condition(c *Condition) tree {
	usual := &Condition{Kind: c.Kind}
	usual.resolve()
	var t tree
	put := func(key, text, usual string) {
		if w.full || text != usual {
			t.put(key, text)
		}
	}
	t.put("id", c.ID)
	t.put("clause", c.Clause)
	put("title", c.Title, defaultTitle(c))
	t.put("kind", string(c.Kind))
	t.put("subject", c.Subject)
	t.put("basis", c.Basis)
	if len(c.With) > 0 {
		t.add("with", withTree(c.With))
	}
	switch {
	case c.Place.Mode == WholeSite:
		place := string(WholeSite)
		if c.Kind == Measured {
			t.put("place", place)
		} else {
			put("place", place, place)
		}
	default:
		t.add("place", c.Place.tree())
	}
	put("window", c.Window.String(), usual.Window.String())
	put("statistic", c.Statistic.String(), usual.Statistic.String())
	if c.Rule.Name == AtMostTable {
		t.add("rule", c.Rule.tree())
	} else if c.measures() {
		put("rule", c.Rule.String(), usual.Rule.String())
	}
	if c.Schedule != nil {
		t.add("schedule", w.schedule(c.Schedule))
	}
	put("edge", string(c.Edge), string(usual.Edge))
	w.limits(&t, c)
	put("severity", string(c.Severity), string(usual.Severity))
	put("missing", string(c.Missing), string(usual.Missing))
	put("straddle", string(c.Straddle), string(usual.Straddle))
	w.duties(&t, c)
	w.force(&t, c)
	return t
}

// measures tells whether the kind compares a number with a limit.
func (c *Condition) measures() bool { return c.Kind == Measured || c.Kind == Counted }

func (w writer) limits(t *tree, c *Condition) {
	if !c.measures() {
		return
	}
	var list []any
	for _, l := range c.Limits {
		list = append(list, l.branch())
	}
	switch {
	case len(list) == 1:
		t.add("limit", list[0])
	case len(list) > 1:
		t.add("limit", list)
	}
	if w.full || c.Join != AllOf {
		t.put("join", string(c.Join))
	}
	if w.full || c.Rounding.Mode != Unrounded {
		t.put("rounding", c.Rounding.String())
	}
	if c.Kind == Measured && (w.full || c.Nondetect != Bracket) {
		t.put("nondetects", string(c.Nondetect))
	}
	if v := c.Coverage.branch(); v != nil {
		t.add("coverage", v)
	}
}

func (w writer) duties(t *tree, c *Condition) {
	if d := c.Duty; d != nil {
		var one tree
		if d.Every != nil {
			one.put("every", d.Every.String())
		} else {
			one.put("windows", d.Least+" %")
		}
		t.add("monitoring", one)
	}
	if q := c.Quota; q != nil {
		t.add("quota", tree{{"days", int64(q.Days)}, {"per", q.Per.String()}, {"act", q.Act}})
	}
	t.put("in place of", c.InPlace)
	for _, h := range []struct {
		key string
		h   *Happening
	}{{"first", c.First}, {"then", c.Then}, {"done", c.Done}} {
		if h.h != nil {
			t.add(h.key, h.h.tree())
		}
	}
	if c.GoodFor != nil {
		t.put("good_for", c.GoodFor.String())
	}
	if c.Deadline != nil {
		t.add("deadline", w.deadline(c.Deadline))
	}
	t.put("role", c.Role)
}

func (w writer) force(t *tree, c *Condition) {
	if len(c.Evidence) > 0 {
		t.add("evidence", texts(c.Evidence))
	}
	if !c.From.IsZero() {
		t.put("from", instantText(c.From, w.zone))
	}
	if !c.To.IsZero() {
		t.put("to", instantText(c.To, w.zone))
	}
	t.put("phase", c.Phase)
}

func withTree(with map[string]string) tree {
	var t tree
	for _, k := range sortedKeys(with) {
		t.add(k, with[k])
	}
	return t
}

func (p Place) tree() any {
	if p.Mode == Each && len(p.Codes) == 1 && p.BufferM == "" && p.Codes[0] != string(WholeSite) {
		return p.Codes[0]
	}
	t := tree{{string(p.Mode), texts(p.Codes)}}
	if p.BufferM != "" {
		t.put("buffer", p.BufferM+" m")
	}
	return t
}

func (r Rule) tree() tree {
	var table []any
	for _, s := range r.Table {
		table = append(table, []any{int64(s.From), int64(s.To), int64(s.K)})
	}
	return tree{{"look-up table", table}, {"per", r.Per.String()}}
}

func (w writer) schedule(s *calendar.Schedule) any {
	var slots []any
	for _, slot := range s.Slots {
		var one tree
		if w.full || slot.Holidays != calendar.Only || slot.Days != calendar.EveryDay {
			one.put("days", calendar.FormatDays(slot.Days))
		}
		one.put("from", slot.From.String())
		one.put("to", slot.To.String())
		one.put("first", dateText(slot.First))
		one.put("last", dateText(slot.Last))
		if w.full || slot.Holidays != calendar.Closed {
			one.put("holidays", string(slot.Holidays))
		}
		slots = append(slots, one)
	}
	if s.Complement {
		return tree{{"complement of", slots}}
	}
	return slots
}

// branch returns the limit as text, or as keys where it is a curve.
func (l Limit) branch() any {
	if l.Form != OfCurve {
		return l.String()
	}
	var points []any
	for _, p := range l.Points {
		points = append(points, []any{p.X.String(), p.Y.String()})
	}
	return tree{{"curve", points}, {"compare", string(l.Comparator)}, {"unit", l.Unit}, {"along", string(l.Along)}}
}

// branch returns the coverage as text or keys; nil when none is stated.
func (c Coverage) branch() any {
	if c == (Coverage{}) {
		return nil
	}
	if c == (Coverage{Window: c.Window}) {
		return c.Window + " %"
	}
	var t tree
	for _, s := range []struct{ key, share string }{{"window", c.Window}, {"per", c.Per}} {
		if s.share != "" {
			t.put(s.key, s.share+" %")
		}
	}
	if c.LeastWindows > 0 {
		t.put("least windows", strconv.Itoa(c.LeastWindows))
	}
	if c.SpacingHours != "" {
		t.put("spacing", c.SpacingHours+" h")
	}
	return t
}

func (h *Happening) tree() tree {
	t := tree{{"subject", h.Subject}}
	if len(h.With) > 0 {
		t.add("with", withTree(h.With))
	}
	t.put("place", h.Place)
	return t
}

func (w writer) deadline(d *Deadline) any {
	if !w.full && d.N == 0 && d.Roll == NoRoll {
		return "by " + d.By.String()
	}
	var t tree
	t.put("by", dateText(d.By))
	if d.N > 0 {
		t.put("within", Length{d.N, d.Unit}.String())
		switch d.Start {
		case EachHappening:
			t.add("of", d.Of.tree())
		case FirstHappening:
			t.add("of", tree{{string(FirstHappening), d.Of.tree()}})
		default:
			t.put("of", string(d.Start))
		}
		if w.full || d.Before {
			t.add("before", d.Before)
		}
		if w.full || d.Counting != After {
			t.put("counting", string(d.Counting))
		}
	}
	if w.full || d.Roll != NoRoll {
		t.put("roll", string(d.Roll))
	}
	if d.N > 0 && !d.By.IsZero() {
		which := "earlier"
		if d.Later {
			which = "later"
		}
		t.put("whichever", which)
	}
	return t
}
