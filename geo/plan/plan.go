// Package plan reads and checks site plans: areas, lines and points drawn on
// the ground. Shapes are plane, in metres of the site grid unless a function
// says otherwise; orb holds them, this package checks them.
package plan

import (
	"errors"
	"io"

	"github.com/paulmach/orb"
)

// Frame says which coordinates a file holds.
type Frame string

// Frames of a plan file. FrameUnknown refuses whatever is not plainly one of the two.
const (
	FrameUnknown Frame = ""
	FrameSite    Frame = "site grid" // metres
	FrameWGS84   Frame = "WGS 84"    // degrees, longitude first
)

// Options steer the readers.
type Options struct {
	Name  string // file name for messages
	Frame Frame  // what the coordinates must be
}

// Feature is one thing on the plan.
type Feature struct {
	Code       string // never renamed or reused
	Kind       string
	Label      string
	Geometry   orb.Geometry
	Levels     []float64 // third coordinate of each position in order of reading, metres; NaN where none; nil when the file has none
	Properties map[string]any
}

// Polygon is a checked area, of one or more parts, each with holes: rings
// closed, not crossing themselves or each other, parts not overlapping.
// Coordinates are metres of the site grid.
type Polygon struct {
	rings orb.MultiPolygon
}

// ParsePolygon reads an area from a GeoJSON geometry, feature or collection
// (all its polygons together) and checks it.
func ParsePolygon(data []byte, opts Options) (*Polygon, error) {
	return nil, errors.New("plan: reading is being built")
}

// ReadFeatures reads a GeoJSON feature collection, feature or bare geometry.
func ReadFeatures(r io.Reader, opts Options) ([]Feature, error) {
	return nil, errors.New("plan: reading is being built")
}

// AreaM2 returns the plane area in square metres, holes taken out.
func (p *Polygon) AreaM2() float64 { return 0 }

// Contains reports whether a place lies inside or on the edge, metres.
func (p *Polygon) Contains(e, n float64) bool { return false }
