package duty

import "slices"

// NeededKind is the kind of entry for what has to be there before works begin.
const NeededKind = "needed.1"

// Baselines are the records of the land as it was, without which nothing can be
// compared when it is handed back: common practice of surveys before works.
func Baselines() []string {
	return []string{"levels", "soils", "drains", "background noise", "water", "road", "photo points"}
}

// IsBaseline tells whether a sort of thing needed is a record of the land as it
// was.
func IsBaseline(sort string) bool { return slices.Contains(Baselines(), sort) }
