package monitoring

import "github.com/swardbook/swardbook/compliance/book"

// spotKind is one measurement by hand: what, where, when, how much.
func spotKind() *book.Kind {
	return &book.Kind{
		Name: "spot.1", Register: "measurements", Subject: "monitoring", Title: "Measurement by hand",
		Help: "One thing measured at a place at a visit: a depth in a pit, a count, a level in a well, a capacity.",
		Fields: []book.Field{
			{Name: "what", Title: "What was measured", Type: book.Choice, Required: true, Options: spotNames()},
			{Name: "result", Title: "Result", Type: book.Result, Required: true, Help: "As read, with < or > where the instrument says no more."},
			{Name: "unit", Title: "Unit", Type: book.Text, Help: "Where it is not the usual one."},
			{Name: "position", Title: "Position", Type: book.Text, Help: "Pit, frame or point."},
			{Name: "layer", Title: "Layer", Type: book.Text, Help: "Such as topsoil or subsoil."},
			{Name: "method", Title: "Method and instrument", Type: book.Text},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.MustNamePlace, Length: book.MayLast, Plain: true,
		Check: checkSpot,
	}
}

func checkSpot(o book.Object) []book.Fault {
	s := spotNamed(o.Text("what"))
	if s == nil {
		return nil // the field says so
	}
	if err := s.takes(o.Text("unit")); err != nil {
		return []book.Fault{{Field: "unit", Reason: err.Error(), Remedy: "give the result in " + s.unit + " or a unit that turns into it, or leave the unit out"}}
	}
	return nil
}
