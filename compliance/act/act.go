// Package act holds the closed list of acts on a site that conditions and
// entries may name. Subjects share it, so that a strip in the diary, a strip
// in a condition and a stop on stripping mean the same.
package act

import "slices"

// The acts with a meaning of their own in the program.
const (
	Commencement = "commencement" // the beginning of works
	Strip        = "strip"        // taking soil up
	Store        = "store"        // forming or adding to a mound
	Restore      = "restore"      // putting ground and soil back
	Seed         = "seed"         // sowing or planting
	None         = "none"         // a diary line of a day or time without work
	AllWorks     = "all works"    // of a hold: every act
)

// names is the list in the order shown.
var names = []string{
	Commencement, Strip, Store, "blast", "discharge", "dewater", "haul", "pour", "refuel", "clear", "light",
	"noisy work", "quiet work", "delivery", "drilling", "cease", Restore, Seed, "complete",
}

// Names returns every act, in the order shown.
func Names() []string { return slices.Clone(names) }

// Known tells whether name is an act of the list.
func Known(name string) bool { return slices.Contains(names, name) }
