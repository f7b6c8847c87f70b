package permit

import (
	"fmt"
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// notice reads the whole text.
func (r *reader) notice(top item) *Notice {
	n := &Notice{}
	f, ok := top.fields("language", "permit", "clauses", "conditions", "removes")
	if !ok {
		return n
	}
	r.language(f)
	if it, ok := f.need("permit", "begin with permit: {reference: …, type: …, issued_by: …, granted: 2026-01-31}"); ok {
		r.head(it, n)
	}
	if it, ok := f.get("clauses"); ok {
		for _, one := range it.list() {
			n.Clauses = append(n.Clauses, r.clause(one))
		}
	}
	if it, ok := f.get("conditions"); ok {
		r.conditions(it, n)
	}
	if it, ok := f.get("removes"); ok {
		n.Removes = it.lines()
		if n.Where != nil {
			n.Where["removes"] = it.mark()
		}
	}
	return n
}

func (r *reader) language(f fields) {
	it, ok := f.get("language")
	if !ok {
		return
	}
	if s, ok := it.line(); ok && s != strconv.Itoa(Language) {
		it.fault(fmt.Sprintf("language %s is not known; this program reads language %d", s, Language), "use a program that knows it")
	}
}

func (r *reader) head(it item, n *Notice) {
	f, ok := it.fields("reference", "type", "issued_by", "granted", "revision", "varies", "effective", "zone", "holidays")
	if !ok {
		return
	}
	n.Where = f.where()
	if _, ok := f.need("reference", "write the authority's own reference"); ok {
		n.Reference = f.line("reference")
	}
	n.Type = f.line("type")
	n.IssuedBy = f.line("issued_by")
	if _, ok := f.need("granted", "write the date of the notice, such as 2026-01-31"); ok {
		parsed(f, "granted", &n.Granted, parseDate)
	}
	n.Revision = f.line("revision")
	n.Varies = f.line("varies")
	parsed(f, "effective", &n.Effective, parseDate)
	n.Holidays = f.line("holidays")
	parsed(f, "zone", &n.Zone, func(s string) (string, error) {
		if _, err := calendar.LoadZone(s); err != nil {
			return "", misread("write a name such as Europe/London, or UTC", "%v", err)
		}
		return s, nil
	})
}

func (r *reader) clause(it item) Clause {
	c := Clause{Treated: NotEntered}
	f, ok := it.fields("number", "text", "treated", "role", "checked_by")
	if !ok {
		return c
	}
	c.Where = f.where()
	if _, ok := f.need("number", "write the clause's number as the notice has it"); ok {
		c.Number = f.line("number")
	}
	set(f, "treated", &c.Treated, Judged, Attested, Information, NotEntered)
	if text, ok := f.get("text"); ok {
		c.Text, _ = text.text()
	} else if c.Treated != NotEntered {
		f.need("text", "type the clause as the notice has it")
	}
	c.Role = f.line("role")
	c.CheckedBy = f.line("checked_by")
	return c
}

// conditions reads the list, gives ids where none are written, and sets action
// levels beside their conditions.
func (r *reader) conditions(it item, n *Notice) {
	zone, zoneErr := noticeZone(n)
	var list []*Condition
	actions := map[*Condition]*Condition{}
	for _, one := range it.list() {
		c, action := r.condition(one, clockOf{zone, zoneErr})
		if c == nil {
			continue
		}
		list = append(list, c)
		if action != nil {
			actions[c] = action
		}
	}
	giveIDs(list)
	levels := map[string]bool{}
	for _, c := range list {
		if actions[c] != nil {
			levels[c.ID] = true
		}
	}
	for _, c := range list {
		n.Conditions = append(n.Conditions, c)
		if a := actions[c]; a != nil {
			a.ID = c.ID + actionSuffix
			if c.InPlace != "" && levels[c.InPlace] {
				a.InPlace = c.InPlace + actionSuffix
			}
			n.Conditions = append(n.Conditions, a)
		}
	}
}

// giveIDs gives conditions without an id their clause's number, with a letter
// by their place among the clause's conditions when it has several.
func giveIDs(list []*Condition) {
	ofClause := map[string]int{}
	for _, c := range list {
		ofClause[c.Clause]++
	}
	place := map[string]int{}
	for _, c := range list {
		place[c.Clause]++
		if c.ID != "" {
			continue
		}
		c.ID = c.Clause
		if ofClause[c.Clause] > 1 {
			c.ID += letters(place[c.Clause])
		}
	}
}

// letters counts a, b … z, aa, ab …
func letters(n int) string {
	var s string
	for ; n > 0; n = (n - 1) / 26 {
		s = string(rune('a'+(n-1)%26)) + s
	}
	return s
}

// clockOf reads dates and instants in a notice's zone.
type clockOf struct {
	zone *time.Location
	err  error // why dates cannot be read
}

func noticeZone(n *Notice) (*time.Location, error) {
	if n.Zone == "" {
		return nil, misread("add zone: to permit, such as Europe/London, or write an instant such as 2026-02-01T00:00:00Z", "a date needs a time zone, and the notice names none")
	}
	return calendar.LoadZone(n.Zone)
}

// instant reads a date, which is its local midnight, or an instant with its
// offset.
func (c clockOf) instant(s string) (time.Time, error) {
	if d, err := calendar.ParseDate(s); err == nil {
		if c.err != nil {
			return time.Time{}, c.err
		}
		return d.Start(c.zone), nil
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}, misread("write a date such as 2026-02-01, which is local midnight, or 2026-02-01T07:00:00+00:00", "%q is neither a date nor an instant with its offset", s)
	}
	if t = t.UTC(); t.Nanosecond()%int(time.Millisecond) != 0 || t.Year() < 1 || t.Year() > 9999 {
		return time.Time{}, misread("write it to the millisecond at most", "%q cannot be kept exactly", s)
	}
	if c.err == nil {
		t = t.In(c.zone)
	}
	return t, nil
}

func parseDate(s string) (calendar.Date, error) {
	d, err := calendar.ParseDate(s)
	if err != nil {
		return d, misread("write year-month-day", "%v", err)
	}
	return d, nil
}

func parsePeriod(s string) (calendar.Period, error) {
	p, err := calendar.ParsePeriod(s)
	if err != nil {
		return p, misread("write one of these", "%v", err)
	}
	return p, nil
}
