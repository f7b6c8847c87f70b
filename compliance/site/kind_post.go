package site

import (
	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/duty"
)

// postKind is a post that duties belong to, with the post that has them after
// it. Until is its last day.
func postKind() *book.Kind {
	return &book.Kind{
		Name: duty.PostKind, Register: "posts", Subject: "site", Title: "Post",
		Help: "What a post answers for, from when until when, and which post comes after it. Duties belong to posts, so that none is lost when a person or a firm leaves.",
		Fields: []book.Field{
			{Name: "post", Title: "Post", Type: book.Text, Required: true, Help: "Such as officer, soil specialist or land agent."},
			{Name: "organisation", Title: "Organisation", Type: book.Text},
			{Name: "holder", Title: "Who holds it", Type: book.Person},
			{Name: "successor", Title: "Post that comes after", Type: book.Text, Help: "It has the duties when this one ends."},
			{Name: "answers", Title: "Answers for", Type: book.List, Fields: []book.Field{
				{Name: "permit", Title: "Notice", Type: book.Text, Required: true},
				{Name: "condition", Title: "Condition", Type: book.Text, Help: "Its id; left out: all of the notice."},
			}},
			{Name: "note", Title: "Note", Type: book.Prose},
		},
		Place: book.NoPlace, Length: book.MayLast, Plain: true,
		Check: func(o book.Object) []book.Fault {
			if o.Text("successor") == o.Text("post") {
				return []book.Fault{{Field: "successor", Reason: "a post cannot come after itself", Remedy: "name another post, or none"}}
			}
			return nil
		},
	}
}
