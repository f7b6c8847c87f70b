// Package noise holds the sound levels that conditions may name. They are read
// from channels; how levels are averaged is the business of packages unit and
// series.
package noise

import "github.com/swardbook/swardbook/compliance/quantity"

// Quantities returns the quantities of this subject.
func Quantities() []*quantity.Quantity {
	return []*quantity.Quantity{
		level("noise.laeq", "LAeq", "Equivalent continuous A-weighted level, averaged by energy."),
		level("noise.la90", "LA90", "Level exceeded for 90 % of the time, as the logger computed it; that of an hour does not follow from those of its minutes."),
		level("noise.la10", "LA10", "Level exceeded for 10 % of the time, as the logger computed it; that of an hour does not follow from those of its minutes."),
		level("noise.lafmax", "LAFmax", "Greatest A-weighted level with the fast response."),
	}
}

// level describes one level in decibels.
func level(code, title, help string) *quantity.Quantity {
	return &quantity.Quantity{
		Code: code, Title: title, Unit: "dB", Form: quantity.Series, Decibel: true,
		With: []string{"channel"}, Caution: "receptors", Help: help,
	}
}
