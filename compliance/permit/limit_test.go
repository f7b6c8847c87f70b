package permit

import (
	"testing"

	"github.com/swardbook/swardbook/compliance/unit"
)

func TestLimitText(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"as typed", "<= 55 dB", "<= 55 dB"},
		{"the decimals stay", "<= 55.0 dB", "<= 55.0 dB"},
		{"no blank between", "<=55dB", "<= 55 dB"},
		{"sign for no more than", "≤ 5 mm/s", "<= 5 mm/s"},
		{"words for no more than", "at most 5 mm/s", "<= 5 mm/s"},
		{"sign for at least", "≥ 0.30 m", ">= 0.30 m"},
		{"words for at least", "at least 0.30 m", ">= 0.30 m"},
		{"less than is not at most", "less than 5 NTU", "< 5 NTU"},
		{"more than", "more than 6 pH", "> 6 pH"},
		{"count", "<= 40", "<= 40"},
		{"below nothing", "≥ -2 °C", ">= -2 °C"},
		{"other spelling of a unit", "<= 40 mg/l", "<= 40 mg/L"},
		{"litre cubed by hand", "<= 100 m3", "<= 100 m³"},
		{"per cent in words", "at least 95 per cent", ">= 95 %"},
		{"between", "between 6 and 9 pH", "between 6 and 9 pH"},
		{"between below and above nothing", "between -2 and 30.5 °C", "between -2 and 30.5 °C"},
		{"background without comparator", "background BG + 10 dB", "<= background BG + 10 dB"},
		{"background with one", "< background BG - 3 dB, cap 55 dB", "< background BG - 3 dB, cap 55"},
		{"above another place", "<= 10 % above UP1", "<= 10 % above UP1"},
		{"below another place", "≥ 2 mg/L below UP1", ">= 2 mg/L below UP1"},
		{"surface", "<= 3 m above surface pre-works", "<= 3 m above surface pre-works"},
		{"share", "≥ 95 % of soil.mound_volume", ">= 95 % of soil.mound_volume"},
		{"count above another place", "<= 3 above UP1", "<= 3 above UP1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := parseLimit(c.text)
			if err != nil {
				t.Fatal(err)
			}
			if l.String() != c.want {
				t.Errorf("%s read as %s, want %s", c.text, l, c.want)
			}
			again, err := parseLimit(l.String())
			if err != nil || again.String() != l.String() {
				t.Errorf("%s read again as %s, %v", l, again, err)
			}
		})
	}
}

func TestActionLevelText(t *testing.T) {
	limit := func(text string) Limit {
		l, err := parseLimit(text)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	for _, c := range []struct{ name, limit, text, want string }{
		{"compares as the limit", "<= 55 dB", "52 dB", "<= 52 dB"},
		{"compares as the limit, upwards", ">= 6 mg/L", "7 mg/L", ">= 7 mg/L"},
		{"share of the limit", "<= 500 h", "80 % of limit", "<= 400 h"},
		{"share is exact", "<= 3.0 m", "90 % of limit", "<= 2.7 m"},
		{"share with decimals", "<= 0.45 m", "92.5 % of limit", "<= 0.41625 m"},
		{"share of nothing", "<= 0 m", "90 % of limit", "<= 0 m"},
		{"whole limit", "<= 55 dB", "< 52 dB", "< 52 dB"},
		{"whole limit beside a range", "between 6 and 9 pH", "between 6.5 and 8.5 pH", "between 6.5 and 8.5 pH"},
		{"count", "<= 40", "36", "<= 36"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := parseActionLevel(c.text, []Limit{limit(c.limit)})
			if err != nil || l.String() != c.want {
				t.Errorf("got %s, %v; want %s", l, err, c.want)
			}
		})
	}
	for _, c := range []struct{ name, limit, text string }{
		{"share of a range", "between 6 and 9 pH", "80 % of limit"},
		{"more digits than can be kept", "<= 0.12345678901234567 m", "80.5 % of limit"},
		{"a product beyond counting", "<= 999999999999999999 m", "99 % of limit"},
		{"relative to a place without comparator", "<= 5 NTU", "3 NTU above UP1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if l, err := parseActionLevel(c.text, []Limit{limit(c.limit)}); err == nil {
				t.Errorf("read as %s", l)
			}
		})
	}
}

func TestShareOfIsExact(t *testing.T) {
	l, err := shareOf(Limit{Comparator: AtMostLimit, Value: unit.Decimal{Coefficient: 550, Places: 1}}, "75 %")
	if err != nil || l.Value != (unit.Decimal{Coefficient: 4125, Places: 2}) {
		t.Errorf("75 %% of 55.0 is %v, %v; want 41.25", l.Value, err)
	}
}
