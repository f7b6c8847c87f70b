package duty

import (
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// PostKind is the kind of entry that says what a post answers for, for how
// long, and which post comes after it.
const PostKind = "post.1"

// posts is who answers for what.
type posts struct {
	list  []*book.Entry
	roles map[string][]*book.Entry // holders on record, by role
}

func openPosts(rec quantity.Record) *posts {
	p := &posts{list: rec.Entries(PostKind), roles: map[string][]*book.Entry{}}
	for _, e := range rec.Entries("role.1") {
		if e.Body != nil {
			p.roles[e.Body.Text("role")] = append(p.roles[e.Body.Text("role")], e)
		}
	}
	return p
}

// settle gives a duty to a post: the one that answers for its condition, else
// the one it names, else the officer; and on to the successor of a post whose
// time is over.
func (p *posts) settle(d *Duty, at time.Time) {
	if d.Post == "" {
		d.Post = DefaultPost
	}
	if d.Condition != "" {
		if name := p.answering(d); name != "" {
			d.Post = name
		}
	}
	seen := map[string]bool{}
	for !seen[d.Post] {
		seen[d.Post] = true
		e := p.last(d.Post)
		if e == nil || e.Until.IsZero() || e.Until.After(at) || e.Body.Text("successor") == "" {
			break
		}
		if d.Before == "" {
			d.Before = d.Post
		}
		d.Post = e.Body.Text("successor")
	}
	d.Vacant = p.vacant(d.Post, at)
}

// answering returns the post that was last said to answer for a condition, by
// itself or as one of its notice.
func (p *posts) answering(d *Duty) string {
	exact, whole := "", ""
	for _, e := range p.list {
		if e.Body == nil {
			continue
		}
		for _, a := range e.Body.Objects("answers") {
			switch {
			case a.Text("permit") != d.Permit:
			case a.Text("condition") == d.Condition:
				exact = e.Body.Text("post")
			case a.Text("condition") == "":
				whole = e.Body.Text("post")
			}
		}
	}
	if exact != "" {
		return exact
	}
	return whole
}

// last returns the entry that last described a post.
func (p *posts) last(post string) *book.Entry {
	for i := len(p.list) - 1; i >= 0; i-- {
		if e := p.list[i]; e.Body != nil && e.Body.Text("post") == post {
			return e
		}
	}
	return nil
}

// vacant tells whether a post had its time and nobody came after, or is a role
// that people are on record for and nobody holds.
func (p *posts) vacant(post string, at time.Time) bool {
	if e := p.last(post); e != nil {
		return !e.Until.IsZero() && !e.Until.After(at)
	}
	held := p.roles[post]
	for _, e := range held {
		if !e.At.After(at) && (e.Until.IsZero() || e.Until.After(at)) {
			return false
		}
	}
	return len(held) > 0
}
