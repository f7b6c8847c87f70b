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
	Read         Right = "read"          // everything in the book, and what follows from it
	ReadOwn      Right = "read own"      // the registers the role enters, the plan and the kinds
	WriteEntries Right = "write entries" // in the registers of the role
	KeepNotices  Right = "keep notices"  // enter and correct notices and what is judged of them
	EraseEntries Right = "erase entries"
	MakePacks    Right = "make packs"
	VerifyPacks  Right = "verify packs"
	ManageUsers  Right = "manage users"
)

var rights = map[Role][]Right{
	Officer:       {Read, ReadOwn, WriteEntries, KeepNotices, MakePacks, VerifyPacks},
	Manager:       {Read, ReadOwn, WriteEntries, KeepNotices, MakePacks, VerifyPacks},
	Surveyor:      {Read, ReadOwn, WriteEntries},
	Specialist:    {Read, ReadOwn, WriteEntries},
	Laboratory:    {ReadOwn, WriteEntries},
	Gate:          {ReadOwn, WriteEntries},
	Landowner:     {Read, ReadOwn},
	Regulator:     {Read, ReadOwn, VerifyPacks},
	Administrator: {Read, ReadOwn, EraseEntries, ManageUsers},
}

// onlyRegisters narrows what some roles may enter and read to the registers
// named.
var onlyRegisters = map[Role][]string{
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
	only := onlyRegisters[r]
	return only == nil || slices.Contains(only, register)
}

// MayRead tells whether the role may read the entries of a register.
func (r Role) MayRead(register string) bool {
	return r.May(Read) || r.May(ReadOwn) && slices.Contains(onlyRegisters[r], register)
}

// Actor is who asks: a person in a role.
type Actor struct {
	Person string // opaque id
	Name   string
	Role   Role
}

// words of a right, after "the role may not".
var refusals = map[Right]string{
	Read: "read this", ReadOwn: "read this", WriteEntries: "make entries", KeepNotices: "enter or change notices and conditions", EraseEntries: "erase entries",
	MakePacks: "make packs", VerifyPacks: "verify packs", ManageUsers: "see or change who may sign in",
}

// Need refuses what the actor's role does not allow.
func (a Actor) Need(right Right) error {
	if a.Role.May(right) {
		return nil
	}
	return fault(Forbidden, "the role %q may not %s here", a.Role, refusals[right])
}
