package app

import "slices"

// Role is what a person is on the site. The list is closed.
type Role string

// The roles there are.
const (
	Officer       Role = "officer"
	Manager       Role = "manager"
	Surveyor      Role = "surveyor"
	Specialist    Role = "specialist"
	Laboratory    Role = "laboratory"
	Gate          Role = "gate"
	Landowner     Role = "landowner"
	Regulator     Role = "regulator"
	Administrator Role = "administrator"
)

// Roles lists every role in the order shown.
func Roles() []Role {
	return []Role{Officer, Manager, Surveyor, Specialist, Laboratory, Gate, Landowner, Regulator, Administrator}
}

// Right is one thing a role allows.
type Right string

// The rights there are.
const (
	Read         Right = "read"
	WriteEntries Right = "write entries"
	MakePacks    Right = "make packs"
	VerifyPacks  Right = "verify packs"
	ManageUsers  Right = "manage users"
)

var rights = map[Role][]Right{
	Officer:       {Read, WriteEntries, MakePacks, VerifyPacks},
	Manager:       {Read, WriteEntries, MakePacks, VerifyPacks},
	Surveyor:      {Read, WriteEntries},
	Specialist:    {Read, WriteEntries},
	Laboratory:    {Read, WriteEntries},
	Gate:          {Read, WriteEntries},
	Landowner:     {Read},
	Regulator:     {Read, VerifyPacks},
	Administrator: {Read, ManageUsers},
}

// onlyKinds narrows what some roles may enter to the registers named.
var onlyKinds = map[Role][]string{
	Laboratory: {"samples"},
	Gate:       {"tickets"},
}

// Known tells whether r is a role.
func (r Role) Known() bool { return rights[r] != nil }

// Rights returns what the role allows.
func (r Role) Rights() []Right { return rights[r] }

// May tells whether the role allows something.
func (r Role) May(right Right) bool { return slices.Contains(rights[r], right) }

// MayEnter tells whether the role may make entries in a register.
func (r Role) MayEnter(register string) bool {
	if !r.May(WriteEntries) {
		return false
	}
	only := onlyKinds[r]
	return only == nil || slices.Contains(only, register)
}

// Actor is who asks: a person in a role.
type Actor struct {
	Person string // opaque id
	Name   string
	Role   Role
}

// need refuses what the actor's role does not allow.
func (a Actor) need(right Right) error {
	if a.Role.May(right) {
		return nil
	}
	return fault(Forbidden, "the role %q may not %s here", a.Role, right)
}
