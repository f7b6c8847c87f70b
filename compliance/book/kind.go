package book

import (
	"fmt"
	"regexp"
)

// FieldType is the form of a field's value in a body.
type FieldType string

// The types of field there are. Values travel as text except Integer (number),
// Flag (true or false), List and Group.
const (
	Text    FieldType = "text"    // one line
	Prose   FieldType = "prose"   // several lines
	Decimal FieldType = "decimal" // -?\d+(\.\d+)? exactly as entered
	Result  FieldType = "result"  // decimal that may begin with < or >
	Integer FieldType = "integer" // whole number
	Flag    FieldType = "flag"    // true or false
	Instant FieldType = "instant" // InstantLayout
	Day     FieldType = "day"     // 2006-01-02
	Clock   FieldType = "clock"   // 15:04
	Choice  FieldType = "choice"  // one of Options
	Feature FieldType = "feature" // code of a plan feature
	Person  FieldType = "person"  // opaque person id
	File    FieldType = "file"    // SHA-256 of a file listed in the envelope
	Ref     FieldType = "ref"     // the register's own reference of another entry (its "ref")
	List    FieldType = "list"    // list of Group, described by Fields; in CSV a JSON array
	Group   FieldType = "group"   // object described by Fields; in CSV a JSON object
)

// Field describes one field of a kind. Forms, tables, CSV import and export
// and API checking are drawn from it.
type Field struct {
	Name     string    // key in the body and, with its unit, head in CSV
	Title    string    // words on screen
	Help     string    // one sentence; may be ""
	Type     FieldType //
	Unit     string    // of Decimal, Result, Integer; "" when a pure number or not a number
	Required bool
	Personal bool     // names or describes a person: may be withheld or erased
	Min, Max string   // inclusive bounds of a number, as decimals; "" = none
	Options  []string // of Choice
	Fields   []Field  // of List and Group
}

// Kind describes one kind of entry.
type Kind struct {
	Name     string // name.version, "diary.1"
	Register string // file name in registers/ and noun in the API, "diary"
	Subject  string // folder in compliance it belongs to, "inspection"
	Title    string // words on screen
	Help     string
	Fields   []Field
	Place    PlaceRule
	Length   LengthRule
	// Plain is false for kinds that are made by a use case of their own (an
	// import, a survey, a permit) and so get no row form and no register file.
	Plain bool
	// Check looks at what no single field can tell; nil when there is nothing.
	Check func(Object) []Fault
}

// PlaceRule says whether an entry of a kind names features of the plan.
type PlaceRule string

// The place rules there are.
const (
	NoPlace       PlaceRule = "none"
	MayNamePlace  PlaceRule = "optional"
	MustNamePlace PlaceRule = "required"
)

// LengthRule says whether an entry of a kind has an end.
type LengthRule string

// The length rules there are.
const (
	Moment   LengthRule = "moment"   // at only
	MayLast  LengthRule = "optional" // until may be given
	MustLast LengthRule = "required" // until must be given
)

// Fault is one thing wrong with an entry, in words for who entered it.
type Fault struct {
	Field  string // name of the field or envelope member; may be ""
	Reason string // what is wrong
	Remedy string // what to do
}

func (f Fault) Error() string {
	s := f.Reason
	if f.Field != "" {
		s = f.Field + ": " + s
	}
	if f.Remedy != "" {
		s += "; " + f.Remedy
	}
	return s
}

var decimalForm = regexp.MustCompile(`^-?\d+(\.\d+)?$`)

// IsDecimal tells whether s is a decimal as entries hold it.
func IsDecimal(s string) bool { return decimalForm.MatchString(s) }

// Kinds is an ordered, checked list of kinds.
type Kinds struct {
	list       []*Kind
	byName     map[string]*Kind
	byRegister map[string]*Kind
}

// NewKinds lists kinds in the order given and refuses duplicate names.
func NewKinds(kinds ...*Kind) (*Kinds, error) {
	k := &Kinds{byName: map[string]*Kind{}, byRegister: map[string]*Kind{}}
	for _, one := range kinds {
		if k.byName[one.Name] != nil {
			return nil, fmt.Errorf("kind %s is listed twice", one.Name)
		}
		k.byName[one.Name] = one
		if one.Register != "" {
			if k.byRegister[one.Register] != nil {
				return nil, fmt.Errorf("register %s is listed twice", one.Register)
			}
			k.byRegister[one.Register] = one
		}
		k.list = append(k.list, one)
	}
	return k, nil
}

// All returns the kinds in their listed order.
func (k *Kinds) All() []*Kind { return k.list }

// Named returns the kind of that name, or nil.
func (k *Kinds) Named(name string) *Kind { return k.byName[name] }

// OfRegister returns the kind kept in that register file, or nil.
func (k *Kinds) OfRegister(register string) *Kind { return k.byRegister[register] }
