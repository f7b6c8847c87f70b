package series

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

// Parser names this reader and its version; an import entry keeps it. A
// change of what a file is read as raises the version.
const Parser = "delimited.1"

// InFile is the zone of a file whose every stamp carries its own offset.
const InFile = "in file"

// LocalDay is the interval of readings that each stand for one civil day of
// the zone, however long.
const LocalDay = "local day"

// Mapping says how a delimited logger file is read. Nothing in it is guessed:
// what is not stated and has no default named here is an error.
type Mapping struct {
	Encoding    string // "utf-8" (default) or "latin-1"
	Delimiter   string // "," ";" "|" or "tab"
	DecimalMark string // "." (default) or ","
	HeaderRow   int    // line of the column names, from 1; 0 = none
	SkipRows    int    // rows to pass over after the header, such as a row of units
	FooterRows  int    // rows to leave out at the end
	Time        TimeColumns
	Values      []ValueColumn
	Missing     []string // texts that mean "no value", such as "NA"
	Flags       []Flag   // texts in a value or qualifier cell, with their meaning
}

// TimeColumns says how the time of a row is read.
type TimeColumns struct {
	Columns  []string // one, or two that are joined by a space: date and time
	Layout   string   // "iso" (default), or as "DD/MM/YYYY hh:mm:ss"; see Layouts
	Stamp    string   // begin, mid, end or instant: what the stamp is of the reading's interval
	Interval string   // seconds a reading stands for, such as "60" or "0.125", or "local day"; "" for instants
	Zone     string   // IANA name, "UTC", "+01:00", or "in file"
}

// ValueColumn is one channel in the file. Values stay in the unit they have.
type ValueColumn struct {
	Column    string // header cell without spaces around it, or "#2" for the second column
	Channel   string // channel code
	Unit      string // a unit the unit package knows; "" is a count
	Quantity  string // registered quantity; may be ""
	Qualifier string // column that holds "<", ">" or a flag; "" = none
}

// Flag gives a text its meaning: the word of a Mark, such as "overload", or
// "valid" for a qualifier that changes nothing.
type Flag struct{ Text, Means string }

// plan is a mapping checked and made ready.
type plan struct {
	mapping  Mapping
	comma    rune
	decimal  byte
	layout   layout
	shift    int64 // ms from the stamp to the begin of the reading
	span     int64 // ms
	localDay bool
	clock    zoneClock
	flags    map[string]Mark
}

// Check says everything that is wrong with the mapping.
func (m Mapping) Check() error {
	_, err := m.plan()
	return err
}

func (m Mapping) plan() (*plan, error) {
	p := &plan{mapping: m, decimal: '.', flags: map[string]Mark{}}
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf("mapping: "+format, args...)) }

	switch m.Encoding {
	case "", "utf-8", "latin-1":
	default:
		bad("encoding %q: utf-8 or latin-1 is known", m.Encoding)
	}
	switch m.Delimiter {
	case ",", ";", "|":
		p.comma = rune(m.Delimiter[0])
	case "tab", "\t":
		p.comma = '\t'
	default:
		bad("delimiter %q: write \",\", \";\", \"|\" or tab", m.Delimiter)
	}
	switch m.DecimalMark {
	case "", ".":
	case ",":
		p.decimal = ','
	default:
		bad("decimal mark %q: \".\" or \",\" is known", m.DecimalMark)
	}
	for _, n := range []struct {
		what string
		n    int
	}{{"header row", m.HeaderRow}, {"skip rows", m.SkipRows}, {"footer rows", m.FooterRows}} {
		if n.n < 0 || n.n > 10_000 {
			bad("%s %d: a number from 0 to 10000 is needed", n.what, n.n)
		}
	}
	errs = append(errs, p.checkTime(m.Time), p.checkValues(m), p.checkTexts(m))
	return p, errors.Join(errs...)
}

func (p *plan) checkTime(t TimeColumns) error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf("mapping: time: "+format, args...)) }
	if n := len(t.Columns); n != 1 && n != 2 {
		bad("%d columns: name one, or date and time", n)
	}
	var err error
	if p.layout, err = parseLayout(t.Layout); err != nil {
		bad("%w", err)
	}
	if p.clock, err = newZoneClock(t.Zone); err != nil {
		bad("%w", err)
	}
	if t.Interval == LocalDay {
		p.localDay = true
		if t.Stamp != "begin" || t.Zone == InFile {
			bad("an interval of a local day needs the stamp begin and a zone by name")
		}
	} else if p.span, err = intervalMs(t.Interval); err != nil {
		bad("%w", err)
	}
	switch {
	case t.Stamp == "instant":
		if t.Interval != "" {
			bad("an instant has no interval; say begin, mid or end for readings of %s", t.Interval)
		}
	case t.Stamp != "begin" && t.Stamp != "mid" && t.Stamp != "end":
		bad("stamp %q: say begin, mid, end or instant; it is never guessed", t.Stamp)
	case t.Interval == "":
		bad("stamp %s needs the interval in seconds", t.Stamp)
	case t.Stamp == "mid":
		if p.span%2 != 0 {
			bad("interval %s has no middle in whole milliseconds", t.Interval)
		}
		p.shift = p.span / 2
	case t.Stamp == "end":
		p.shift = p.span
	}
	return errors.Join(errs...)
}

// intervalMs reads seconds as whole milliseconds, up to 400 days.
func intervalMs(s string) (int64, error) {
	if s == "" {
		return 0, nil
	}
	d, err := unit.ParseDecimal(s)
	if err == nil {
		d, err = d.Trim().Rescale(3)
	}
	if err != nil || d.Coefficient <= 0 || d.Coefficient > 400*86_400_000 {
		return 0, fmt.Errorf("interval %q: write seconds, such as 60 or 0.125, or %q", s, LocalDay)
	}
	return d.Coefficient, nil
}

func (p *plan) checkValues(m Mapping) error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf("mapping: values: "+format, args...)) }
	if len(m.Values) == 0 {
		bad("no column is named")
	}
	seen := map[string]bool{}
	for i, v := range m.Values {
		if v.Column == "" || v.Channel == "" {
			bad("number %d needs a column and a channel", i+1)
		}
		if seen[v.Channel] {
			bad("channel %s stands twice", v.Channel)
		}
		seen[v.Channel] = true
		if _, ok := unit.Lookup(v.Unit); !ok {
			bad("channel %s: %q: %w", v.Channel, v.Unit, unit.ErrUnknown)
		}
	}
	return errors.Join(errs...)
}

func (p *plan) checkTexts(m Mapping) error {
	var errs []error
	add := func(text string, mark Mark) {
		text = strings.TrimSpace(text)
		if had, ok := p.flags[text]; ok && had != mark {
			errs = append(errs, fmt.Errorf("mapping: text %q means both %s and %s", text, had, mark))
		}
		p.flags[text] = mark
	}
	for _, s := range m.Missing {
		add(s, Blank)
	}
	for _, f := range m.Flags {
		mark, err := ParseMark(f.Means)
		if err != nil {
			errs = append(errs, fmt.Errorf("mapping: flag %q: %w", f.Text, err))
			continue
		}
		add(f.Text, mark)
	}
	return errors.Join(errs...)
}

// zoneClock turns wall-clock times into UTC.
type zoneClock struct {
	loc    *time.Location // nil: every stamp must carry its offset
	day    int64          // last day since 1970 looked at
	plain  bool           // no change of clock is near that day
	offset int64          // ms, of a plain day
}

func newZoneClock(name string) (zoneClock, error) {
	c := zoneClock{day: math.MinInt64}
	if name == "" {
		return c, errors.New("no zone: say the IANA name, UTC, an offset such as +01:00, or in file; it is never guessed")
	}
	if name == InFile {
		return c, nil
	}
	if name[0] == '+' || name[0] == '-' {
		seconds, ok := readOffset(name)
		if !ok {
			return c, fmt.Errorf("zone %q is no offset such as +01:00", name)
		}
		c.loc = time.FixedZone(name, int(seconds))
		return c, nil
	}
	loc, err := calendar.LoadZone(name)
	c.loc = loc
	return c, err
}

var (
	errNoOffset = errors.New("the stamp carries no offset and the zone is \"in file\": name the zone")
	errRepeated = errors.New("the clock shows this time twice that night and the stamp has no offset: " +
		"export with offsets, or if the logger did not change its clock give the zone as the offset it kept, such as +00:00")
	errSkipped = errors.New("the clock never shows this time, it was set forward over it: " +
		"if the logger did not change its clock give the zone as the offset it kept, such as +00:00")
)

// utc returns the instant, ms, of a stamp.
func (c *zoneClock) utc(s stamp) (int64, error) {
	if s.hasOffset {
		return s.wall - s.offset*1000, nil
	}
	if c.loc == nil {
		return 0, errNoOffset
	}
	day := floorDay(s.wall)
	if day != c.day {
		c.look(day)
	}
	if c.plain {
		return s.wall - c.offset, nil
	}
	first, _, n := calendar.Local(time.UnixMilli(s.wall), c.loc)
	switch {
	case s.dateOnly || n == 1:
		return first.UnixMilli(), nil
	case n == 2:
		return 0, errRepeated
	}
	return 0, errSkipped
}

func floorDay(ms int64) int64 {
	day := ms / 86_400_000
	if ms%86_400_000 < 0 {
		day--
	}
	return day
}

// look finds whether the clock is set within a day of the day.
func (c *zoneClock) look(day int64) {
	_, before := time.UnixMilli((day - 1) * 86_400_000).In(c.loc).Zone()
	_, after := time.UnixMilli((day + 2) * 86_400_000).In(c.loc).Zone()
	c.day, c.plain, c.offset = day, before == after, int64(before)*1000
}
