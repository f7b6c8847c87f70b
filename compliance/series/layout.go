package series

import (
	"fmt"
	"strings"
)

// Layouts is the help text for time layouts.
const Layouts = "iso, or a pattern of YYYY (YY = 20YY), MM, M, MMM (Jan), DD, D, hh, h, mm, ss, fff (fraction of a second), " +
	"AP (am or pm, with h or hh), Z (offset: Z, +01:00, +0100), other characters as they stand: DD/MM/YYYY hh:mm:ss"

// stamp is a wall-clock time as read.
type stamp struct {
	wall      int64 // ms since 1970, as if the clock showed UTC
	offset    int64 // seconds east, when hasOffset
	hasOffset bool
	dateOnly  bool
}

// layout is a parsed time layout; no steps means ISO 8601.
type layout []step

type step struct {
	field   byte // one of Y y M m N D H I S F A Z, or 0 for a literal
	width   int  // digits; 0 = one or two
	literal byte
}

// tokens are matched in this order.
var tokens = []struct {
	text string
	step step
}{
	{"YYYY", step{field: 'Y', width: 4}},
	{"YY", step{field: 'y', width: 2}},
	{"MMM", step{field: 'N'}},
	{"MM", step{field: 'M', width: 2}},
	{"M", step{field: 'M'}},
	{"DD", step{field: 'D', width: 2}},
	{"D", step{field: 'D'}},
	{"hh", step{field: 'H', width: 2}},
	{"h", step{field: 'H'}},
	{"mm", step{field: 'I', width: 2}},
	{"ss", step{field: 'S', width: 2}},
	{"fff", step{field: 'F'}},
	{"AP", step{field: 'A'}},
	{"Z", step{field: 'Z'}},
}

func parseLayout(s string) (layout, error) {
	if s == "" || s == "iso" {
		return nil, nil
	}
	var l layout
	has := map[byte]bool{}
next:
	for rest := s; rest != ""; {
		for _, t := range tokens {
			if strings.HasPrefix(rest, t.text) {
				if has[t.step.field] {
					return nil, fmt.Errorf("layout %q names %s twice", s, t.text)
				}
				has[t.step.field] = true
				l = append(l, t.step)
				rest = rest[len(t.text):]
				continue next
			}
		}
		if c := rest[0]; c|0x20 >= 'a' && c|0x20 <= 'z' && c != 'T' || c >= '0' && c <= '9' || c >= 0x80 {
			return nil, fmt.Errorf("layout %q: %q is not known; write %s", s, rest[:1], Layouts)
		}
		l = append(l, step{literal: rest[0]})
		rest = rest[1:]
	}
	if !(has['Y'] || has['y']) || !(has['M'] || has['N']) || !has['D'] {
		return nil, fmt.Errorf("layout %q names no year, month and day; write %s", s, Layouts)
	}
	if has['I'] && !has['H'] || has['S'] && !has['I'] || has['F'] && !has['S'] || has['A'] && !has['H'] {
		return nil, fmt.Errorf("layout %q leaves a gap between hours, minutes and seconds", s)
	}
	return l, nil
}

// civil collects the fields of a stamp.
type civil struct {
	year, month, day, hour, minute, second, ms int
	hasTime, pm, am                            bool
}

const isoForm = "YYYY-MM-DD, then T or a space, hh:mm, :ss and a fraction if wanted, and Z or an offset if wanted"

func (l layout) read(s string) (stamp, error) {
	s = strings.TrimSpace(s)
	if l == nil {
		return readISO(s)
	}
	var c civil
	var out stamp
	rest := s
	for _, st := range l {
		var ok bool
		if rest, ok = st.read(rest, &c, &out); !ok {
			return stamp{}, fmt.Errorf("%q does not fit the layout", s)
		}
	}
	if rest != "" {
		return stamp{}, fmt.Errorf("%q is longer than the layout", s)
	}
	return c.stamp(s, out)
}

func (st step) read(s string, c *civil, out *stamp) (string, bool) {
	var ok bool
	switch st.field {
	case 0:
		return strings.CutPrefix(s, string(rune(st.literal)))
	case 'Y':
		c.year, s, ok = digits(s, 4, 4)
	case 'y':
		c.year, s, ok = digits(s, 2, 2)
		c.year += 2000
	case 'M':
		c.month, s, ok = st.number(s)
	case 'N':
		c.month, s, ok = monthName(s)
	case 'D':
		c.day, s, ok = st.number(s)
	case 'H':
		c.hasTime = true
		c.hour, s, ok = st.number(s)
	case 'I':
		c.minute, s, ok = st.number(s)
	case 'S':
		c.second, s, ok = st.number(s)
	case 'F':
		c.ms, s, ok = fraction(s)
	case 'A':
		half := strings.ToLower(s[:min(2, len(s))])
		c.am, c.pm = half == "am", half == "pm"
		if ok = c.am || c.pm; ok {
			s = s[2:]
		}
	case 'Z':
		out.offset, ok = readOffset(s)
		out.hasOffset, s = ok, ""
	}
	return s, ok
}

func (st step) number(s string) (int, string, bool) {
	if st.width == 0 {
		return digits(s, 1, 2)
	}
	return digits(s, st.width, st.width)
}

// digits reads at least least and at most most digits.
func digits(s string, least, most int) (n int, rest string, ok bool) {
	i := 0
	for i < len(s) && i < most && s[i] >= '0' && s[i] <= '9' {
		n = n*10 + int(s[i]-'0')
		i++
	}
	return n, s[i:], i >= least
}

// fraction reads digits of a fraction of a second; finer than milliseconds
// must be zero.
func fraction(s string) (ms int, rest string, ok bool) {
	i, scale := 0, 100
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		d := int(s[i] - '0')
		if scale == 0 && d != 0 {
			return 0, s, false
		}
		ms += d * scale
		scale /= 10
		i++
	}
	return ms, s[i:], i > 0 && i <= 9
}

var monthNames = [...]string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

func monthName(s string) (int, string, bool) {
	if len(s) < 3 {
		return 0, s, false
	}
	name := strings.ToLower(s[:3])
	for i, m := range monthNames {
		if name == m {
			return i + 1, s[3:], true
		}
	}
	return 0, s, false
}

// readOffset reads Z, +01:00, +0100 or +01 as seconds east.
func readOffset(s string) (int64, bool) {
	if s == "Z" || s == "z" {
		return 0, true
	}
	if len(s) < 3 || s[0] != '+' && s[0] != '-' {
		return 0, false
	}
	h, rest, ok := digits(s[1:], 2, 2)
	rest = strings.TrimPrefix(rest, ":")
	m := 0
	if ok && rest != "" {
		m, rest, ok = digits(rest, 2, 2)
	}
	if !ok || rest != "" || h > 15 || m > 59 {
		return 0, false
	}
	seconds := int64(h*3600 + m*60)
	if s[0] == '-' {
		seconds = -seconds
	}
	return seconds, true
}

func readISO(s string) (stamp, error) {
	bad := func() (stamp, error) { return stamp{}, fmt.Errorf("%q is not a time written as %s", s, isoForm) }
	var c civil
	var out stamp
	if len(s) < 10 || s[4] != '-' || s[7] != '-' {
		return bad()
	}
	var okY, okM, okD bool
	c.year, _, okY = digits(s[:4], 4, 4)
	c.month, _, okM = digits(s[5:7], 2, 2)
	c.day, _, okD = digits(s[8:10], 2, 2)
	if !okY || !okM || !okD {
		return bad()
	}
	rest := s[10:]
	if rest == "" {
		return c.stamp(s, out)
	}
	if len(rest) < 6 || rest[0] != 'T' && rest[0] != ' ' || rest[3] != ':' {
		return bad()
	}
	var okH, okI, ok bool
	c.hasTime = true
	c.hour, _, okH = digits(rest[1:3], 2, 2)
	c.minute, _, okI = digits(rest[4:6], 2, 2)
	if rest = rest[6:]; !okH || !okI {
		return bad()
	}
	if rest != "" && rest[0] == ':' {
		if c.second, rest, ok = digits(rest[1:], 2, 2); !ok {
			return bad()
		}
		if rest != "" && (rest[0] == '.' || rest[0] == ',') {
			if c.ms, rest, ok = fraction(rest[1:]); !ok {
				return bad()
			}
		}
	}
	if rest = strings.TrimPrefix(rest, " "); rest != "" {
		if out.offset, out.hasOffset = readOffset(rest); !out.hasOffset {
			return bad()
		}
	}
	return c.stamp(s, out)
}

// stamp checks the fields and joins them. 24:00 is the end of its day.
func (c civil) stamp(s string, out stamp) (stamp, error) {
	if c.am || c.pm {
		if c.hour < 1 || c.hour > 12 {
			return stamp{}, fmt.Errorf("%q: hours before am and pm run from 1 to 12", s)
		}
		c.hour %= 12
		if c.pm {
			c.hour += 12
		}
	}
	end := c.hour == 24 && c.minute == 0 && c.second == 0 && c.ms == 0
	if c.year < 1900 || c.month < 1 || c.month > 12 || c.day < 1 || c.day > monthDays(c.year, c.month) ||
		c.hour > 23 && !end || c.minute > 59 || c.second > 59 {
		return stamp{}, fmt.Errorf("%q names no day and time of the calendar", s)
	}
	out.dateOnly = !c.hasTime
	out.wall = ((daysFrom1970(c.year, c.month, c.day)*24+int64(c.hour))*60+int64(c.minute))*60_000 + int64(c.second)*1000 + int64(c.ms)
	return out, nil
}

func leap(y int) bool { return y%4 == 0 && (y%100 != 0 || y%400 == 0) }

func monthDays(y, m int) int {
	switch m {
	case 2:
		if leap(y) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// daysFrom1970 counts days in the Gregorian calendar, years from 1 on.
func daysFrom1970(y, m, d int) int64 {
	if m <= 2 {
		y, m = y-1, m+12
	}
	return int64(365*y+y/4-y/100+y/400+(153*(m-3)+2)/5+d-1) - 719_468
}
