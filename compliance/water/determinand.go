package water

import "strings"

// determinand is one thing that a laboratory or a hand meter finds in water.
type determinand struct {
	code, title, unit string
	scale             bool   // may lie below 0 or is no amount, so has no floor
	caution           string // "" = the one of samples
	help              string
}

// determinands is the table of what samples may hold, in the order shown.
// Units are those that results are commonly reported in; results in another
// unit of the same kind are converted.
var determinands = []determinand{
	{code: "tss", title: "suspended solids", unit: "mg/L"},
	{code: "turbidity_sample", title: "turbidity of samples", unit: "NTU"},
	{code: "settleable", title: "settleable solids", unit: "mL/L"},
	{code: "ph", title: "pH", unit: "pH", scale: true, caution: "high-ph", help: "A scale, not an amount: pH is judged result by result and never averaged."},
	{code: "conductivity", title: "electrical conductivity", unit: "µS/cm"},
	{code: "temperature", title: "water temperature", unit: "°C", scale: true},
	{code: "oxygen", title: "dissolved oxygen", unit: "mg/L"},
	{code: "bod", title: "biochemical oxygen demand", unit: "mg/L"},
	{code: "cod", title: "chemical oxygen demand", unit: "mg/L"},
	{code: "ammonia", title: "ammonia as N", unit: "mg/L"},
	{code: "nitrate", title: "nitrate as N", unit: "mg/L"},
	{code: "nitrite", title: "nitrite as N", unit: "mg/L"},
	{code: "phosphorus", title: "phosphorus", unit: "mg/L"},
	{code: "chloride", title: "chloride", unit: "mg/L"},
	{code: "sulphate", title: "sulphate", unit: "mg/L"},
	{code: "hydrocarbons", title: "petroleum hydrocarbons", unit: "mg/L"},
	{code: "aluminium", title: "aluminium", unit: "µg/L"},
	{code: "arsenic", title: "arsenic", unit: "µg/L"},
	{code: "cadmium", title: "cadmium", unit: "µg/L"},
	{code: "chromium", title: "chromium", unit: "µg/L"},
	{code: "copper", title: "copper", unit: "µg/L"},
	{code: "iron", title: "iron", unit: "µg/L"},
	{code: "lead", title: "lead", unit: "µg/L"},
	{code: "manganese", title: "manganese", unit: "µg/L"},
	{code: "mercury", title: "mercury", unit: "µg/L"},
	{code: "nickel", title: "nickel", unit: "µg/L"},
	{code: "zinc", title: "zinc", unit: "µg/L"},
}

func determinandNamed(code string) *determinand {
	for i := range determinands {
		if determinands[i].code == code {
			return &determinands[i]
		}
	}
	return nil
}

func determinandCodes() string {
	codes := make([]string, len(determinands))
	for i := range determinands {
		codes[i] = determinands[i].code
	}
	return strings.Join(codes, ", ")
}
