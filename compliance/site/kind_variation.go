package site

import (
	"slices"

	"github.com/swardbook/swardbook/compliance/book"
)

// variationKind changes a notice from its legal date on. What the notice said
// before stays what it was; a mistake in entering a notice is a correction of
// the permit entry instead.
func variationKind() *book.Kind {
	return &book.Kind{
		Name: "variation.1", Subject: "site", Title: "Variation",
		Help:  "A change of a notice by its authority, from its legal date.",
		Place: book.NoPlace, Length: book.Moment,
		Check: checkVariation,
	}
}

// checkVariation also asks for what only a variation has.
func checkVariation(o book.Object) []book.Fault {
	faults := checkNotice(o)
	head, _ := o["permit"].(book.Object)
	for _, key := range []string{"varies", "effective"} {
		if !head.Has(key) && !slices.ContainsFunc(faults, func(f book.Fault) bool { return f.Field == "permit."+key }) {
			faults = append(faults, book.Fault{Field: "permit." + key, Reason: "a variation without it changes nothing", Remedy: "name the notice it varies and its legal date"})
		}
	}
	return faults
}
