package permit

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/unit"
)

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// readWith reads further words for a quantity: any key, text.
func readWith(it item) map[string]string {
	if !it.isMap() {
		it.fault("keys with values are wanted here, not "+shape(it.node), "write {act: strip}")
		return nil
	}
	with := map[string]string{}
	for i := 0; i+1 < len(it.node.Content); i += 2 {
		k, v := it.node.Content[i], it.node.Content[i+1]
		if s, ok := it.child(v, k.Value).line(); ok {
			with[k.Value] = s
		}
	}
	if len(it.node.Content) == 0 {
		it.fault("there are no words in it", "write {act: strip}, or leave the key out")
	}
	return with
}

// code reads the code of a feature.
func parseCode(s string) (string, error) {
	if strings.ContainsAny(s, " \t,;[]{}") {
		return "", misread("write the code of a feature as the plan has it, or several as {each: [NSR1, NSR2]}", "%q is no code of a place", s)
	}
	return s, nil
}

func readPlace(it item) Place {
	if !it.isMap() {
		if it.isList() {
			it.fault("a list does not say whether each place is judged by itself", "write {each: […]}, {any: […]} or {mean: […]}")
			return Place{Mode: WholeSite}
		}
		s, ok := it.line()
		if !ok || s == string(WholeSite) {
			return Place{Mode: WholeSite}
		}
		if s, err := parseCode(s); err != nil {
			it.wrong(err)
		} else {
			return Place{Mode: Each, Codes: []string{s}}
		}
		return Place{Mode: WholeSite}
	}
	p := Place{Mode: WholeSite}
	f, _ := it.fields("each", "any", "mean", "buffer")
	for _, mode := range []PlaceMode{Each, Any, MeanOf} {
		codes, ok := f.get(string(mode))
		if !ok {
			continue
		}
		if p.Mode != WholeSite {
			codes.fault("a place is of one mode", "keep one of each, any, mean")
			continue
		}
		p.Mode, p.Codes = mode, codes.lines()
		for _, c := range p.Codes {
			if _, err := parseCode(c); err != nil {
				codes.wrong(err)
			}
		}
	}
	if p.Mode == WholeSite {
		it.fault("no place is named", "write {each: [NSR1]}, {any: […]} or {mean: […]}; for everywhere write whole site")
	}
	parsed(f, "buffer", &p.BufferM, func(s string) (string, error) { return inUnit(s, "m", "10 m") })
	return p
}

// inUnit reads a number above zero with a unit that must be the one given.
func inUnit(s, symbol, example string) (string, error) {
	number, rest := cutNumber(s)
	u, ok := unit.Lookup(rest)
	d, err := unit.ParseDecimal(number)
	if err != nil || !ok || u.Symbol != symbol || d.Coefficient <= 0 {
		return "", misread("write it such as "+example, "%q is not a number above zero in %s", s, symbol)
	}
	return d.String(), nil
}

// parsePercent reads a share from 0 to 100 %.
func parsePercent(s string) (string, error) {
	number, rest := cutNumber(s)
	d, err := unit.ParseDecimal(number)
	hundred := unit.Decimal{Coefficient: 100}
	if err != nil || rest != "%" || d.Coefficient < 0 || d.Cmp(hundred) > 0 {
		return "", misread("write it such as 75 %", "%q is not a share from 0 %% to 100 %%", s)
	}
	return d.String(), nil
}

func parseCount(s string) (int, error) {
	n, err := strconv.Atoi(s)
	if err != nil || n < 0 || n > 1_000_000 || strconv.Itoa(n) != s {
		return 0, misread("write it such as 12", "%q is not a whole number from 0 to 1000000", s)
	}
	return n, nil
}

func readSchedule(it item) *calendar.Schedule {
	if it.isMap() {
		f, _ := it.fields("complement of")
		slots, ok := f.need("complement of", "write a list of slots, or {complement of: [ … ]} for all other times")
		if !ok {
			return nil
		}
		return &calendar.Schedule{Slots: readSlots(slots), Complement: true}
	}
	return &calendar.Schedule{Slots: readSlots(it)}
}

func readSlots(it item) []calendar.Slot {
	var out []calendar.Slot
	for _, one := range it.list() {
		f, ok := one.fields("days", "from", "to", "first", "last", "holidays")
		if !ok {
			continue
		}
		s := calendar.Slot{Days: calendar.EveryDay, Holidays: calendar.Closed}
		set(f, "holidays", &s.Holidays, calendar.Closed, calendar.Ignored, calendar.Only)
		if s.Holidays != calendar.Only {
			f.need("days", "write mon-fri, sat or every day")
		}
		parsed(f, "days", &s.Days, explained(calendar.ParseDays, "write mon-fri, sat or every day"))
		f.need("from", "write a time of day such as 07:00")
		f.need("to", "write a time of day such as 19:00")
		parsed(f, "from", &s.From, explained(calendar.ParseClock, "write it in 24 hours"))
		parsed(f, "to", &s.To, explained(calendar.ParseClock, "write it in 24 hours"))
		parsed(f, "first", &s.First, parseDate)
		parsed(f, "last", &s.Last, parseDate)
		out = append(out, s)
	}
	return out
}

func explained[T any](parse func(string) (T, error), remedy string) func(string) (T, error) {
	return func(s string) (T, error) {
		v, err := parse(s)
		if err != nil {
			return v, misread(remedy, "%v", err)
		}
		return v, nil
	}
}

var statistics = []StatisticName{Value, EnergyMean, ArithmeticMean, FlowWeighted, GeometricMean, Median, Percentile,
	Minimum, Maximum, Sum, Count, Change, Duration, Share}

func readStatistic(it item) Statistic {
	s, ok := it.line()
	if !ok {
		return Statistic{}
	}
	if p, is := strings.CutPrefix(s, "percentile "); is {
		d, err := unit.ParseDecimal(p)
		if err != nil || d.Coefficient <= 0 || d.Cmp(unit.Decimal{Coefficient: 100}) >= 0 {
			it.fault(fmt.Sprintf("%q is not a percentile between 0 and 100", p), "write it such as percentile 90")
			return Statistic{}
		}
		return Statistic{Name: Percentile, Percentile: d.String()}
	}
	if span, is := strings.CutPrefix(s, "energy mean over "); is {
		h, err := inUnit(span, "h", "energy mean over 11 h")
		if err != nil {
			it.wrong(err)
			return Statistic{}
		}
		return Statistic{Name: EnergyMean, Integrate: h + " h"}
	}
	if p, is := strings.CutPrefix(s, "lower bound "); is {
		d, err := unit.ParseDecimal(p)
		if err != nil || d.Cmp(unit.Decimal{Coefficient: 50}) <= 0 || d.Cmp(unit.Decimal{Coefficient: 100}) >= 0 {
			it.fault(fmt.Sprintf("%q is not a confidence between 50 and 100 per cent", p), "write it such as lower bound 90")
			return Statistic{}
		}
		return Statistic{Name: LowerBound, Percentile: d.String()}
	}
	if s == "percentile" {
		it.fault("the percentile is not named", "write it such as percentile 90")
		return Statistic{}
	}
	name, ok := word(it, statistics...)
	if !ok {
		return Statistic{}
	}
	return Statistic{Name: name}
}

func parseRounding(s string) (Rounding, error) {
	switch s {
	case string(Unrounded), string(ToLimitDecimals):
		return Rounding{Mode: RoundingMode(s)}, nil
	}
	if step, is := strings.CutPrefix(s, "to "); is {
		if d, err := unit.ParseDecimal(step); err == nil && d.Coefficient > 0 && d.Places <= 9 {
			return Rounding{Mode: ToStep, To: d.String()}, nil
		}
	}
	return Rounding{}, misread("write none, to the limit's decimals, or to 0.1", "the rounding %q is not known", s)
}

func readCoverage(it item) Coverage {
	var c Coverage
	if !it.isMap() {
		if s, ok := it.line(); ok {
			var err error
			if c.Window, err = parsePercent(s); err != nil {
				it.wrong(err)
			}
		}
		return c
	}
	f, _ := it.fields("window", "per", "least windows", "spacing")
	parsed(f, "window", &c.Window, parsePercent)
	parsed(f, "per", &c.Per, parsePercent)
	parsed(f, "least windows", &c.LeastWindows, parseCount)
	parsed(f, "spacing", &c.SpacingHours, func(s string) (string, error) { return inUnit(s, "h", "24 h") })
	if len(f.order) == 0 && len(it.node.Content) == 0 {
		it.fault("no coverage is stated", "write 75 %, or leave the key out")
	}
	return c
}

func readDuty(it item) *Duty {
	d := &Duty{}
	f, ok := it.fields("every", "windows")
	if !ok {
		return nil
	}
	if f.has("every") == f.has("windows") {
		it.fault("the duty to monitor is not clear", "write {every: calendar month} for samples, or {windows: 100 %} for continuous measurement")
		return nil
	}
	parsed(f, "every", &d.Every, func(s string) (*calendar.Period, error) {
		p, err := parsePeriod(s)
		return &p, err
	})
	parsed(f, "windows", &d.Least, parsePercent)
	return d
}

func readQuota(it item) *Quota {
	q := &Quota{}
	f, ok := it.fields("days", "per", "act")
	if !ok {
		return nil
	}
	f.need("days", "write how many declared days, such as 56 for 8 weeks")
	f.need("per", "write the period they are counted in, such as rolling 12 months")
	f.need("act", "name the declared act that uses a day")
	parsed(f, "days", &q.Days, parseCount)
	parsed(f, "per", &q.Per, parsePeriod)
	q.Act = f.line("act")
	return q
}
