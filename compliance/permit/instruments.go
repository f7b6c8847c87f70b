package permit

import (
	"fmt"
	"strings"

	"github.com/swardbook/swardbook/compliance/unit"
)

// What a condition on readings may ask of the instruments, in With.
const (
	withDrift   = "drift"   // greatest drift between two checks, such as 0.5 dB
	withChecked = "checked" // what must vouch for readings
)

// What checked may ask for.
const (
	byFieldCheck  = "field check"
	byCertificate = "certificate"
	byBoth        = "field check and certificate"
)

// DriftLimit reads the greatest drift between two checks of an instrument that
// a condition allows, with its unit; the unit is "" where it states none.
func DriftLimit(with map[string]string) (limit unit.Decimal, of string, err error) {
	text := with[withDrift]
	if text == "" {
		return limit, "", nil
	}
	number, symbol, _ := strings.Cut(strings.TrimSpace(text), " ")
	limit, err = unit.ParseDecimal(number)
	if err == nil && (limit.Coefficient <= 0 || symbol == "") {
		err = fmt.Errorf("%q is no positive number with a unit", text)
	}
	if err == nil {
		err = unit.Convertible(symbol, symbol)
	}
	return limit, strings.TrimSpace(symbol), err
}

// ChecksAsked tells whether a condition asks that readings lie between two field
// checks, and that a certificate was in force.
func ChecksAsked(with map[string]string) (fieldCheck, certificate bool) {
	text := with[withChecked]
	return text == byFieldCheck || text == byBoth, text == byCertificate || text == byBoth
}

// instruments checks what is asked of instruments.
func (o *one) instruments() {
	if _, _, err := DriftLimit(o.c.With); err != nil {
		o.note("with", fmt.Sprintf("drift %q cannot be read: %v", o.c.With[withDrift], err), "write the greatest drift between two checks with its unit, such as 0.5 dB")
	}
	if text := o.c.With[withChecked]; text != "" && text != byFieldCheck && text != byCertificate && text != byBoth {
		o.note("with", fmt.Sprintf("checked %q is not known", text), "write "+byFieldCheck+", "+byCertificate+", or "+byBoth)
	}
}
