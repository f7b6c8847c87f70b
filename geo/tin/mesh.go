package tin

// XY is a place on the plan, relative to the mesh's origin, metres.
type XY struct{ X, Y float64 }

// Outside is the vertex number of the point at infinity.
const Outside int32 = -1

// Mesh is a triangulation. Its arrays are indexed by half-edge: triangle t
// has half-edges 3t, 3t+1, 3t+2, anticlockwise. Triangles whose third vertex
// is Outside lie beyond the hull, one for each hull edge; every other
// triangle is real. The order of vertices and triangles is a function of the
// point set.
type Mesh struct {
	// X0 and Y0 are the origin taken off every coordinate, whole metres.
	X0, Y0 float64
	P      []XY    // vertices, neighbours in space near each other in the list
	Source []int32 // index in Build's input of each vertex (the first of equal ones)
	Vertex []int32 // vertex of each input point; equal points share one
	Origin []int32 // vertex a half-edge starts from
	Twin   []int32 // the opposite half-edge

	fixed []bool  // per half-edge: part of a constraint; nil without constraints
	some  []int32 // one half-edge out of each vertex, in a real triangle; nil until needed
}

// next returns the half-edge after h in its triangle.
func next(h int32) int32 {
	if h%3 == 2 {
		return h - 2
	}
	return h + 1
}

// prev returns the half-edge before h in its triangle.
func prev(h int32) int32 {
	if h%3 == 0 {
		return h + 2
	}
	return h - 1
}

// Slots returns the number of triangle slots, real ones and those outside.
func (m *Mesh) Slots() int { return len(m.Origin) / 3 }

// Real reports whether triangle t is part of the plan.
func (m *Mesh) Real(t int) bool { return m.Origin[3*t+2] != Outside }

// Fixed reports whether a half-edge is part of a constraint.
func (m *Mesh) Fixed(h int32) bool { return m.fixed != nil && m.fixed[h] }

// Triangles returns the real triangles as vertex triples, anticlockwise, in
// the mesh's own order.
func (m *Mesh) Triangles() [][3]int32 {
	out := make([][3]int32, 0, m.Slots())
	for t := 0; t < m.Slots(); t++ {
		if m.Real(t) {
			out = append(out, [3]int32{m.Origin[3*t], m.Origin[3*t+1], m.Origin[3*t+2]})
		}
	}
	return out
}

// Hull returns the vertices of the hull, anticlockwise, those on its straight
// sides included, from the lowest vertex number.
func (m *Mesh) Hull() []int32 {
	start := int32(-1)
	for t := 0; t < m.Slots(); t++ {
		g := int32(3 * t)
		if !m.Real(t) && (start < 0 || m.Origin[g+1] < m.Origin[start+1]) {
			start = g
		}
	}
	if start < 0 {
		return nil
	}
	var hull []int32
	for g := start; ; {
		hull = append(hull, m.Origin[g+1])
		g = m.Twin[g+2] - 1 // outside edges run clockwise: step back
		if g == start {
			return hull
		}
	}
}

// outgoing returns a half-edge from vertex v in a real triangle.
func (m *Mesh) outgoing(v int32) int32 {
	if m.some == nil {
		m.some = make([]int32, len(m.P))
		for t := m.Slots() - 1; t >= 0; t-- {
			if !m.Real(t) {
				continue
			}
			for h := int32(3 * t); h < int32(3*t+3); h++ {
				m.some[m.Origin[h]] = h
			}
		}
	}
	return m.some[v]
}

// around returns the next half-edge out of the same vertex,
// anticlockwise round it, crossing the outside where the vertex is on the hull.
func (m *Mesh) around(h int32) int32 { return m.Twin[prev(h)] }

// Edge returns the half-edge from a to b, and whether there is one.
func (m *Mesh) Edge(a, b int32) (int32, bool) {
	start := m.outgoing(a)
	for h := start; ; {
		if m.Origin[next(h)] == b {
			return h, true
		}
		if h = m.around(h); h == start {
			return 0, false
		}
	}
}
