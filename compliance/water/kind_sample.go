package water

import (
	"fmt"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/unit"
)

// sampleKind is one water sample at a point with its results.
func sampleKind() *book.Kind {
	return &book.Kind{
		Name: "sample.1", Register: "samples", Subject: "water", Title: "Water sample",
		Help: "A sample at the time it was taken, with the laboratory's results as reported.",
		Fields: []book.Field{
			{Name: "number", Title: "Sample number", Type: book.Text},
			{Name: "taken", Title: "Taken as", Type: book.Choice, Options: []string{"grab", "composite", "in place"}},
			{Name: "results", Title: "Results", Type: book.List, Required: true, Fields: []book.Field{
				{Name: "determinand", Title: "Determinand", Type: book.Text, Required: true},
				{Name: "result", Title: "Result", Type: book.Result, Required: true},
				{Name: "unit", Title: "Unit", Type: book.Text, Required: true},
				{Name: "lod", Title: "Reporting limit", Type: book.Decimal, Min: "0"},
				{Name: "uncertainty", Title: "Uncertainty, ±", Type: book.Decimal, Min: "0"},
				{Name: "fraction", Title: "Of the", Type: book.Choice, Options: []string{"total", "dissolved"}},
				{Name: "method", Title: "Method", Type: book.Text},
			}},
			{Name: "laboratory", Title: "Laboratory", Type: book.Text},
			{Name: "certificate", Title: "Certificate", Type: book.Text},
			{Name: "sealed", Title: "Seal number", Type: book.Text},
			{Name: "received", Title: "Received by the laboratory", Type: book.Instant},
			{Name: "temperature", Title: "Temperature on receipt", Type: book.Decimal, Unit: "°C", Min: "-10", Max: "60"},
			{Name: "document", Title: "Report", Type: book.File},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MustNamePlace, Length: book.MayLast, Plain: true,
		Check: checkSample,
	}
}

// checkSample looks at determinands the program knows, and at their units.
func checkSample(o book.Object) []book.Fault {
	var faults []book.Fault
	seen := map[string]bool{}
	for i, result := range o.Objects("results") {
		code, symbol := result.Text("determinand"), result.Text("unit")
		at := func(name string) string { return fmt.Sprintf("results.%d.%s", i, name) }
		if seen[code] {
			faults = append(faults, book.Fault{Field: at("determinand"), Reason: code + " stands twice", Remedy: "a second result of one sample is a sample of its own, or a correction"})
		}
		seen[code] = true
		d := determinandNamed(code)
		if d == nil {
			faults = append(faults, book.Fault{Field: at("determinand"), Reason: fmt.Sprintf("%q is not a determinand the program knows", code), Remedy: "known are " + determinandCodes()})
			continue
		}
		if symbol == "" {
			continue
		}
		if err := unit.Convertible(symbol, d.unit); err != nil {
			faults = append(faults, book.Fault{Field: at("unit"), Reason: err.Error(), Remedy: "give the result in " + d.unit + " or a unit that turns into it"})
		}
	}
	return faults
}
