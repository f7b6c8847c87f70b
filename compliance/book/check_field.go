package book

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/swardbook/swardbook/compliance/unit"
)

// object checks the members of a body or group against its fields. path is
// the dotted path of the object, "" for a body.
func (c *checker) object(path string, o Object, fields []Field) {
	names := make([]string, len(fields))
	for i := range fields {
		f := &fields[i]
		names[i] = f.Name
		at := join(path, f.Name)
		v, there := o[f.Name]
		switch {
		case there:
			c.value(at, v, f)
		case f.Required:
			c.say(at, "it is missing", "give "+strings.ToLower(f.Title))
		}
	}
	var unknown []string
	for key := range o {
		if !slices.Contains(names, key) {
			unknown = append(unknown, key)
		}
	}
	slices.Sort(unknown)
	for _, key := range unknown {
		at := join(path, key)
		if key == "" {
			at = join(path, `""`)
		}
		c.say(at, "there is no such field", meant(key, names))
	}
}

// value checks one member against its field.
func (c *checker) value(at string, v any, f *Field) {
	switch f.Type {
	case Integer:
		n, ok := v.(int64)
		if !ok {
			c.say(at, "not a whole number", "write it without point, sign of unit or quotes")
			return
		}
		c.bounds(at, unit.Decimal{Coefficient: n}, f)
	case Flag:
		if _, ok := v.(bool); !ok {
			c.say(at, "neither true nor false", "write true or false")
		}
	case List:
		c.list(at, v, f)
	case Group:
		o, ok := v.(Object)
		if !ok {
			c.say(at, "not an object", "write its members as {…}")
			return
		}
		c.object(at, o, f.Fields)
	default:
		s, ok := v.(string)
		if !ok {
			c.say(at, "not a text", "write it in quotes; decimals too")
			return
		}
		c.text(at, s, f)
	}
}

func (c *checker) list(at string, v any, f *Field) {
	items, ok := v.([]any)
	if !ok {
		c.say(at, "not a list", "write its items as [{…}]")
		return
	}
	if len(items) == 0 {
		c.say(at, "the list is empty", "leave it out, or give an item")
	}
	for i, item := range items {
		path := join(at, strconv.Itoa(i))
		o, ok := item.(Object)
		if !ok {
			c.say(path, "not an object", "write the item as {…}")
			continue
		}
		c.object(path, o, f.Fields)
	}
}

var resultForm = regexp.MustCompile(`^[<>]?-?\d+(\.\d+)?$`)

// text checks a value that travels as text.
func (c *checker) text(at, s string, f *Field) {
	if s == "" {
		c.say(at, "it is blank", "leave the field out where there is nothing to say")
		return
	}
	switch f.Type {
	case Prose:
		if !prose(s) {
			c.say(at, "it holds a control character", "remove it; line ends are plain line feeds")
		}
		return
	case Decimal:
		c.number(at, s, f, decimalForm, "a decimal such as 12.50, with a point and no unit")
		return
	case Result:
		c.number(at, s, f, resultForm, "a result such as 12.5 or <0.05")
		return
	case Choice:
		if !slices.Contains(f.Options, s) {
			c.say(at, fmt.Sprintf("%q is not one of the choices", s), meant(s, f.Options))
		}
		return
	case File:
		c.file(at, s)
		return
	}
	if err := formOf(f.Type, s); err != nil {
		c.say(at, err.Error(), "")
		return
	}
	if !oneLine(s) {
		c.say(at, "it holds a line end or control character", "write it on one line")
	}
}

// formOf checks the types that have a form of their own and no bounds.
func formOf(t FieldType, s string) error {
	switch t {
	case Instant:
		_, err := ParseInstant(s)
		return err
	case Day:
		if d, err := time.Parse(time.DateOnly, s); err != nil || d.Format(time.DateOnly) != s {
			return fmt.Errorf("%q is not a day like 2026-04-06", s)
		}
	case Clock:
		if d, err := time.Parse("15:04", s); err != nil || d.Format("15:04") != s {
			return fmt.Errorf("%q is not a time of day like 09:12", s)
		}
	case Feature, Person, Ref:
		if s != strings.TrimSpace(s) {
			return errors.New("it begins or ends with a space, so that nothing will be found by it")
		}
	}
	return nil
}

func (c *checker) number(at, s string, f *Field, form *regexp.Regexp, want string) {
	if !form.MatchString(s) {
		c.say(at, fmt.Sprintf("%q is not %s", s, want), "")
		return
	}
	d, err := unit.ParseDecimal(strings.TrimLeft(s, "<>"))
	if err != nil {
		c.say(at, err.Error(), "give no more digits than were measured")
		return
	}
	c.bounds(at, d, f)
}

// bounds holds a number against the field's least and greatest.
func (c *checker) bounds(at string, d unit.Decimal, f *Field) {
	symbol := ""
	if f.Unit != "" {
		symbol = " " + f.Unit
	}
	if low, err := unit.ParseDecimal(f.Min); err == nil && d.Cmp(low) < 0 {
		c.say(at, fmt.Sprintf("%s%s is less than %s%s", d, symbol, f.Min, symbol), "check the number and its unit")
	}
	if high, err := unit.ParseDecimal(f.Max); err == nil && d.Cmp(high) > 0 {
		c.say(at, fmt.Sprintf("%s%s is more than %s%s", d, symbol, f.Max, symbol), "check the number and its unit")
	}
}

func (c *checker) file(at, s string) {
	h, err := ParseHash(s)
	if err != nil {
		c.say(at, err.Error(), "")
		return
	}
	if !slices.Contains(c.draft.Files, h) {
		c.say(at, "the file is not among the entry's files", "list it in files as well, so that the chain holds it")
	}
}

func oneLine(s string) bool { return strings.IndexFunc(s, unicode.IsControl) < 0 }

func prose(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }) < 0
}

// meant words the remedy for a name that is not known.
func meant(name string, names []string) string {
	known := "known are " + strings.Join(names, ", ")
	if n := nearest(name, names); n != "" {
		return fmt.Sprintf("did you mean %q? %s", n, known)
	}
	return known
}

// nearest returns the name closest to a mistyped one, "" when none is near:
// more than half its letters would have to change.
func nearest(name string, names []string) string {
	best, at := "", len(name)/2+1
	for _, n := range names {
		if d := distance(strings.ToLower(name), strings.ToLower(n)); d < at {
			best, at = n, d
		}
	}
	return best
}

// distance is the number of letters to change, add or take away to turn one
// word into another, after Levenshtein (1966), from memory.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		corner := row[0]
		row[0] = i + 1
		for j := range y {
			change := corner
			if x[i] != y[j] {
				change++
			}
			corner, row[j+1] = row[j+1], min(row[j+1]+1, row[j]+1, change)
		}
	}
	return row[len(y)]
}
