package survey

import (
	"fmt"
	"slices"
	"strings"
)

// xmlSurface is one surface of a LandXML file, in the file's unit.
type xmlSurface struct {
	name      string
	survey    Survey
	kind      string // TIN or grid
	ids       map[string]int32
	faces     []xmlFace
	invisible int
	hasFaces  bool // a Faces element, empty or not
	area2D    float64
	rings     []xmlRing
	contours  int
}

// xmlFace is a face by the ids of its points, until all points are known.
type xmlFace struct {
	ids [4]int32
	n   int
	row int
}

// xmlRing is a boundary of a surface's source data.
type xmlRing struct {
	kind     string // outer, void, island
	vertices []Vertex
}

// choose returns the surface asked for, the only one, or the loose points.
func (x *xmlReader) choose() (*Survey, error) {
	var names []string
	for _, s := range x.all {
		names = append(names, s.name)
		if s.name == x.opts.Surface && x.opts.Surface != "" {
			return s.finished(), nil
		}
	}
	switch {
	case x.opts.Surface != "" && len(names) > 0:
		return nil, fileErr(x.name, ErrFormat, "no surface is called %q; there are %s", x.opts.Surface, strings.Join(names, ", "))
	case x.opts.Surface != "":
		return nil, fileErr(x.name, ErrFormat, "the file holds no surface; leave the name %q out to read its points", x.opts.Surface)
	case len(names) > 1:
		return nil, &ChoiceError{x.name, "surface", names}
	case len(names) == 1:
		return x.all[0].finished(), nil
	}
	if len(x.cogo.Points) == 0 {
		return nil, fileErr(x.name, ErrNoPoints, "it holds neither a surface nor points with levels")
	}
	return &x.cogo, nil
}

// finished turns faces into triangles and settles what bounds the surface.
func (x *xmlSurface) finished() *Survey {
	s := &x.survey
	s.Part = x.name
	quads := 0
	for _, f := range x.faces {
		s.Faces = append(s.Faces, [3]int32{f.ids[0], f.ids[1], f.ids[2]})
		if f.n == 4 {
			quads++
			s.Faces = append(s.Faces, [3]int32{f.ids[0], f.ids[2], f.ids[3]})
		}
	}
	if quads > 0 {
		s.note("%d faces of four points are parted from their first to their third corner", quads)
	}
	if x.invisible > 0 {
		s.note("%d faces are marked invisible: they are no part of the surface", x.invisible)
	}
	if x.contours > 0 {
		s.note("%d contours of the source data are not read", x.contours)
	}
	if x.area2D > 0 {
		s.note("the file states a plan area of %v in its own unit", x.area2D)
	}
	if x.hasFaces && len(s.Faces) == 0 {
		s.note("the surface has no visible face; its points are triangulated")
	}
	if len(x.rings) == 0 {
		return s
	}
	if s.Faces != nil {
		s.note("%d boundaries of the source data are in the faces already", len(x.rings))
		return s
	}
	slices.SortStableFunc(x.rings, func(a, b xmlRing) int { return boolOrder(a.kind != "outer", b.kind != "outer") })
	for _, r := range x.rings {
		switch r.kind {
		case "outer", "void":
			s.Boundary = append(s.Boundary, closed(r.vertices))
		default:
			s.Warnings = append(s.Warnings, Warning{Row: r.vertices[0].Row, Kind: KindNote, Action: Flagged, Text: fmt.Sprintf("a boundary of type %q is not applied", r.kind)})
		}
	}
	if x.rings[0].kind != "outer" {
		s.Boundary = nil
		s.note("voids without an outer boundary are not applied")
	}
	return s
}

func boolOrder(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// closed repeats a ring's first corner at its end when it does not stand there.
func closed(ring []Vertex) []Vertex {
	if a, b := ring[0], ring[len(ring)-1]; a.E != b.E || a.N != b.N {
		ring = append(ring, a)
	}
	return ring
}
