package judge

import (
	"math"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/permit"
)

var comparatorWords = map[permit.Comparator]string{
	permit.AtMostLimit: "≤", permit.Below: "<", permit.AtLeastLimit: "≥", permit.Above: ">", permit.Equal: "=",
}

// limitText writes a limit as it was given, with its decimals: "≤ 55 dB".
func limitText(l *permit.Limit) string {
	if l.Comparator == permit.Between {
		from, to := "from ", " to "
		if l.OpenLow {
			from = "above "
		}
		if l.OpenHigh {
			to = " to below "
		}
		return withUnit(from+l.Value.String()+to+l.Upper.String(), l.Unit)
	}
	return withUnit(comparatorWords[l.Comparator]+" "+l.Value.String(), l.Unit)
}

// limitsText writes several limits with their join.
func limitsText(ls []permit.Limit, join permit.Join) string {
	word := " and "
	if join == permit.AnyOf {
		word = " or "
	}
	out := make([]string, len(ls))
	for i := range ls {
		out[i] = limitText(&ls[i])
	}
	return strings.Join(out, word)
}

func withUnit(s, u string) string {
	if u == "" {
		return s
	}
	return s + " " + u
}

// figure writes a value to three decimals at most, without trailing zeros,
// for sentences; working and the value itself keep all nine.
func figure(v float64) string { return decimals(v, 3) }

// exact writes a value to nine decimals at most, without trailing zeros.
func exact(v float64) string { return decimals(v, 9) }

func decimals(v float64, places int) string {
	switch {
	case math.IsInf(v, 1):
		return "any height"
	case math.IsInf(v, -1):
		return "any depth"
	}
	s := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// apart writes a value with as many decimals as it takes to tell it from the
// limit, three to nine.
func apart(v float64, l *permit.Limit) string {
	for places := 3; places < 9; places++ {
		s := decimals(v, places)
		f, err := strconv.ParseFloat(s, 64)
		if err == nil && (f == l.Value.Float()) == (v == l.Value.Float()) {
			return s
		}
	}
	return exact(v)
}

func percent(share float64) string { return decimals(100*share, 1) + " %" }

// plural writes a number with its noun.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
