package book

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
)

// RefField is the register's own reference of a row. Every kind has it
// without listing it.
const RefField = "ref"

var refField = Field{Name: RefField, Title: "Reference", Type: Text, Help: "The register's own reference of the row; other entries name it by this."}

// ErasureKinds opens the name of every kind that erases.
const ErasureKinds = "redaction."

// Check says everything that is wrong with a draft, in words for who entered
// it; nil when nothing is. What only a book can tell, such as whether what it
// supersedes is the head of its line, is not looked at, nor who writes it.
// The kind's own Check runs once every field is well formed.
func (k *Kinds) Check(d *Draft) []Fault {
	c := &checker{draft: d}
	kind := k.Named(d.Kind)
	if kind == nil {
		c.say("kind", fmt.Sprintf("there is no kind %q", d.Kind), meant(d.Kind, k.names()))
		return c.faults
	}
	c.identity()
	c.times()
	if d.Body == nil {
		c.withdrawal()
		return c.faults
	}
	c.correction(kind)
	c.places(kind)
	c.length(kind)
	before := len(c.faults)
	if len(kind.Fields) > 0 {
		c.object("", d.Body, append(slices.Clone(kind.Fields), refField))
	}
	if kind.Check != nil && len(c.faults) == before {
		c.faults = append(c.faults, kind.Check(d.Body)...)
	}
	return c.faults
}

func (k *Kinds) names() []string {
	out := make([]string, len(k.list))
	for i, one := range k.list {
		out[i] = one.Name
	}
	return out
}

// checker gathers the faults of one draft.
type checker struct {
	draft  *Draft
	faults []Fault
}

func (c *checker) say(field, reason, remedy string) {
	c.faults = append(c.faults, Fault{field, reason, remedy})
}

func (c *checker) identity() {
	d := c.draft
	if !d.ID.Valid() {
		c.say("id", fmt.Sprintf("%q is no entry id", d.ID), "give 32 lower-case hex digits")
	}
	if d.Supersedes != "" && !d.Supersedes.Valid() {
		c.say("supersedes", fmt.Sprintf("%q is no entry id", d.Supersedes), "name the entry to correct by its 32 lower-case hex digits")
	}
	if d.Supersedes != "" && d.Supersedes == d.ID {
		c.say("supersedes", "an entry cannot supersede itself", "give the correction an id of its own")
	}
	for i, f := range d.Files {
		if slices.Contains(d.Files[:i], f) {
			c.say("files", "file "+f.String()+" stands twice", "list each file once")
		}
	}
}

var offsetForm = regexp.MustCompile(`^[+-](0\d|1[0-4]):[0-5]\d$`)

func (c *checker) times() {
	d := c.draft
	switch d.Precision {
	case ToMillisecond, ToMinute, ToDay:
	default:
		c.say("at_precision", fmt.Sprintf("%q is no precision", d.Precision), "write ms, minute or day")
	}
	if d.At.IsZero() {
		c.say("at", "when it happened is missing", "give the day, or the time where it is known")
	}
	if d.Offset != "" && !offsetForm.MatchString(d.Offset) {
		c.say("offset", fmt.Sprintf("%q is no offset from UTC", d.Offset), "write it like +01:00, or leave it out")
	}
	for _, t := range []struct {
		name string
		at   time.Time
	}{{"at", d.At}, {"until", d.Until}, {"made", d.Made}} {
		if t.at.Nanosecond()%int(time.Millisecond) != 0 {
			c.say(t.name, "known more closely than a millisecond", "cut it to milliseconds")
		}
		if y := t.at.UTC().Year(); !t.at.IsZero() && (y < 1 || y > 9999) {
			c.say(t.name, fmt.Sprintf("year %d cannot be written", y), "check the year")
		}
	}
}

// withdrawal checks a draft without a body.
func (c *checker) withdrawal() {
	if c.draft.Supersedes == "" {
		c.say("body", "the entry says nothing", "fill in its fields; to take an entry back, name it in supersedes")
		return
	}
	c.reasoned("a withdrawal")
}

func (c *checker) correction(kind *Kind) {
	switch {
	case c.draft.Supersedes != "":
		c.reasoned("a correction")
	case strings.HasPrefix(kind.Name, ErasureKinds):
		c.reasoned("an erasure")
	}
}

func (c *checker) reasoned(what string) {
	if strings.TrimSpace(c.draft.Reason) == "" {
		c.say("reason", what+" needs its reason", "say why, for whoever reads the book later")
	}
}

func (c *checker) places(kind *Kind) {
	list := c.draft.Places
	if len(list) > 0 && kind.Place == NoPlace {
		c.say("places", "an entry of this kind names no place", "leave the place out")
	}
	if len(list) == 0 && kind.Place == MustNamePlace {
		c.say("places", "the place is missing", "name the feature of the plan by its code")
	}
	for i, code := range list {
		switch {
		case code == "" || code != strings.TrimSpace(code) || !oneLine(code):
			c.say("places", fmt.Sprintf("%q is no feature code", code), "write the code as it stands on the plan")
		case slices.Contains(list[:i], code):
			c.say("places", code+" stands twice", "name each place once")
		}
	}
}

func (c *checker) length(kind *Kind) {
	d := c.draft
	if d.Until.IsZero() {
		if kind.Length == MustLast {
			c.say("until", "when it ended is missing", "give its end")
		}
		return
	}
	if kind.Length == Moment {
		c.say("until", "an entry of this kind is of one moment", "leave the end out")
	}
	if !d.At.IsZero() && !d.Until.After(d.At) {
		c.say("until", "it ends no later than it begins", "check both; the end is the first instant that is no longer part of it")
	}
}
