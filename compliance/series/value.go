package series

import (
	"fmt"
	"math/bits"
	"strings"

	"github.com/swardbook/swardbook/compliance/unit"
)

// maxCoefficient is the least number of 19 digits.
const maxCoefficient = 1_000_000_000_000_000_000

// cell is one value as read.
type cell struct {
	coefficient int64
	places      int8
	mark        Mark
}

// readCell reads a value and its qualifier. flag is the text that a flag
// explained, for the list of decisions.
func (p *plan) readCell(text, qualifier string) (c cell, flag string, err error) {
	text, qualifier = strings.TrimSpace(text), strings.TrimSpace(qualifier)
	mark := Valid
	if qualifier != "" {
		if mark, err = p.qualifier(qualifier); err != nil {
			return c, "", err
		}
		if !mark.Counts() {
			return cell{mark: mark}, qualifier, nil
		}
	}
	if text == "" {
		if mark != Valid {
			return c, "", fmt.Errorf("qualifier %q stands beside an empty value", qualifier)
		}
		return cell{mark: Blank}, "", nil
	}
	if m, ok := p.flags[text]; ok && !m.Counts() {
		return cell{mark: m}, text, nil
	}
	if text[0] == '<' || text[0] == '>' {
		own := Below
		if text[0] == '>' {
			own = Above
		}
		if mark != Valid && mark != own {
			return c, "", fmt.Errorf("value %q and qualifier %q contradict one another", text, qualifier)
		}
		mark, text = own, strings.TrimLeft(text[1:], " ")
	}
	d, err := readNumber(text, p.decimal)
	if err != nil {
		return c, "", err
	}
	return cell{d.Coefficient, d.Places, mark}, "", nil
}

func (p *plan) qualifier(text string) (Mark, error) {
	if m, ok := p.flags[text]; ok {
		return m, nil
	}
	switch text {
	case "<":
		return Below, nil
	case ">":
		return Above, nil
	}
	return 0, fmt.Errorf("qualifier %q has no meaning in the mapping: name it among the flags", text)
}

// readNumber reads a decimal number exactly: a sign, digits with the decimal
// mark, and a power of ten as in 1.2e-3. Up to 18 digits.
func readNumber(s string, decimal byte) (unit.Decimal, error) {
	var n uint64
	var digits, places int
	negative, point, any := false, false, false
	i := 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		negative = s[i] == '-'
		i++
	}
	for ; i < len(s); i++ {
		c := s[i]
		if c == decimal && !point {
			point = true
			continue
		}
		if c < '0' || c > '9' {
			break
		}
		any = true
		if n != 0 || c != '0' {
			digits++
		}
		if digits > 18 {
			return unit.Decimal{}, fmt.Errorf("%q has more digits than can be kept exactly (18)", s)
		}
		n = n*10 + uint64(c-'0')
		if point {
			places++
		}
	}
	exponent, ok := readExponent(s[i:])
	if !any || !ok {
		return unit.Decimal{}, notNumber(s, decimal)
	}
	d, ok := scaled(n, places-exponent)
	if !ok {
		return unit.Decimal{}, fmt.Errorf("%q has more digits than can be kept exactly (18)", s)
	}
	if negative {
		d.Coefficient = -d.Coefficient
	}
	return d, nil
}

func notNumber(s string, decimal byte) error {
	if strings.ContainsAny(s, ",.") && decimal != s[strings.IndexAny(s, ",.")] {
		return fmt.Errorf("%q is no number with the decimal mark %q", s, string(rune(decimal)))
	}
	return fmt.Errorf("%q is no number; if it means something, name it in the mapping among the missing texts or the flags", s)
}

func readExponent(s string) (int, bool) {
	if s == "" {
		return 0, true
	}
	if s[0] != 'e' && s[0] != 'E' {
		return 0, false
	}
	sign, s := 1, s[1:]
	if s != "" && (s[0] == '-' || s[0] == '+') {
		if s[0] == '-' {
			sign = -1
		}
		s = s[1:]
	}
	n, rest, ok := digits(s, 1, 3)
	return sign * n, ok && rest == ""
}

// scaled returns n × 10^-places with 0 to 18 places.
func scaled(n uint64, places int) (unit.Decimal, bool) {
	if n == 0 {
		return unit.Decimal{Places: int8(min(max(places, 0), 18))}, true
	}
	for ; places > 18 && n%10 == 0; places-- {
		n /= 10
	}
	for ; places < 0; places++ {
		hi, lo := bits.Mul64(n, 10)
		if hi != 0 || lo >= maxCoefficient {
			return unit.Decimal{}, false
		}
		n = lo
	}
	if places > 18 {
		return unit.Decimal{}, false
	}
	return unit.Decimal{Coefficient: int64(n), Places: int8(places)}, true
}
