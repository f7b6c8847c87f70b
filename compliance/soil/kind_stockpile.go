package soil

import "github.com/swardbook/swardbook/compliance/book"

// stockpileKind is a mound as it stands after a survey, or as formed when
// none was taken. The place is the mound's feature on the plan.
func stockpileKind() *book.Kind {
	return &book.Kind{
		Name: "stockpile.1", Register: "stockpiles", Subject: "soil", Title: "Mound",
		Help: "A mound: what it holds, when it was formed and seeded, and the survey that measures it.",
		Fields: []book.Field{
			{Name: "holds", Title: "Holds", Type: book.Choice, Required: true, Options: append(append([]string{}, horizons...), "spoil")},
			{Name: "formed", Title: "Formed", Type: book.Day},
			{Name: "seeded", Title: "Seeded", Type: book.Day},
			{Name: "survey", Title: "Survey of the mound", Type: book.Ref},
			{Name: "base", Title: "Measured over", Type: book.Choice, Options: []string{"survey", "toe", "level"}, Help: "The ground as surveyed before, the mound's own toe, or a level."},
			{Name: "base_survey", Title: "Survey of the ground before", Type: book.Ref},
			{Name: "base_level", Title: "Level of the base", Type: book.Decimal, Unit: "m"},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MustNamePlace, Length: book.Moment, Plain: true,
		Check: checkStockpile,
	}
}

func checkStockpile(o book.Object) []book.Fault {
	base := o.Text("base")
	var faults []book.Fault
	if o.Has("survey") && base == "" {
		faults = append(faults, book.Fault{Field: "base", Reason: "a survey measures the mound, but not over what", Remedy: "choose survey, toe or level"})
	}
	if base == "survey" && !o.Has("base_survey") {
		faults = append(faults, book.Fault{Field: "base_survey", Reason: "the base is a survey and none is named", Remedy: "name the survey of the ground before"})
	}
	if base == "level" && !o.Has("base_level") {
		faults = append(faults, book.Fault{Field: "base_level", Reason: "the base is a level and none is given", Remedy: "give the level in metres above the site's datum"})
	}
	return faults
}
