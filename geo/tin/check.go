package tin

import "fmt"

// Check verifies the mesh by exact predicates: every half-edge has its twin,
// every real triangle turns anticlockwise, the number of triangles is
// 2n - 2 - h, and every edge that is not fixed is Delaunay with the tie rule
// of this package. It costs about as much as a tenth of building.
func (m *Mesh) Check() error {
	realCount, outside := 0, 0
	for t := 0; t < m.Slots(); t++ {
		g := int32(3 * t)
		if err := m.checkTwins(g); err != nil {
			return err
		}
		if !m.Real(t) {
			outside++
			continue
		}
		realCount++
		a, b, c := m.Origin[g], m.Origin[g+1], m.Origin[g+2]
		if m.orient(a, b, c) <= 0 {
			return fmt.Errorf("triangle %d (%d, %d, %d) does not turn anticlockwise", t, a, b, c)
		}
		for h := g; h < g+3; h++ {
			if m.flippable(h) && !m.Fixed(h) && m.insideCircle(a, b, c, m.Origin[prev(m.Twin[h])]) {
				return fmt.Errorf("edge %d-%d is not Delaunay", m.Origin[h], m.Origin[next(h)])
			}
		}
	}
	if want := 2*len(m.P) - 2 - outside; realCount != want {
		return fmt.Errorf("%d triangles, want 2n - 2 - h = %d", realCount, want)
	}
	return nil
}

// flippable reports whether both sides of a half-edge are real.
func (m *Mesh) flippable(h int32) bool {
	return m.Real(int(h/3)) && m.Real(int(m.Twin[h]/3))
}

func (m *Mesh) checkTwins(g int32) error {
	for h := g; h < g+3; h++ {
		w := m.Twin[h]
		if m.Twin[w] != h || m.Origin[w] != m.Origin[next(h)] || m.Origin[h] != m.Origin[next(w)] {
			return fmt.Errorf("half-edge %d and its twin %d do not match", h, w)
		}
		if m.Fixed(h) != m.Fixed(w) {
			return fmt.Errorf("half-edge %d is fixed on one side only", h)
		}
	}
	return nil
}

// Area2 returns twice the area covered by the real triangles and twice the
// area inside the hull, in square metres: equal up to rounding.
func (m *Mesh) Area2() (triangles, hull float64) {
	for t := 0; t < m.Slots(); t++ {
		if m.Real(t) {
			g := int32(3 * t)
			triangles += m.orient(m.Origin[g], m.Origin[g+1], m.Origin[g+2])
		}
	}
	ring := m.Hull()
	for i := 1; i+1 < len(ring); i++ {
		p, q, r := m.P[ring[0]], m.P[ring[i]], m.P[ring[i+1]]
		hull += float64((q.X-p.X)*(r.Y-p.Y)) - float64((q.Y-p.Y)*(r.X-p.X))
	}
	return triangles, hull
}
