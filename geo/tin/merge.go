package tin

// A triangulation of the vertices [lo, hi) fills the triangle slots from 2lo
// on, 2(hi-lo)-2 of them: with the point at infinity it covers a sphere. The
// two slots left over before 2hi serve the merge with the next part.
//
// An outside triangle g = (u, v, Outside) has its hull edge first: half-edge g
// runs u→v with the ground on its right, g+1 leads to the next outside
// triangle clockwise round the hull, g+2 to the one before.

// solve triangulates the vertices [lo, hi) and returns an outside triangle.
func (m *Mesh) solve(lo, hi int32, axis, fork int) int32 {
	switch hi - lo {
	case 2:
		return m.twoPoints(lo)
	case 3:
		return m.threePoints(lo)
	}
	mid := lo + (hi-lo)/2
	var left, right int32
	if fork == 0 {
		left = m.solve(lo, mid, 1-axis, 0)
		right = m.solve(mid, hi, 1-axis, 0)
	} else {
		left, right = m.solveBoth(lo, mid, hi, 1-axis, fork)
	}
	return m.zip(m.bridge(left, right, 6*mid-6, axis))
}

// solveBoth solves two neighbouring ranges side by side. They share no slots.
func (m *Mesh) solveBoth(lo, mid, hi int32, axis, fork int) (left, right int32) {
	both(fork,
		func(f int) { left = m.solve(lo, mid, axis, f) },
		func(f int) { right = m.solve(mid, hi, axis, f) })
	return left, right
}

// join makes two half-edges each other's twin.
func (m *Mesh) join(a, b int32) { m.Twin[a], m.Twin[b] = b, a }

// set writes the corners of the triangle at half-edge h.
func (m *Mesh) set(h, a, b, c int32) {
	m.Origin[h], m.Origin[h+1], m.Origin[h+2] = a, b, c
}

func (m *Mesh) twoPoints(lo int32) int32 {
	g := 6 * lo
	m.set(g, lo, lo+1, Outside)
	m.set(g+3, lo+1, lo, Outside)
	m.join(g, g+3)
	m.join(g+1, g+5)
	m.join(g+2, g+4)
	return g
}

func (m *Mesh) threePoints(lo int32) int32 {
	a, b, c := lo, lo+1, lo+2
	g := 6 * lo
	turn := m.orient(a, b, c)
	if turn == 0 { // a chain a-b-c, walked there and back
		m.set(g, a, b, Outside)
		m.set(g+3, b, c, Outside)
		m.set(g+6, c, b, Outside)
		m.set(g+9, b, a, Outside)
		m.join(g, g+9)
		m.join(g+3, g+6)
		m.ring(g, g+3, g+6, g+9)
		return g
	}
	if turn < 0 {
		b, c = c, b
	}
	m.set(g, a, b, c)
	m.set(g+3, b, a, Outside)
	m.set(g+6, a, c, Outside)
	m.set(g+9, c, b, Outside)
	m.join(g, g+3)
	m.join(g+1, g+9)
	m.join(g+2, g+6)
	m.ring(g+3, g+6, g+9)
	return g + 3
}

// ring links outside triangles in the order given.
func (m *Mesh) ring(gs ...int32) {
	for i, g := range gs {
		m.join(g+1, gs[(i+1)%len(gs)]+2)
	}
}

// extreme walks the hull for the vertex farthest along the axis (or farthest
// back) and returns the outside triangle that starts there.
func (m *Mesh) extreme(g int32, axis int, far bool) int32 {
	best := g
	for h := m.Twin[g+1] - 2; h != g; h = m.Twin[h+1] - 2 {
		p, q := &m.P[m.Origin[h]], &m.P[m.Origin[best]]
		var before bool
		if axis == 0 {
			before = less(p.X, p.Y, q.X, q.Y)
		} else {
			before = less(p.Y, p.X, q.Y, q.X)
		}
		if before != far && m.Origin[h] != m.Origin[best] {
			best = h
		}
	}
	return best
}

// bridge joins two separate triangulations by the lower tangent of their
// hulls, as seen along the axis, using the free slots at half-edge free. It
// returns the outside triangle above the tangent.
func (m *Mesh) bridge(left, right, free int32, axis int) int32 {
	gl := m.extreme(left, axis, true)                 // starts at l
	gr := m.Twin[m.extreme(right, axis, false)+2] - 1 // ends at r
	return m.tangent(gl, gr, free)
}

// tangent walks both hulls down until no neighbour lies right of l→r. For a
// cut across, turn the plan by a quarter: the part below plays the left.
func (m *Mesh) tangent(gl, gr, free int32) int32 {
	l, r := m.Origin[gl], m.Origin[gr+1]
	for {
		if p := m.Origin[gl+1]; m.orient(l, r, p) < 0 {
			l, gl = p, m.Twin[gl+1]-2
			continue
		}
		if q := m.Origin[gr]; m.orient(l, r, q) < 0 {
			r, gr = q, m.Twin[gr+2]-1
			continue
		}
		break
	}
	before, after := m.Twin[gl+2]-1, m.Twin[gr+1]-2
	top, bottom := free, free+3
	m.set(top, l, r, Outside)
	m.set(bottom, r, l, Outside)
	m.join(top, bottom)
	m.join(top+2, before+1)
	m.join(top+1, after+2)
	m.join(bottom+2, gr+1)
	m.join(bottom+1, gl+2)
	return top
}

// zip closes the gap above the outside triangle t = (l, r, Outside) upwards
// and returns the last one.
func (m *Mesh) zip(t int32) int32 {
	l, r := m.Origin[t], m.Origin[t+1]
	for {
		gx, x := m.leftCandidate(t, l, r)
		gy, y := m.rightCandidate(t, l, r)
		switch {
		case x == Outside && y == Outside:
			return t
		case x == Outside || (y != Outside && m.insideCircle(l, r, x, y)):
			// t becomes the triangle l, r, y; gy the outside triangle l, y.
			m.Origin[t+2] = y
			m.Origin[gy] = l
			before := m.Twin[t+2]
			m.join(t+1, m.Twin[gy])
			m.join(t+2, gy)
			m.join(gy+2, before)
			t, r = gy, y
		default:
			// t becomes the triangle l, r, x; gx the outside triangle x, r.
			m.Origin[t+2] = x
			m.Origin[gx+1] = r
			after := m.Twin[t+1]
			m.join(t+2, m.Twin[gx])
			m.join(t+1, gx)
			m.join(gx+1, after)
			t, l = gx, x
		}
	}
}

// leftCandidate returns the next vertex up the left hull, after taking away
// triangles that r spoils, with its outside triangle; Outside when there is none.
func (m *Mesh) leftCandidate(t, l, r int32) (g, x int32) {
	g = m.Twin[t+2] - 1
	x = m.Origin[g]
	if m.orient(l, r, x) <= 0 {
		return g, Outside
	}
	for {
		e := m.Twin[g] // l→x, in the triangle to take away
		en, ep := next(e), prev(e)
		w := m.Origin[ep]
		if w == Outside || !m.insideCircle(l, r, x, w) {
			return g, x
		}
		// Triangle l, x, w becomes the outside triangle x, w; g becomes w, l.
		wl, xw, before := m.Twin[ep], m.Twin[en], m.Twin[g+2]
		h := e - e%3
		m.set(h, x, w, Outside)
		m.Origin[g] = w
		m.join(g, wl)
		m.join(h, xw)
		m.join(h+1, g+2)
		m.join(h+2, before)
		x = w
	}
}

// rightCandidate is leftCandidate on the other side.
func (m *Mesh) rightCandidate(t, l, r int32) (g, y int32) {
	g = m.Twin[t+1] - 2
	y = m.Origin[g+1]
	if m.orient(l, r, y) <= 0 {
		return g, Outside
	}
	for {
		e := m.Twin[g] // y→r, in the triangle to take away
		en, ep := next(e), prev(e)
		w := m.Origin[ep]
		if w == Outside || !m.insideCircle(l, r, y, w) {
			return g, y
		}
		// Triangle y, r, w becomes the outside triangle w, y; g becomes r, w.
		rw, wy, after := m.Twin[en], m.Twin[ep], m.Twin[g+1]
		h := e - e%3
		m.set(h, w, y, Outside)
		m.Origin[g+1] = w
		m.join(g, rw)
		m.join(h, wy)
		m.join(h+2, g+1)
		m.join(h+1, after)
		y = w
	}
}
