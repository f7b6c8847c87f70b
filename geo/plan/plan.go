// Package plan reads and checks site plans: areas, lines and points drawn on
// the ground. Shapes are plane, in metres of the site grid unless a function
// says otherwise; orb holds them, this package checks them, since orb drops
// levels and accepts rings that are no rings.
package plan

import (
	"errors"
	"fmt"
	"strings"

	"github.com/paulmach/orb"
)

// Frame says which coordinates a file holds.
type Frame string

// Frames of a plan file. With FrameUnknown a file is WGS 84, as RFC 7946 has
// it, unless it plainly is not: then it is refused with the remedy.
const (
	FrameUnknown Frame = ""
	FrameSite    Frame = "site grid" // metres
	FrameWGS84   Frame = "WGS 84"    // degrees, longitude first
)

// Options steer the readers.
type Options struct {
	Name  string // file name for messages
	Frame Frame  // what the coordinates are known to be
	// Project turns longitude and latitude in degrees into site grid metres.
	// Areas need metres: without it a file in degrees gives no Polygon.
	Project func(lon, lat float64) (e, n float64, err error)
}

func (o Options) name() string {
	if o.Name == "" {
		return "plan"
	}
	return o.Name
}

// Feature is one thing on the plan.
type Feature struct {
	Code       string // never renamed or reused; property code, or the feature's id
	Kind       string // property kind
	Label      string // property label
	Geometry   orb.Geometry
	Levels     []float64 // third number of each position in order of reading, metres; NaN where none; nil when no position has one
	Properties map[string]any
	Frame      Frame    // what Geometry's coordinates are
	Notes      []string // worth a look, such as corners drawn twice; nothing was changed
}

// ErrNoArea is wrapped by Area for a feature that is a point or a line.
var ErrNoArea = errors.New("no area")

// Area returns the area that a feature in site grid metres covers, called name
// in messages.
func (f *Feature) Area(name string) (*Polygon, error) {
	switch g := f.Geometry.(type) {
	case orb.Polygon:
		return NewPolygon(orb.MultiPolygon{g.Clone()}, name)
	case orb.MultiPolygon:
		return NewPolygon(g.Clone(), name)
	}
	return nil, fmt.Errorf("%s is %w", name, ErrNoArea)
}

// Problem is one fault of a plan file.
type Problem struct {
	Where  string // feature, ring and position
	Text   string
	Remedy string
}

func (p Problem) String() string {
	s := p.Text
	if p.Where != "" {
		s = p.Where + ": " + s
	}
	if p.Remedy != "" {
		s += "; " + p.Remedy
	}
	return s
}

// Error lists every fault found in a plan file.
type Error struct {
	Name     string
	Problems []Problem
}

func (e *Error) Error() string {
	lines := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		lines[i] = p.String()
	}
	if len(lines) == 1 {
		return e.Name + ": " + lines[0]
	}
	return fmt.Sprintf("%s: %d faults\n  %s", e.Name, len(lines), strings.Join(lines, "\n  "))
}

// faults collects problems while reading goes on.
type faults struct {
	list []Problem
	more int
}

const keepFaults = 1000

func (f *faults) add(where, text, remedy string) {
	if len(f.list) >= keepFaults {
		f.more++
		return
	}
	f.list = append(f.list, Problem{where, text, remedy})
}

func (f *faults) err(name string) error {
	if len(f.list) == 0 {
		return nil
	}
	if f.more > 0 {
		f.list = append(f.list, Problem{Text: fmt.Sprintf("and %d more", f.more)})
	}
	return &Error{name, f.list}
}
