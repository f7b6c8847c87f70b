// Package duty lists what is still to be done and by when: what conditions want
// done by a time, and what follows from single entries, such as a finding to be
// put right. A duty belongs to a post, never to a login, and passes to the
// post's successor. Listing a duty judges nothing, and that one is done says
// only that an entry is on file.
package duty

import (
	"crypto/sha256"
	"encoding/hex"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// Duty is one thing to be done.
type Duty struct {
	ID   string // the same as long as it comes from the same thing
	What string // wanted, in words
	Why  string // what its time is counted from, or what it comes from

	Permit, Clause, Condition, Title string      // of a condition; "" of an entry
	Entry                            *book.Entry // that it comes from; nil of a condition
	Place                            string

	Post   string // that it belongs to now
	Before string // the post it passed from; "" = none
	Vacant bool   // nobody is on record as holding the post

	From time.Time // when its time began
	By   time.Time // the instant its time is over; zero = none is set
	More int       // how many are still wanted; 0 = it is done
	Done []*book.Entry

	Kinds []string          // of entry that would do it
	Fill  map[string]string // what such an entry says, such as scheme and stage

	State State
	Level Level
	days  int // whole days past By
}

// DaysOver returns how many whole days of the site's zone its time is over.
func (d *Duty) DaysOver() int { return d.days }

// State is how a duty stands against the clock.
type State string

// The states, in the order of a list.
const (
	Overdue State = "overdue"
	Today   State = "due today"
	Week    State = "due within seven days"
	Ahead   State = "ahead"
	Undated State = "no date set"
	Done    State = "done"
)

// States lists the states in the order of a list.
func States() []State { return []State{Overdue, Today, Week, Ahead, Undated, Done} }

// Level is how far an overdue duty has been carried up.
type Level int

// The levels. Our own rule, no standard's: on the day after its time the post
// alone; from the third day the manager too; from the fourteenth everyone who
// reads the book, and it is said so on Today.
const (
	NotOver    Level = iota
	ToPost           // its own post
	ToLead           // the manager as well
	ToEveryone       // everyone who reads the book
)

const (
	daysToLead     = 3
	daysToEveryone = 14
)

// String returns the level in words.
func (l Level) String() string {
	return [...]string{"", "for its post", "for the manager too", "for everyone"}[l]
}

// A Source lists the duties that follow from single entries of one subject, as
// they stand at an instant: From, By, What and where they come from.
type Source func(rec quantity.Record, at time.Time) []Duty

// DefaultPost is the post that has what nothing gives to another.
const DefaultPost = "officer"

// keptDone is how long a duty that is done stays on the list.
const keptDone = 7 * 24 * time.Hour

// List puts duties in order at an instant: whose they are, how they stand,
// overdue first, and among those the one that has waited longest.
func List(rec quantity.Record, duties []Duty, at time.Time) []Duty {
	posts := openPosts(rec)
	var out []Duty
	for _, d := range duties {
		if d.More == 0 && !doneLately(&d, at) {
			continue
		}
		d.ID = d.id()
		posts.settle(&d, at)
		d.stand(at, rec.Site().Zone)
		out = append(out, d)
	}
	rank := map[State]int{}
	for i, s := range States() {
		rank[s] = i
	}
	sort.SliceStable(out, func(i, k int) bool {
		a, b := &out[i], &out[k]
		if rank[a.State] != rank[b.State] {
			return rank[a.State] < rank[b.State]
		}
		if !a.By.Equal(b.By) {
			return a.By.Before(b.By)
		}
		return a.ID < b.ID
	})
	return out
}

// doneLately tells whether a duty that is done is still of interest: it was done
// some days ago, or its time, which is not over, ends before long.
func doneLately(d *Duty, at time.Time) bool {
	n := len(d.Done)
	return n > 0 && d.Done[n-1].At.After(at.Add(-keptDone)) || d.By.After(at) && d.By.Before(at.Add(4*keptDone))
}

// id is a digest of what a duty comes from.
func (d *Duty) id() string {
	parts := []string{d.Permit, d.Condition, d.Place, d.From.UTC().Format(time.RFC3339), d.What}
	if d.Entry != nil {
		parts = []string{string(d.Entry.ID), d.What, d.Place, strconv.Itoa(len(d.Fill))}
	}
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return hex.EncodeToString(sum[:8])
}

// stand sets how a duty stands at an instant, by the days of the zone.
func (d *Duty) stand(at time.Time, zone *time.Location) {
	today := calendar.DateOf(at, zone)
	switch {
	case d.More == 0:
		d.State = Done
	case d.By.IsZero():
		d.State = Undated
	case !d.By.After(at):
		d.State = Overdue
		d.days = today.Sub(calendar.DateOf(d.By.Add(-time.Millisecond), zone))
		switch {
		case d.days >= daysToEveryone:
			d.Level = ToEveryone
		case d.days >= daysToLead:
			d.Level = ToLead
		default:
			d.Level = ToPost
		}
	case !d.By.After(today.AddDays(1).Start(zone)):
		d.State = Today
	case !d.By.After(today.AddDays(7).Start(zone)):
		d.State = Week
	default:
		d.State = Ahead
	}
}

// Falls tells whether a duty is for somebody who holds a post: their own, and
// what was carried up to them.
func (d *Duty) Falls(post string) bool {
	return d.Post == post || d.Level >= ToEveryone || d.Level >= ToLead && post == "manager" || d.Vacant && post == "manager"
}
