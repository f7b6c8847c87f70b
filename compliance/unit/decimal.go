package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Decimal is an exact decimal number: Coefficient × 10^-Places. It keeps the
// places it was written with, so that 55.0 stays 55.0.
type Decimal struct {
	Coefficient int64
	Places      int8 // digits after the point, 0 to 18
}

// ParseDecimal reads -?digits[.digits] with at most 18 digits in all.
func ParseDecimal(s string) (Decimal, error) {
	whole, frac, point := strings.Cut(s, ".")
	digits := strings.TrimPrefix(whole, "-")
	if digits == "" || (point && frac == "") || !allDigits(digits) || !allDigits(frac) {
		return Decimal{}, fmt.Errorf("%q is not a decimal number such as 12 or -0.35", s)
	}
	n, err := strconv.ParseInt(whole+frac, 10, 64)
	if err != nil || len(frac) > 18 {
		return Decimal{}, fmt.Errorf("%q has more digits than can be kept exactly (18)", s)
	}
	return Decimal{Coefficient: n, Places: int8(len(frac))}, nil
}

func allDigits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

// String writes the decimal with the places it holds.
func (d Decimal) String() string {
	if d.Places == 0 {
		return strconv.FormatInt(d.Coefficient, 10)
	}
	s := strconv.FormatInt(d.Coefficient, 10)
	sign := ""
	if s[0] == '-' {
		sign, s = "-", s[1:]
	}
	if pad := int(d.Places) + 1 - len(s); pad > 0 {
		s = strings.Repeat("0", pad) + s
	}
	cut := len(s) - int(d.Places)
	return sign + s[:cut] + "." + s[cut:]
}

// Float returns the nearest float64.
func (d Decimal) Float() float64 {
	// Dividing two exact values rounds once, as parsing the text would.
	if p := math.Pow10(int(d.Places)); d.Coefficient > -1<<53 && d.Coefficient < 1<<53 && d.Places <= 22 {
		return float64(d.Coefficient) / p
	}
	f, _ := strconv.ParseFloat(d.String(), 64)
	return f
}
