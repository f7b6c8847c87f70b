package site

import "github.com/swardbook/swardbook/compliance/book"

// surveyKind is levels taken on a day, with the control they rest on.
func surveyKind() *book.Kind {
	return &book.Kind{
		Name: "survey.1", Subject: "site", Title: "Survey", Place: book.MayNamePlace, Length: book.Moment,
		Help: "Levels taken on a day, with the control they rest on. The points accepted are committed by their number and hash.",
		Fields: []book.Field{
			{Name: "purpose", Title: "Purpose", Type: book.Text, Required: true, Help: "Such as pre-works, stockpile, as-restored."},
			{Name: "surveyor", Title: "Surveyor", Type: book.Person},
			{Name: "instrument", Title: "Instrument", Type: book.Text},
			{Name: "control", Title: "Control used", Type: book.Text},
			{Name: "closure", Title: "Closure", Type: book.Text},
			{Name: "check_points", Title: "Check points", Type: book.Text},
			{Name: "accuracy_claimed", Title: "Accuracy claimed", Type: book.Decimal, Unit: "m", Min: "0"},
			{Name: "accuracy_shown", Title: "Accuracy shown by checks", Type: book.Decimal, Unit: "m", Min: "0"},
			{Name: "height_model", Title: "Height model", Type: book.Text},
			{Name: "order", Title: "Column order", Type: book.Text, Help: "Of a point file without a head, such as PENZD."},
			{Name: "file", Title: "File", Type: book.File, Required: true},
			{Name: "breaklines", Title: "Breaklines", Type: book.File},
			{Name: "boundary", Title: "Boundary", Type: book.File},
			{Name: "parser", Title: "Read by", Type: book.Text, Help: "Program and version of the reader."},
			{Name: "points", Title: "Points accepted", Type: book.Integer, Min: "0"},
			{Name: "digest", Title: "Hash of the points accepted", Type: book.Text},
			{Name: "decisions", Title: "Decisions in cleaning", Type: book.List, Fields: []book.Field{
				{Name: "row", Title: "Row", Type: book.Integer, Required: true},
				{Name: "decision", Title: "Decision", Type: book.Text, Required: true},
				{Name: "why", Title: "Why", Type: book.Text},
			}},
		},
	}
}
