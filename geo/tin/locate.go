package tin

// Locate returns the real triangle in which a place lies, in metres of the
// input, walking from a triangle near by; ok is false outside the hull. On an
// edge or a vertex it is one of the triangles that meet there.
func (m *Mesh) Locate(x, y float64, from int) (t int, ok bool) {
	x, y = flush(x-m.X0), flush(y-m.Y0)
	if from < 0 || from >= m.Slots() {
		from = 0
	}
	t = from
	if !m.Real(t) {
		if t = int(m.Twin[3*t] / 3); !m.Real(t) {
			return 0, false
		}
	}
	// In a constrained mesh a walk can turn in circles; the first edge looked
	// at changes from step to step, which breaks every circle soon. The limit
	// is a safeguard, after which the triangles are searched one by one.
	seed := uint32(1)
	for range 4*m.Slots() + 16 {
		seed = seed*1664525 + 1013904223
		h, out := m.exit(t, int(seed>>30)%3, x, y)
		if !out {
			return t, true
		}
		if t = int(m.Twin[h] / 3); !m.Real(t) {
			return t, false
		}
	}
	for t := range m.Slots() {
		if _, out := m.exit(t, 0, x, y); m.Real(t) && !out {
			return t, true
		}
	}
	return 0, false
}

// exit returns an edge of triangle t that has the place strictly outside.
func (m *Mesh) exit(t, first int, x, y float64) (h int32, out bool) {
	if !m.Real(t) {
		return 0, true
	}
	for i := range 3 {
		h := int32(3*t + (first+i)%3)
		a, b := m.P[m.Origin[h]], m.P[m.Origin[next(h)]]
		if Orient(a.X, a.Y, b.X, b.Y, x, y) < 0 {
			return h, true
		}
	}
	return 0, false
}
