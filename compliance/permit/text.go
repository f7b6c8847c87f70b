package permit

import (
	"fmt"
	"strconv"
	"time"

	"github.com/swardbook/swardbook/compliance/calendar"
)

// String writes the limit as Read reads it. A curve, which is no single text,
// is written in short.
func (l Limit) String() string {
	switch {
	case l.Comparator == Between:
		return l.between()
	case l.Form == OfCurve:
		return fmt.Sprintf("%s curve along %s in %s", l.Comparator, l.Along, l.Unit)
	case l.Form == OfBackground:
		return l.background()
	}
	value, side := l.Value, "above "
	if l.Form == OfOtherPlace && value.Coefficient < 0 {
		value.Coefficient, side = -value.Coefficient, "below "
	}
	s := string(l.Comparator) + " " + value.String() + ofUnit(l.Unit)
	switch l.Form {
	case OfOtherPlace:
		s += " " + side + l.Other
	case OfSurface:
		s += " above surface " + l.Other
	case OfShare:
		s += " of " + l.Other
	}
	return s
}

func ofUnit(symbol string) string {
	if symbol == "" {
		return ""
	}
	return " " + symbol
}

func (l Limit) between() string {
	s := fmt.Sprintf("between %s and %s%s", l.Value, l.Upper, ofUnit(l.Unit))
	switch {
	case l.OpenLow && l.OpenHigh:
		return s + ", both ends excluded"
	case l.OpenLow:
		return s + ", low end excluded"
	case l.OpenHigh:
		return s + ", high end excluded"
	}
	return s
}

func (l Limit) background() string {
	value, sign := l.Value, "+"
	if value.Coefficient < 0 {
		value.Coefficient, sign = -value.Coefficient, "-"
	}
	s := fmt.Sprintf("%s background %s %s %s%s", l.Comparator, l.Background, sign, value, ofUnit(l.Unit))
	if l.Floor != nil {
		s += ", floor " + l.Floor.String()
	}
	if l.Cap != nil {
		s += ", cap " + l.Cap.String()
	}
	return s
}

// String writes the statistic as Read reads it; "" when there is none.
func (s Statistic) String() string {
	switch {
	case s.Name == Percentile:
		return "percentile " + s.Percentile
	case s.Name == LowerBound:
		return "lower bound " + s.Percentile
	case s.Integrate != "":
		return string(s.Name) + " over " + s.Integrate
	}
	return string(s.Name)
}

// String writes the rule as Read reads it; a look-up table, which is no single
// text, in short.
func (r Rule) String() string {
	switch r.Name {
	case AtMost:
		return fmt.Sprintf("at most %d per %s", r.K, r.Per)
	case AtMostShare:
		return fmt.Sprintf("at most %s %% per %s", r.Share, r.Per)
	case AtMostTable:
		return fmt.Sprintf("look-up table per %s", r.Per)
	case AtLeastOf:
		return fmt.Sprintf("at least %d of %d", r.K, r.N)
	case MeanOfAll:
		return fmt.Sprintf("mean per %s", r.Per)
	}
	return string(r.Name)
}

// String writes the rounding as Read reads it.
func (r Rounding) String() string {
	if r.Mode == ToStep {
		return "to " + r.To
	}
	return string(r.Mode)
}

// String writes the length as Read reads it.
func (l Length) String() string {
	if l.N == 1 {
		return "1 " + l.Unit
	}
	return strconv.Itoa(l.N) + " " + l.Unit + "s"
}

// instantText writes an instant as Read reads it: a date where it is local
// midnight in the zone, else in UTC to the millisecond. A nil zone writes UTC.
func instantText(t time.Time, zone *time.Location) string {
	if zone != nil {
		if d := calendar.DateOf(t, zone); d.Start(zone).Equal(t) {
			return d.String()
		}
	}
	return t.UTC().Format("2006-01-02T15:04:05.000Z")
}
