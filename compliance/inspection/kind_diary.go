package inspection

import (
	"github.com/swardbook/swardbook/compliance/act"
	"github.com/swardbook/swardbook/compliance/book"
)

// diaryKind is one line of the site diary: an act from when to when, or word
// that there was none.
func diaryKind() *book.Kind {
	return &book.Kind{
		Name: "diary.1", Register: "diary", Subject: "inspection", Title: "Diary line",
		Help: "What was done, where, from when to when. A day without work has a line too.",
		Fields: []book.Field{
			{Name: "act", Title: "Act", Type: book.Choice, Required: true, Options: append(act.Names(), act.None)},
			{Name: "text", Title: "In words", Type: book.Prose, Help: "Leave persons' names out; roles will do."},
			{Name: "plant", Title: "Plant at work", Type: book.Text},
			{Name: "weather", Title: "Weather", Type: book.Text},
		},
		Place: book.MayNamePlace, Length: book.MayLast, Plain: true,
	}
}
