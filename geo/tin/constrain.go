package tin

import (
	"fmt"
	"slices"
)

// Segment is a constraint between two input points, by their index.
type Segment [2]int32

// CrossingError tells that two constraints cross between their ends; Node
// prevents it.
type CrossingError struct{ X, Y float64 } // an end of the edge that was hit, metres

func (e *CrossingError) Error() string {
	return fmt.Sprintf("two lines cross near E %.3f N %.3f", e.X, e.Y)
}

// BuildConstrained returns the constrained Delaunay triangulation: every
// segment is an edge or a chain of edges, every other edge is Delaunay among
// what it can see. Segments may meet at ends and pass through points, but not
// cross. The result is a function of the set of points and the set of
// segments, whatever their order or direction.
func BuildConstrained(pts []Point, segments []Segment) (*Mesh, error) {
	m, err := Build(pts)
	if err != nil {
		return nil, err
	}
	// Triangle numbering follows the order of insertion, so fix that order.
	ends := make([][2]int32, 0, len(segments))
	for _, s := range segments {
		a, b := m.Vertex[s[0]], m.Vertex[s[1]]
		if a == b {
			continue
		}
		ends = append(ends, [2]int32{min(a, b), max(a, b)})
	}
	slices.SortFunc(ends, func(p, q [2]int32) int {
		if p[0] != q[0] {
			return int(p[0]) - int(q[0])
		}
		return int(p[1]) - int(q[1])
	})
	ends = slices.Compact(ends)
	m.fixed = make([]bool, len(m.Origin))
	c := &constrainer{Mesh: m}
	for _, s := range ends {
		if err := c.insert(s[0], s[1]); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// constrainer holds the working lists of one run.
type constrainer struct {
	*Mesh
	crossed [][2]int32 // edges still crossing the segment
	made    [][2]int32 // edges made by flipping them away
	stack   []int32    // half-edges to look at again
}

// insert makes a→b a chain of fixed edges.
func (c *constrainer) insert(a, b int32) error {
	for a != b {
		end, err := c.advance(a, b)
		if err != nil {
			return err
		}
		a = end
	}
	return nil
}

// advance makes the first edge of the chain from a towards b and returns
// where it ends: at b, or at a vertex exactly on the way.
func (c *constrainer) advance(a, b int32) (int32, error) {
	h, end, ok := c.leave(a, b)
	if !ok {
		return 0, fmt.Errorf("no way from vertex %d to %d", a, b)
	}
	if end != Outside {
		c.fix(h)
		return end, nil
	}
	end, err := c.collect(h, a, b)
	if err != nil {
		return 0, err
	}
	if err := c.clear(a, end); err != nil {
		return 0, err
	}
	if h, ok = c.Edge(a, end); !ok {
		return 0, fmt.Errorf("line from vertex %d to %d could not be inserted", a, end)
	}
	c.fix(h)
	c.legalise(a, end)
	return end, nil
}

// leave finds how the way from a to b begins: along an edge, returned with
// its end, or across the edge opposite a in some triangle, returned with Outside.
func (c *constrainer) leave(a, b int32) (h, end int32, ok bool) {
	start := c.outgoing(a)
	for h = start; ; {
		if c.Real(int(h / 3)) {
			p, q := c.Origin[next(h)], c.Origin[prev(h)]
			sp, sq := c.orient(a, b, p), c.orient(a, b, q)
			switch {
			case sp == 0 && c.ahead(a, b, p):
				return h, p, true
			case sp < 0 && sq > 0:
				return next(h), Outside, true
			case sq == 0 && c.ahead(a, b, q):
				return prev(h), q, true // q→a, the same edge
			}
		}
		if h = c.around(h); h == start {
			return 0, 0, false
		}
	}
}

// ahead reports whether p, on the line through a and b, lies on b's side of a.
func (c *constrainer) ahead(a, b, p int32) bool {
	pa, pb, pp := c.P[a], c.P[b], c.P[p]
	if pa.X != pb.X {
		return (pb.X > pa.X) == (pp.X > pa.X)
	}
	return (pb.Y > pa.Y) == (pp.Y > pa.Y)
}

// collect lists the edges crossed from half-edge h on, until b or a vertex
// exactly on the way, which it returns.
func (c *constrainer) collect(h, a, b int32) (int32, error) {
	c.crossed = c.crossed[:0]
	for {
		if c.fixed[h] {
			p := c.P[c.Origin[h]]
			return 0, &CrossingError{p.X + c.X0, p.Y + c.Y0}
		}
		c.crossed = append(c.crossed, [2]int32{c.Origin[h], c.Origin[next(h)]})
		w := c.Twin[h]
		apex := c.Origin[prev(w)]
		if apex == b {
			return b, nil
		}
		side := c.orient(a, b, apex)
		switch {
		case side == 0:
			return apex, nil
		case side > 0:
			h = next(w) // from the right end to the apex
		default:
			h = prev(w)
		}
	}
}

// clear flips the crossed edges until none crosses a→b. An edge whose two
// triangles do not form a convex quadrilateral waits for its neighbours.
func (c *constrainer) clear(a, b int32) error {
	c.made = c.made[:0]
	queue := c.crossed
	for stuck := 0; len(queue) > 0; {
		e := queue[0]
		queue = queue[1:]
		h, ok := c.Edge(e[0], e[1])
		if !ok {
			return fmt.Errorf("edge %d-%d vanished", e[0], e[1])
		}
		p, q := c.Origin[prev(h)], c.Origin[prev(c.Twin[h])]
		if c.orient(q, e[1], p) <= 0 || c.orient(p, e[0], q) <= 0 {
			if stuck++; stuck > len(queue)+1 {
				return fmt.Errorf("no edge between %d and %d can be flipped", a, b)
			}
			queue = append(queue, e)
			continue
		}
		stuck = 0
		c.flip(h)
		if p != a && p != b && q != a && q != b && c.orient(a, b, p) > 0 != (c.orient(a, b, q) > 0) {
			queue = append(queue, [2]int32{p, q})
		} else {
			c.made = append(c.made, [2]int32{p, q})
		}
	}
	return nil
}

// legalise restores the Delaunay property round the new edges.
func (c *constrainer) legalise(a, b int32) {
	c.stack = c.stack[:0]
	for _, e := range c.made {
		if (e[0] == a && e[1] == b) || (e[0] == b && e[1] == a) {
			continue
		}
		if h, ok := c.Edge(e[0], e[1]); ok {
			c.stack = append(c.stack, h)
			c.settle()
		}
	}
}

// settle flips until every edge reached from the stack is fixed, on the hull
// or Delaunay.
func (c *constrainer) settle() {
	for len(c.stack) > 0 {
		h := c.stack[len(c.stack)-1]
		c.stack = c.stack[:len(c.stack)-1]
		if c.fixed[h] || !c.flippable(h) {
			continue
		}
		w := c.Twin[h]
		if !c.insideCircle(c.Origin[h], c.Origin[next(h)], c.Origin[prev(h)], c.Origin[prev(w)]) {
			continue
		}
		c.flip(h)
		c.stack = append(c.stack, next(h), prev(h), next(w), prev(w))
	}
}

// fix marks an edge as part of a constraint.
func (c *constrainer) fix(h int32) { c.fixed[h], c.fixed[c.Twin[h]] = true, true }

// flip replaces the diagonal h = a→b of the quadrilateral a, d, b, c by d→c,
// in the same two slots.
func (c *constrainer) flip(h int32) {
	f := c.Twin[h]
	hn, hp, fn, fp := next(h), prev(h), next(f), prev(f)
	a, b, top, low := c.Origin[h], c.Origin[f], c.Origin[hp], c.Origin[fp]
	ca, ad, db, bc := c.Twin[hp], c.Twin[fn], c.Twin[fp], c.Twin[hn]
	kca, kad, kdb, kbc := c.fixed[hp], c.fixed[fn], c.fixed[fp], c.fixed[hn]
	c.Origin[h], c.Origin[hn], c.Origin[hp] = low, top, a
	c.Origin[f], c.Origin[fn], c.Origin[fp] = top, low, b
	c.join(hn, ca)
	c.join(hp, ad)
	c.join(fn, db)
	c.join(fp, bc)
	c.fixed[hn], c.fixed[hp], c.fixed[fn], c.fixed[fp] = kca, kad, kdb, kbc
	c.some[a], c.some[b], c.some[top], c.some[low] = hp, fp, hn, h
}
