package surface

import (
	"math"
	"slices"
)

// weldM is the distance within which two corners of neighbouring triangles
// are one: far below any survey, far above the rounding of a cut.
const weldM = 1e-6

// welded returns for each corner the first corner at its place, so that
// triangles cut at an area's edge, which have corners of their own, join again.
func (s *Surface) welded() []int32 {
	id := make([]int32, len(s.p))
	if !s.loose {
		for i := range id {
			id[i] = int32(i)
		}
		return id
	}
	seen := make(map[[2]int64]int32, len(s.p))
	for i, p := range s.p {
		k := [2]int64{int64(math.Round(p.X / weldM)), int64(math.Round(p.Y / weldM))}
		first, known := seen[k]
		if !known {
			first = int32(i)
			seen[k] = first
		}
		id[i] = first
	}
	return id
}

// sides are the half-edges of a surface: 3t, 3t+1, 3t+2 of triangle t, each
// with the one opposite, or -1 at the edge of the surface.
type sides struct {
	id   []int32 // welded corners
	twin []int32
}

func (s *Surface) sides() *sides {
	o := &sides{id: s.welded(), twin: make([]int32, 3*len(s.tri))}
	// The half-edges out of each corner, one list after the other.
	from := make([]int32, len(s.p)+1)
	for h := range o.twin {
		a, _ := o.ends(s, int32(h))
		from[a+1]++
	}
	for i := range s.p {
		from[i+1] += from[i]
	}
	out, at := make([]int32, len(o.twin)), slices.Clone(from)
	for h := range o.twin {
		a, _ := o.ends(s, int32(h))
		out[at[a]] = int32(h)
		at[a]++
		o.twin[h] = -1
	}
	for h := range o.twin {
		a, b := o.ends(s, int32(h))
		for _, g := range out[from[b]:from[b+1]] {
			if _, end := o.ends(s, g); end == a && o.twin[g] < 0 && o.twin[h] < 0 {
				o.twin[h], o.twin[g] = g, int32(h)
				break
			}
		}
	}
	return o
}

// ends returns the welded corners a half-edge runs from and to.
func (o *sides) ends(s *Surface, h int32) (a, b int32) {
	t := s.tri[h/3]
	return o.id[t[h%3]], o.id[t[(h+1)%3]]
}

// length returns the plan length of a half-edge.
func (o *sides) length(s *Surface, h int32) float64 {
	t := s.tri[h/3]
	a, b := s.p[t[h%3]], s.p[t[(h+1)%3]]
	return math.Hypot(b.X-a.X, b.Y-a.Y)
}

// Trim limits. Source: our own defaults, common practice.
const (
	trimFactor = 3.0
	trimShare  = 0.95
)

// Trimmed is a surface without the long triangles at its edge.
type Trimmed struct {
	Surface   *Surface
	LimitM    float64 // longest edge that stays at the rim
	RemovedM2 float64
	Triangles int // taken away
}

// TrimRim takes triangles away from the rim of the surface as long as their
// outer edge is longer than a limit, metres; with 0 the limit is three times
// the length that 95 % of all edges keep below. Such triangles span ground
// nobody surveyed, between the outermost points.
func (s *Surface) TrimRim(limitM float64) (Trimmed, error) {
	o := s.sides()
	if limitM == 0 {
		lengths := make([]float64, 0, len(o.twin))
		for h := range o.twin {
			if int32(h) > o.twin[h] { // each edge once
				lengths = append(lengths, o.length(s, int32(h)))
			}
		}
		slices.Sort(lengths)
		limitM = trimFactor * lengths[min(int(trimShare*float64(len(lengths))), len(lengths)-1)]
	}
	gone := make([]bool, len(s.tri))
	var queue []int32
	for h := range o.twin {
		if o.twin[h] < 0 && o.length(s, int32(h)) > limitM {
			queue = append(queue, int32(h))
		}
	}
	out := Trimmed{LimitM: limitM}
	var removed total
	for len(queue) > 0 {
		t := queue[len(queue)-1] / 3
		queue = queue[:len(queue)-1]
		if gone[t] {
			continue
		}
		gone[t] = true
		out.Triangles++
		removed.add(s.area(s.tri[t]))
		for h := 3 * t; h < 3*t+3; h++ {
			if g := o.twin[h]; g >= 0 && !gone[g/3] && o.length(s, g) > limitM {
				queue = append(queue, g)
			}
		}
	}
	out.RemovedM2 = removed.value()
	if out.Triangles == 0 {
		out.Surface = s
		return out, nil
	}
	var tri [][3]int32
	for t, f := range s.tri {
		if !gone[t] {
			tri = append(tri, f)
		}
	}
	if len(tri) == 0 {
		return Trimmed{}, ErrNoSurface
	}
	out.Surface = newSurface(s.x0, s.y0, s.z0, s.p, s.z, tri)
	out.Surface.loose = s.loose
	return out, nil
}
